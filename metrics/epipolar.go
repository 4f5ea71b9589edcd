package metrics

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// The right picture as a whole may be turned, enlarged and shifted down: that
// is taken out exactly, by a similarity about the picture's centre. What is left
// between the left picture's (x, y) and the right one's (x', y') brought into
// line are the terms of a nearly parallel rig to first order in its errors
// (derived in DEVELOPERS.md; the set of terms is that of F. Zilly, M. Müller,
// P. Eisert, P. Kauff, "Joint estimation of epipolar geometry and rectification
// parameters using point correspondences for stereoscopic TV sequences", 3DPVT
// 2010), with the parallax p = x' − x:
//
//	y' − y = offset + roll·x' + zoom·y + keystone·x'·y + tilt·y·y' + height·p + forward·y·p
//	       + barrel·y·p·(2x + p) + unlike·y·r²
//
// The last two are the radial distortion that both lenses share, which shows
// where there is parallax, and what the right lens has of it more than the left.
// The first three are folded into the similarity until nothing of them is left.
const (
	termOffset = iota
	termRoll
	termZoom
	termKeystone
	termTilt
	termHeight
	termForward
	termBarrel
	termUnlike
	termCount
)

// terms holds a coefficient for each term, in units of the picture height.
type terms [termCount]float64

func (t terms) dot(d terms) (sum float64) {
	for i, v := range t {
		sum += v * d[i]
	}
	return sum
}

// factors returns what the coefficients are multiplied by where the left eye sees
// a place at (x, y) and the right one, in line, at (xr, yr).
func (t *terms) factors(x, y, xr, yr float64) terms {
	return factors(x, y, xr, yr, t.depth(x, y, xr))
}

// depth returns the parallax that comes of depth alone. A camera turned inwards
// or tilted shifts its picture sideways too, and by a little more at the sides
// and in the corners than in the middle.
func (t *terms) depth(x, y, xr float64) float64 {
	return xr - x - t[termKeystone]*xr*xr - t[termTilt]*xr*y
}

func factors(x, y, xr, yr, depth float64) terms {
	r := x*x + y*y
	return terms{
		termOffset: 1, termRoll: xr, termZoom: y,
		termKeystone: xr * y, termTilt: y * yr,
		termHeight: depth, termForward: y * depth,
		termBarrel: y * depth * (2*x + depth), termUnlike: y * r,
	}
}

// priorSE is how large each coefficient may well be before anything was seen:
// infinite where any picture shows it; for the others a generous guess, so that
// what a scene cannot tell apart widens the standard errors instead of being
// split at random. The project's own choice: with a lens as long as 1.5 picture
// heights, keystone of 2.5° of toe-in and the tilt keystone of 1.3° of tilt; for
// camera height and forward offset a twentieth of the interaxial distance; for
// distortion 2 % at one picture height from the centre, and a quarter of it
// between the lenses of a matched pair.
var priorSE = terms{
	termOffset: math.Inf(1), termRoll: math.Inf(1), termZoom: math.Inf(1),
	termKeystone: 0.03, termTilt: 0.015,
	termHeight: 0.05, termForward: 0.05,
	termBarrel: 0.02, termUnlike: 0.005,
}

// geometry is the fitted relation of the right picture to the left one.
type geometry struct {
	line     similarity // takes a place in line to where the right picture shows it
	terms    terms      // what is left in line; offset, roll and zoom are nothing
	cov      [termCount][termCount]float64
	matches  []Match // those that agree with the fit
	residual float64 // robust standard deviation of what is left, in picture heights
}

// offset returns by how much the right picture sits lower, in picture heights.
func (g *geometry) offset() float64 { return g.line.down }

// roll returns the right picture's turn in radians, clockwise.
func (g *geometry) roll() float64 { return math.Atan2(g.line.sin, g.line.cos) }

// zoom returns the right picture's size over the left one's, less 1.
func (g *geometry) zoom() float64 { return math.Hypot(g.line.cos, g.line.sin) - 1 }

