package metrics

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// The terms of the vertical disparity of a nearly parallel rig, to first order
// in its errors (derived in DEVELOPERS.md; the set of terms is that of F. Zilly,
// M. Müller, P. Eisert, P. Kauff, "Joint estimation of epipolar geometry and
// rectification parameters using point correspondences for stereoscopic TV
// sequences", 3DPVT 2010). Picture coordinates, parallax p = x' − x:
//
//	Δy = offset + roll·x' + zoom·y + keystone·x'·y + tilt·y·y' + height·p + forward·y·p
const (
	termOffset = iota
	termRoll
	termZoom
	termKeystone
	termTilt
	termHeight
	termForward
	termCount
)

// terms holds a coefficient for each term.
type terms [termCount]float64

// design returns what each term's coefficient is multiplied by at a match.
func (m *Match) design() terms {
	p := m.RightX - m.LeftX
	return terms{1, m.RightX, m.LeftY, m.RightX * m.LeftY, m.LeftY * m.RightY, p, m.LeftY * p}
}

func (t terms) dot(d terms) (sum float64) {
	for i, v := range t {
		sum += v * d[i]
	}
	return sum
}

// priorSE is how large each coefficient may well be before anything was seen:
// infinite where any picture shows it; for the terms that only a scene with
// depth shows, a generous guess, so that what a flat scene cannot tell apart
// widens the standard errors instead of being split at random. The project's
// own choice: a twentieth of the interaxial distance for camera height and
// forward offset.
var priorSE = terms{
	termOffset: math.Inf(1), termRoll: math.Inf(1), termZoom: math.Inf(1),
	termKeystone: 0.05, termTilt: 0.05,
	termHeight: 0.05, termForward: 0.05,
}

// geometry is the fitted vertical disparity of a pair.
type geometry struct {
	terms
	cov      [termCount][termCount]float64
	matches  []Match // those that agree with the fit
	residual float64 // robust standard deviation of what is left, in picture heights
}

// se returns the standard error of a linear function of the coefficients.
func (g *geometry) se(d terms) float64 {
	var v float64
	for i := range d {
		for j := range d {
			v += d[i] * d[j] * g.cov[i][j]
		}
	}
	return math.Sqrt(max(v, 0))
}

const (
	geometryLeast = 12   // matches that a fit must rest on
	geometryShare = 0.45 // share of the matches that must agree with it
	// geometryFloor is the least scale of the residuals, in picture heights: a
	// hundredth of a line of 540, under which interpolation itself is not exact.
	geometryFloor = 0.01 / 540
	// systematic is the part of a fit's error that does not average out over the
	// matches, in picture heights: the bias of interpolating between pixels.
	systematic = 0.003 / 540

	tukey = 4.685 // of the biweight: 95 % efficient on Gaussian errors
)

// fitGeometry fits the terms to matches by iteratively reweighted least squares
// with Tukey's biweight, from the residuals' median outwards.
func fitGeometry(matches []Match) (*geometry, string) {
	n := len(matches)
	if n < geometryLeast {
		return nil, "too few matched places"
	}
	rows := make([]terms, n)
	dy := make([]float64, n)
	base := make([]float64, n) // weight of each match before any robustness
	for i := range matches {
		m := &matches[i]
		rows[i] = m.design()
		dy[i] = m.RightY - m.LeftY
		// Errors that the patches do not show are of the size of the floor.
		base[i] = 1 / (m.SE*m.SE + geometryFloor*geometryFloor)
	}
	norm := median(append([]float64(nil), base...))
	for i := range base {
		base[i] = min(base[i]/norm, 4)
	}

	g := &geometry{}
	w := make([]float64, n)
	scaled := make([]float64, n)
	var scale float64
	var info *mat.SymDense
	for round := range 30 {
		for i := range rows {
			scaled[i] = math.Abs(dy[i]-g.dot(rows[i])) * math.Sqrt(base[i])
		}
		scale = max(1.4826*median(append([]float64(nil), scaled...)), geometryFloor)
		for i, r := range scaled {
			if round < 6 {
				w[i] = base[i] / max(r, scale) * scale // Huber's kernel near the median: finds the way
				continue
			}
			u := r / (tukey * scale)
			w[i] = base[i] * sq(max(1-u*u, 0))
		}
		if round == 0 {
			copy(w, base)
		}
		next, a, ok := solve(rows, dy, w, scale)
		if !ok {
			return nil, "the matched places do not fix the geometry"
		}
		info = a
		change := 0.0
		for i := range next {
			change = max(change, math.Abs(next[i]-g.terms[i]))
		}
		g.terms = next
		if round > 8 && change < 1e-9 {
			break
		}
	}
	for i := range rows {
		r := math.Abs(dy[i]-g.dot(rows[i])) * math.Sqrt(base[i])
		if r < tukey*scale {
			g.matches = append(g.matches, matches[i])
		}
	}
	g.residual = scale
	if len(g.matches) < geometryLeast || float64(len(g.matches)) < geometryShare*float64(n) {
		return nil, "the matched places do not agree"
	}
	if !g.covariance(info, matches, rows, dy, w, scale) {
		return nil, "the matched places do not fix the geometry"
	}
	return g, ""
}

