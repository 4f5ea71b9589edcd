package metrics

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

const (
	// geometryLeast is how many matches a fit must rest on. Nine terms go through up
	// to 17 of those that chance finds in unrelated pictures; a dark night has 70.
	geometryLeast = 25
	geometryShare = 0.45 // share of the matches that must agree with it
	// geometryScatter is the largest scale of the residuals, in picture heights, of
	// a fit that can be believed: a line and more of 540.
	geometryScatter = 0.0025
	// geometryFound is the share of the textured places that both pictures show from
	// which on that much scatter, and bent lenses, are let pass: where fewer were found they
	// may be found by chance, and have to agree the better. Rigs' pictures share a fifth and more, but at
	// night; pictures that are none of one rig up to an eighth.
	geometryFound = 0.25
	// geometryFloor is the least scale of the residuals, in picture heights: a
	// hundredth of a line of 540, under which interpolation itself is not exact.
	geometryFloor = 0.01 / 540
	// placeSE is how well a place between pixels is found at best, in pixels of the picture:
	// edges are sampled, and aliases pull them, by so much that smoothing the rasters more
	// does not help.
	placeSE = 0.02
	// systematic is the error that all matches of one part of the picture have in
	// common and that does not average out over them, in pixels of the picture: from
	// aliases where texture repeats nearly in step with the pixels, as courses of bricks
	// may over hundreds of them, from compression, and from texture that looks a little
	// different to either eye. It is what the drawn scenes need for the standard errors
	// to hold.
	systematic = 0.04

	// bentSE is how much lenses of wide-angle and action cameras bend, at one
	// picture height from the centre; bentGain is the share that the residuals
	// must fall to for it to be believed.
	bentSE   = 0.3
	bentGain = 0.8
)

// fitGeometry fits the geometry to matches, found of so many places; 0 where these are
// known to be of one rig.
func fitGeometry(matches []Match, places int) (*geometry, string) {
	found := min(1, float64(len(matches))/(geometryFound*float64(places)))
	matches = supported(matches)
	if len(matches) < geometryLeast {
		return nil, "too few matched places"
	}
	f := newRigFit(matches)
	line, ok := f.settle()
	if !ok {
		return nil, "the matched places do not fix the geometry"
	}
	// Lenses that want to bend more than was supposed are believed when the picture
	// fits distinctly better with them, the more so where little was found.
	if math.Abs(f.coef[termBarrel]) > priorSE[termBarrel] || math.Abs(f.coef[termUnlike]) > priorSE[termUnlike] {
		bent := newRigFit(matches)
		bent.prior[termBarrel], bent.prior[termUnlike] = bentSE, bentSE/4
		if bentLine, ok := bent.settle(); ok && bent.scale < bentGain*found*f.scale {
			f, line = bent, bentLine
		}
	}
	g := &geometry{line: line, terms: f.terms(), residual: f.scale, shared: f.shared()}
	for i := range matches {
		if f.w[i] > 0 {
			g.matches = append(g.matches, matches[i])
		}
	}
	if f.scale > found*geometryScatter || len(g.matches) < geometryLeast || float64(len(g.matches)) < geometryShare*float64(len(matches)) {
		return nil, "the matched places do not agree"
	}
	g.cov = f.covariance()
	return g, ""
}

// rigFit explains the vertical disparity of matches by the terms.
type rigFit struct {
	regression
	matches []Match
	near    [][]int   // the neighbours of each match
	calming []float64 // what takes the noise out of the parallax of each
}

func newRigFit(matches []Match) *rigFit {
	n := len(matches)
	f := &rigFit{matches: matches, near: neighbours(matches, matchCells)}
	f.columns, f.floor, f.prior = termCount, geometryFloor, slices.Clone(priorSE[:])
	f.rows, f.y, f.base = make([]float64, n*f.columns), make([]float64, n), make([]float64, n)
	f.coef = make([]float64, f.columns)
	steps := parallaxSteps(matches, f.near)
	for i := range matches {
		f.base[i] = 1 / (sq(matches[i].SE) + sq(placeSE*matches[i].pixel) + sq(stepLeak*steps[i]))
	}
	floats.Scale(1/median(slices.Clone(f.base)), f.base)
	return f
}