// apply returns where the right picture shows what the left one shows at (x, y)
// and the right one, in line, at column xr.
func (g *geometry) apply(x, y, xr float64) (float64, float64) {
	return g.line.apply(xr, y+g.terms.dot(g.terms.factors(x, y, xr, y)))
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
	// geometryLeast is how many matches a fit must rest on. Nine terms go through up
	// to 17 of those that chance finds in unrelated pictures; a dark night has 70.
	geometryLeast = 25
	geometryShare = 0.45 // share of the matches that must agree with it
	// geometryScatter is the largest scale of the residuals, in picture heights, of
	// a fit that can be believed: a line and more of 540.
	geometryScatter = 0.0025
	// geometryFloor is the least scale of the residuals, in picture heights: a
	// hundredth of a line of 540, under which interpolation itself is not exact.
	geometryFloor = 0.01 / 540
	// systematic is the error that all matches of one part of the picture have in
	// common and that does not average out over them, in picture heights: a
	// seventieth of a line of 540, from interpolating between pixels, compression,
	// and texture that looks a little different to either eye. It is what the
	// drawn scenes need for the standard errors to hold.
	systematic = 0.015 / 540

	// stepLeak is the share of a step of parallax beside a match that goes into its
	// vertical error, and stepMost the largest step that counts, in picture
	// heights: a larger one tears the patch apart rather than mixing in.
	stepLeak = 0.03
	stepMost = 10.0 / 540

	// bentSE is how much lenses of wide-angle and action cameras bend, at one
	// picture height from the centre; bentGain is the share that the residuals
	// must fall to for it to be believed.
	bentSE   = 0.3
	bentGain = 0.8

	tukey = 4.685 // of the biweight: 95 % efficient on Gaussian errors
)

// fitGeometry fits the geometry to matches.
func fitGeometry(matches []Match) (*geometry, string) {
	matches = supported(matches)
	n := len(matches)
	if n < geometryLeast {
		return nil, "too few matched places"
	}
	f := &fitter{prior: priorSE, matches: matches, near: neighbours(matches), rows: make([]terms, n), dy: make([]float64, n), base: make([]float64, n), w: make([]float64, n)}
	steps := parallaxSteps(matches, f.near)
	for i := range matches {
		// Errors that the patches do not show are of the size of the floor.
		f.base[i] = 1 / (sq(matches[i].SE) + sq(geometryFloor) + sq(stepLeak*steps[i]))
	}
	norm := median(append([]float64(nil), f.base...))
	for i := range f.base {
		f.base[i] = min(f.base[i]/norm, 4)
	}

	line, ok := f.settle()
	if !ok {
		return nil, "the matched places do not fix the geometry"
	}
	// Lenses that bend more than was supposed are believed when the picture fits
	// distinctly better with them.
	bent := f.clone()
	bent.prior[termBarrel], bent.prior[termUnlike] = bentSE, bentSE/4
	if bentLine, ok := bent.settle(); ok && bent.scale < bentGain*f.scale {
		f, line = bent, bentLine
	}
	g := &geometry{line: line, terms: f.terms, residual: f.scale}
	g.terms[termOffset], g.terms[termRoll], g.terms[termZoom] = 0, 0, 0
	for i := range matches {
		if f.w[i] > 0 {
			g.matches = append(g.matches, matches[i])
		}
	}
	if f.scale > geometryScatter || len(g.matches) < geometryLeast || float64(len(g.matches)) < geometryShare*float64(n) {
		return nil, "the matched places do not agree"
	}
	g.cov = f.covariance()
	return g, ""
}

// settle fits the terms, folding offset, roll and zoom into a similarity.
func (f *fitter) settle() (line similarity, ok bool) {
	line = similarity{cos: 1}
	const folds = 3 // each leaves about the square of what it found
	for fold := range folds {
		f.bring(line)
		if !f.fit(fold > 0) {
			return line, false
		}
		line = line.with(f.terms)
	}
	return line, true
}

func (f *fitter) clone() *fitter {
	return &fitter{
		prior: f.prior, matches: f.matches, near: f.near, base: f.base,
		rows: slices.Clone(f.rows), dy: slices.Clone(f.dy), w: slices.Clone(f.w),
	}
}