func sq(v float64) float64 { return v * v }

// solve returns the weighted least-squares solution and its normal matrix. The
// priors enter as measurements of zero.
func solve(rows []terms, dy, w []float64, scale float64) (t terms, a *mat.SymDense, ok bool) {
	a = mat.NewSymDense(termCount, nil)
	b := mat.NewVecDense(termCount, nil)
	var m [termCount][termCount]float64
	var v terms
	for k := range rows {
		r := &rows[k]
		for i := range termCount {
			wi := w[k] * r[i]
			v[i] += wi * dy[k]
			for j := i; j < termCount; j++ {
				m[i][j] += wi * r[j]
			}
		}
	}
	for i := range termCount {
		m[i][i] += sq(scale / priorSE[i])
		b.SetVec(i, v[i])
		for j := i; j < termCount; j++ {
			a.SetSym(i, j, m[i][j])
		}
	}
	var c mat.Cholesky
	if !c.Factorize(a) || c.Cond() > 1e14 {
		return terms{}, nil, false
	}
	var x mat.VecDense
	if c.SolveVecTo(&x, b) != nil {
		return terms{}, nil, false
	}
	for i := range t {
		t[i] = x.AtVec(i)
	}
	return t, a, true
}

// covariance fills in how well the coefficients are known. Neighbouring matches
// share texture, depth edges and lens, so their errors are not independent: the
// scores are summed over tiles of the picture first (a sandwich estimate by
// clusters), and the larger of this and the usual estimate is kept.
func (g *geometry) covariance(info *mat.SymDense, matches []Match, rows []terms, dy, w []float64, scale float64) bool {
	const tiles = 6 // per picture height
	type tile struct{ x, y int }
	index := map[tile]int{}
	var scores []terms
	var sum float64
	for k := range rows {
		if w[k] == 0 {
			continue
		}
		at := tile{int(math.Floor(matches[k].LeftX * tiles)), int(math.Floor(matches[k].LeftY * tiles))}
		i, ok := index[at]
		if !ok {
			i = len(scores)
			index[at] = i
			scores = append(scores, terms{})
		}
		e := w[k] * (dy[k] - g.dot(rows[k]))
		for j := range termCount {
			scores[i][j] += e * rows[k][j]
		}
		sum += w[k]
	}
	var c mat.Cholesky
	var inverse mat.SymDense
	if !c.Factorize(info) || c.InverseTo(&inverse) != nil {
		return false
	}
	meat := mat.NewSymDense(termCount, nil)
	for _, s := range scores {
		meat.SymRankOne(meat, 1, mat.NewVecDense(termCount, s[:]))
	}
	few := float64(termCount) // correction for a small number of tiles
	if n := len(scores); n > termCount+1 {
		few = float64(n) / float64(n-termCount)
	}
	meat.ScaleSym(few, meat)
	for i := range termCount {
		meat.SetSym(i, i, meat.At(i, i)+sq(sq(scale)/priorSE[i]))
	}
	var half, sandwich mat.Dense
	half.Mul(&inverse, meat)
	sandwich.Mul(&half, &inverse)
	var widen terms
	for i := range widen {
		usual := sq(scale) * inverse.At(i, i)
		widen[i] = math.Sqrt(max(1, sandwich.At(i, i)/usual))
	}
	for i := range termCount {
		for j := range termCount {
			g.cov[i][j] = sq(scale) * inverse.At(i, j) * widen[i] * widen[j]
		}
	}
	g.cov[termOffset][termOffset] += sq(systematic)
	return true
}