func (f *rigFit) terms() terms { return terms(f.coef) }

// settle fits the terms, folding offset, roll and zoom into a similarity.
func (f *rigFit) settle() (line similarity, ok bool) {
	line = similarity{cos: 1}
	const folds = 3 // each leaves about the square of what it found
	for fold := range folds {
		f.bring(line, fold)
		if !f.fit(fold > 0) {
			return line, false
		}
		line = line.with(f.terms())
		clear(f.coef[:termZoom+1])
	}
	return line, true
}

// bring takes the right eye's places into line, after so many folds.
func (f *rigFit) bring(line similarity, fold int) {
	known := f.terms()
	depth := make([]float64, len(f.matches))
	for i := range f.matches {
		m := &f.matches[i]
		xr, yr := line.undo(m.RightX, m.RightY)
		depth[i] = known.depth(m.LeftX, m.LeftY, xr)
		f.y[i] = yr - m.LeftY
	}
	if fold == 0 {
		f.calming = f.calm(depth) // line and lenses change its smooth part alone
	}
	floats.Add(depth, f.calming)
	for i := range f.matches {
		m := &f.matches[i]
		xr, yr := line.undo(m.RightX, m.RightY)
		row := factors(m.LeftX, m.LeftY, xr, yr, depth[i])
		copy(f.row(i), row[:])
	}
}

// covariance returns how well the terms are known. Neighbouring matches share
// texture, depth edges and lens, so their errors are not independent: where the
// estimate by tiles of the picture is larger than the usual one, it counts. What
// each part of the picture has in common is added.
func (f *rigFit) covariance() (cov [termCount][termCount]float64) {
	inverse := f.inverse()
	tile, tiles := f.clusters(6)
	sandwich := f.sandwich(inverse, tile)
	few := float64(termCount) // correction for a small number of tiles
	if tiles > termCount+1 {
		few = float64(tiles) / float64(tiles-termCount)
	}
	var widen terms
	for i := range widen {
		widen[i] = math.Sqrt(max(1, few*sandwich.At(i, i)/(sq(f.scale)*inverse.At(i, i))))
	}
	for i := range termCount {
		for j := range termCount {
			cov[i][j] = sq(f.scale) * inverse.At(i, j) * widen[i] * widen[j]
		}
	}
	shared := f.shared()
	for _, moved := range f.common(inverse) {
		for i := range termCount {
			for j := range termCount {
				cov[i][j] += sq(shared) * moved[i] * moved[j]
			}
		}
	}
	return cov
}

// shared returns the error that all matches of one part of the picture have in common,
// in picture heights.
func (f *rigFit) shared() float64 {
	return systematic * f.matches[0].pixel
}

// common returns for each part of the picture by how much the terms move when
// all of its vertical disparities move by one picture height.
func (f *rigFit) common(inverse *mat.SymDense) []terms {
	part, parts := f.clusters(4)
	moves := make([]terms, parts)
	for n, c := range part {
		for j, v := range f.row(n) {
			moves[c][j] += f.w[n] * v
		}
	}
	for c := range moves {
		sum := moves[c]
		mat.NewVecDense(termCount, moves[c][:]).MulVec(inverse, mat.NewVecDense(termCount, sum[:]))
	}
	return moves
}

// clusters numbers the tiles, so many to a picture height, that the matches lie
// in.
func (f *rigFit) clusters(perHeight float64) (cluster []int, count int) {
	index := map[[2]int]int{}
	for i := range f.matches {
		m := &f.matches[i]
		at := [2]int{int(math.Floor(m.LeftX * perHeight)), int(math.Floor(m.LeftY * perHeight))}
		if _, ok := index[at]; !ok {
			index[at] = len(index)
		}
		cluster = append(cluster, index[at])
	}
	return cluster, len(index)
}