// supported leaves out matches whose parallax no match around shares: most of
// them were found at the wrong place of their row.
func supported(matches []Match) (kept []Match) {
	const around, alike = 5.0 / 27, 3.0 / 540 // picture heights
	for i := range matches {
		m := &matches[i]
		for j := range matches {
			o := &matches[j]
			if i != j && math.Abs(o.LeftX-m.LeftX) < around && math.Abs(o.LeftY-m.LeftY) < around &&
				math.Abs((o.RightX-o.LeftX)-(m.RightX-m.LeftX)) < alike {
				kept = append(kept, *m)
				break
			}
		}
	}
	return kept
}

// neighbours lists for each match those in its own and the adjoining cells of a
// grid, itself among them.
func neighbours(matches []Match) [][]int {
	const cells = 27 // per picture height: about as far apart as matches are
	type cell struct{ x, y int }
	at := func(m *Match) cell {
		return cell{int(math.Floor(m.LeftX * cells)), int(math.Floor(m.LeftY * cells))}
	}
	index := make(map[cell][]int, len(matches))
	for i := range matches {
		c := at(&matches[i])
		index[c] = append(index[c], i)
	}
	near := make([][]int, len(matches))
	for i := range matches {
		c := at(&matches[i])
		for dy := -1; dy <= 1; dy++ {
			for dx := -1; dx <= 1; dx++ {
				near[i] = append(near[i], index[cell{c.x + dx, c.y + dy}]...)
			}
		}
	}
	return near
}

// parallaxSteps returns for each match by how much the parallax of the matches
// around differs from its own: their root mean square. A patch that looks at two
// depths is found in between, and where the edge between them is slanted, in
// between up and down too.
func parallaxSteps(matches []Match, near [][]int) []float64 {
	steps := make([]float64, len(matches))
	for i := range matches {
		own := matches[i].RightX - matches[i].LeftX
		var sum float64
		for _, j := range near[i] {
			sum += sq(min(math.Abs(matches[j].RightX-matches[j].LeftX-own), stepMost))
		}
		steps[i] = math.Sqrt(sum / float64(len(near[i])))
	}
	return steps
}

// with returns the similarity that also does what the terms offset, roll and
// zoom say: a picture turned by γ and scaled by s shows height y at column x'
// lower by x'·tan γ + y·(s/cos γ − 1).
func (s similarity) with(t terms) similarity {
	angle := math.Atan(t[termRoll])
	scale := (1 + t[termZoom]) * math.Cos(angle)
	cos, sin := scale*math.Cos(angle), scale*math.Sin(angle)
	return similarity{
		cos: s.cos*cos - s.sin*sin, sin: s.sin*cos + s.cos*sin,
		down: s.down + s.cos*t[termOffset],
	}
}

// fitter does iteratively reweighted least squares on matches.
type fitter struct {
	matches []Match
	near    [][]int // the neighbours of each match
	rows    []terms
	dy      []float64
	base    []float64 // weight of each match before any robustness
	prior   terms

	terms terms
	w     []float64
	scale float64
	chol  mat.Cholesky
}

// bring takes the right eye's places into line.
func (f *fitter) bring(line similarity) {
	depth := make([]float64, len(f.matches))
	for i := range f.matches {
		m := &f.matches[i]
		xr, yr := line.undo(m.RightX, m.RightY)
		depth[i] = f.terms.depth(m.LeftX, m.LeftY, xr)
		f.dy[i] = yr - m.LeftY
	}
	f.calm(depth)
	for i := range f.matches {
		m := &f.matches[i]
		xr, yr := line.undo(m.RightX, m.RightY)
		f.rows[i] = factors(m.LeftX, m.LeftY, xr, yr, depth[i])
	}
}

// calm takes from the parallaxes what is likely to be their own noise, as terms
// that go with parallax would come out too small and too sure of themselves
// otherwise. Parallax across repeated texture counts for nothing: it becomes the
// median of its neighbours'. How much noise the rest has, neighbours tell. Where
// it is not small against how parallax departs from a smooth surface over the
// picture, which the other terms could explain as well, each parallax becomes
// the median of its neighbours', and its departure from the surface is reduced
// by the share that noise has in it (regression calibration; R. J. Carroll et
// al., "Measurement Error in Nonlinear Models"; from memory). Where that would be
// more than a little, or most of the texture repeats, depth is not let tell
// anything.
func (f *fitter) calm(depth []float64) {
	// Shares of the variance that noise may have before it is taken out at all,
	// and before nothing is left to trust.
	const little, most = 0.02, 0.04
	var known []int // matches with a neighbour whose parallax counts
	even := make([]float64, len(depth))
	var around, off []float64
	var thin, alone float64
	for i, d := range depth {
		around = around[:0]
		for _, j := range f.near[i] {
			if f.matches[j].Alone {
				around = append(around, depth[j])
			}
		}
		if len(around) == 0 {
			continue
		}
		known = append(known, i)
		even[i] = median(around)
		thin += 1 / float64(len(around))
		if f.matches[i].Alone {
			off = append(off, math.Abs(d-even[i]))
			alone++
		}
	}
	surface := f.surface(even, known)
	if surface == nil {
		return // too few, or all on a line: then depth tells nothing either
	}
	noise := sq(1.4826*median(off)) + sq(geometryFloor)
	var spread float64
	for _, i := range known {
		spread += sq(even[i] - surface[i])
	}
	spread /= float64(len(known))
	// A median's variance is π/2 of a mean's.
	keep := 1 - noise*math.Pi/2*thin/float64(len(known))/spread
	if keep < 1-most || alone < float64(len(depth))/2 {
		copy(depth, surface)
		return
	}
	calm := slices.Clone(surface)
	for _, i := range known {
		calm[i] += keep * (even[i] - surface[i])
	}
	for i := range depth {
		if noise > little*spread || !f.matches[i].Alone {
			depth[i] = calm[i]
		}
	}
}

// surface returns at all matches the least-squares quadratic surface, with the
// cubic term of distortion, through the values of the known ones over the left
// picture; nil where they do not fix it.
func (f *fitter) surface(values []float64, known []int) []float64 {
	const terms = 7
	if len(known) < 2*terms {
		return nil
	}
	row := func(i int) []float64 {
		x, y := f.matches[i].LeftX, f.matches[i].LeftY
		return []float64{1, x, y, x * x, x * y, y * y, y * (x*x + y*y)}
	}
	a, b := mat.NewDense(len(known), terms, nil), mat.NewVecDense(len(known), nil)
	for n, i := range known {
		a.SetRow(n, row(i))
		b.SetVec(n, values[i])
	}
	var through mat.VecDense
	if through.SolveVec(a, b) != nil {
		return nil
	}
	surface := make([]float64, len(f.matches))
	for i := range surface {
		surface[i] = mat.Dot(&through, mat.NewVecDense(terms, row(i)))
	}
	return surface
}

// fit finds the terms with Tukey's biweight. Near says that they are small and
// the weights of a fit before are good to start from; otherwise it finds its
// way with a kernel that is convex.
func (f *fitter) fit(near bool) bool {
	const rounds = 20
	f.terms = terms{}
	if !near {
		copy(f.w, f.base)
		f.scale = geometryFloor // no supposition stands in the way yet
	}
	scaled := make([]float64, len(f.rows))
	for round := range rounds {
		if near || round > 0 {
			for i := range f.rows {
				scaled[i] = math.Abs(f.dy[i]-f.terms.dot(f.rows[i])) * math.Sqrt(f.base[i])
			}
			f.scale = max(1.4826*median(append([]float64(nil), scaled...)), geometryFloor)
			for i, r := range scaled {
				if !near && round < 7 {
					f.w[i] = f.base[i] * f.scale / max(r, f.scale)
				} else {
					f.w[i] = f.base[i] * sq(max(1-sq(r/(tukey*f.scale)), 0))
				}
			}
		}
		before := f.terms
		if !f.solve() {
			return false
		}
		change := 0.0
		for i, v := range f.terms {
			change = max(change, math.Abs(v-before[i]))
		}
		if (near || round > 8) && change < 1e-9 {
			break
		}
	}
	return true
}

func sq(v float64) float64 { return v * v }

// solve finds the weighted least-squares solution. The priors enter as
// measurements of zero.
func (f *fitter) solve() bool {
	var m [termCount][termCount]float64
	var v terms
	for k := range f.rows {
		r := &f.rows[k]
		for i := range termCount {
			wi := f.w[k] * r[i]
			v[i] += wi * f.dy[k]
			for j := i; j < termCount; j++ {
				m[i][j] += wi * r[j]
			}
		}
	}
	a := mat.NewSymDense(termCount, nil)
	for i := range termCount {
		m[i][i] += sq(f.scale / f.prior[i])
		for j := i; j < termCount; j++ {
			a.SetSym(i, j, m[i][j])
		}
	}
	if !f.chol.Factorize(a) || f.chol.Cond() > 1e14 {
		return false
	}
	return f.chol.SolveVecTo(mat.NewVecDense(termCount, f.terms[:]), mat.NewVecDense(termCount, v[:])) == nil
}

// covariance returns how well the terms are known. Neighbouring matches share
// texture, depth edges and lens, so their errors are not independent: the scores
// are summed over tiles of the picture first (a sandwich estimate by clusters),
// and where this is larger than the usual estimate, it counts.
func (f *fitter) covariance() (cov [termCount][termCount]float64) {
	const tiles = 6 // per picture height
	type tile struct{ x, y int }
	index := map[tile]int{}
	var scores []terms
	for k := range f.rows {
		if f.w[k] == 0 {
			continue
		}
		at := tile{int(math.Floor(f.matches[k].LeftX * tiles)), int(math.Floor(f.matches[k].LeftY * tiles))}
		i, ok := index[at]
		if !ok {
			i = len(scores)
			index[at] = i
			scores = append(scores, terms{})
		}
		e := f.w[k] * (f.dy[k] - f.terms.dot(f.rows[k]))
		for j := range termCount {
			scores[i][j] += e * f.rows[k][j]
		}
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
		meat.SetSym(i, i, meat.At(i, i)+sq(sq(f.scale)/f.prior[i]))
	}
	var inverse mat.SymDense
	if err := f.chol.InverseTo(&inverse); err != nil {
		panic(err) // solve has seen to the condition
	}
	var half, sandwich mat.Dense
	half.Mul(&inverse, meat)
	sandwich.Mul(&half, &inverse)
	var widen terms
	for i := range widen {
		widen[i] = math.Sqrt(max(1, sandwich.At(i, i)/(sq(f.scale)*inverse.At(i, i))))
	}
	for i := range termCount {
		for j := range termCount {
			cov[i][j] = sq(f.scale) * inverse.At(i, j) * widen[i] * widen[j]
		}
	}
	f.addSystematic(&cov, &inverse)
	return cov
}

// addSystematic adds what an error common to each part of the picture does.
func (f *fitter) addSystematic(cov *[termCount][termCount]float64, inverse *mat.SymDense) {
	const parts = 2 // per picture height
	type part struct{ x, y int }
	index := map[part]int{}
	var sums []terms
	for k := range f.rows {
		at := part{int(math.Floor(f.matches[k].LeftX * parts)), int(math.Floor(f.matches[k].LeftY * parts))}
		i, ok := index[at]
		if !ok {
			i = len(sums)
			index[at] = i
			sums = append(sums, terms{})
		}
		for j := range termCount {
			sums[i][j] += f.w[k] * f.rows[k][j]
		}
	}
	var moved mat.VecDense
	for _, s := range sums {
		moved.MulVec(inverse, mat.NewVecDense(termCount, s[:]))
		for i := range termCount {
			for j := range termCount {
				cov[i][j] += sq(systematic) * moved.AtVec(i) * moved.AtVec(j)
			}
		}
	}
}
