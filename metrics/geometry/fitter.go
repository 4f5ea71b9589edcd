package geometry

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"nightpair/metrics/stat"
)

const (
	// MinMatches is how many matches a fit must rest on. Nine terms go through up
	// to 17 of those that chance finds in unrelated pictures; a dark night has 70.
	MinMatches     = 25
	minInlierShare = 0.45 // share of the matches that must agree with it
	// MaxScatter is the largest scale of the residuals, in picture heights, of
	// a fit that can be believed: a line and more of 540.
	MaxScatter = 0.0025
	// geometryFound is the share of the textured places that both pictures show from
	// which on that much scatter, and bent lenses, are let pass: where fewer were found they
	// may be found by chance, and have to agree the better. Rigs' pictures share a fifth and more, but at
	// night; pictures that are none of one rig up to an eighth.
	ordinaryYield = 0.25
	// ResidualFloor is the least scale of the residuals, in picture heights: a
	// hundredth of a line of 540, under which interpolation itself is not exact.
	ResidualFloor = 0.01 / 540
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
	commonSE = 0.04

	// bentSE is how much lenses of wide-angle and action cameras bend, at one
	// picture height from the centre; bentGain is the share that the residuals
	// must fall to for it to be believed.
	wideLensSE   = 0.3
	wideLensGain = 0.8
)

// FitRig fits the geometry to matches, found of so many places; 0 where these are
// known to be of one rig.
func FitRig(matches []Match, places int) (*Fit, string) {
	yield := min(1, float64(len(matches))/(ordinaryYield*float64(places)))
	matches = withSupport(matches)
	if len(matches) < MinMatches {
		return nil, "too few matched places"
	}
	f := newFitter(matches)
	similarity, ok := f.run()
	if !ok {
		return nil, "the matched places do not fix the geometry"
	}
	// Lenses that want to bend more than was supposed are believed when the picture
	// fits distinctly better with them, the more so where little was found.
	if math.Abs(f.Coef[termBarrel]) > PriorSE[termBarrel] || math.Abs(f.Coef[termUnlike]) > PriorSE[termUnlike] {
		wide := newFitter(matches)
		wide.Prior[termBarrel], wide.Prior[termUnlike] = wideLensSE, wideLensSE/4
		if wideSimilarity, ok := wide.run(); ok && wide.Scale < wideLensGain*yield*f.Scale {
			f, similarity = wide, wideSimilarity
		}
	}
	g := &Fit{Similarity: similarity, Terms: f.terms(), scale: f.Scale, commonSE: f.commonError()}
	for i := range matches {
		if f.W[i] > 0 {
			g.Matches = append(g.Matches, matches[i])
		}
	}
	if f.Scale > yield*MaxScatter || len(g.Matches) < MinMatches || float64(len(g.Matches)) < minInlierShare*float64(len(matches)) {
		return nil, "the matched places do not agree"
	}
	g.cov = f.covariance()
	return g, ""
}

// fitter explains the vertical disparity of matches by the terms.
type fitter struct {
	stat.Regression
	matches     []Match
	neighbours  [][]int   // the neighbours of each match
	calibration []float64 // what takes the noise out of the parallax of each
}

func newFitter(matches []Match) *fitter {
	n := len(matches)
	f := &fitter{matches: matches, neighbours: Neighbours(matches, cellsPerHeight)}
	f.Columns, f.Floor, f.Prior = TermCount, ResidualFloor, slices.Clone(PriorSE[:])
	f.Rows, f.Y, f.Base = make([]float64, n*f.Columns), make([]float64, n), make([]float64, n)
	f.Coef = make([]float64, f.Columns)
	steps := parallaxSteps(matches, f.neighbours)
	for i := range matches {
		f.Base[i] = 1 / (stat.Sq(matches[i].VerticalSE) + stat.Sq(placeSE*matches[i].framePixel) + stat.Sq(stepShare*steps[i]))
	}
	floats.Scale(1/stat.Median(slices.Clone(f.Base)), f.Base)
	return f
}

func (f *fitter) terms() Terms { return Terms(f.Coef) }

// run fits the terms, folding offset, roll and zoom into a similarity.
func (f *fitter) run() (similarity Similarity, ok bool) {
	similarity = Similarity{Cos: 1}
	const iterations = 3 // each leaves about the square of what it found
	for iteration := range iterations {
		f.linearise(similarity, iteration)
		if !f.Fit(iteration > 0) {
			return similarity, false
		}
		similarity = similarity.With(f.terms())
		clear(f.Coef[:TermZoom+1])
	}
	return similarity, true
}

// bring takes the right eye's places into line, after so many folds.
func (f *fitter) linearise(similarity Similarity, iteration int) {
	known := f.terms()
	depth := make([]float64, len(f.matches))
	for i := range f.matches {
		m := &f.matches[i]
		xr, yr := similarity.Undo(m.RightX, m.RightY)
		depth[i] = known.depth(m.LeftX, m.LeftY, xr)
		f.Y[i] = yr - m.LeftY
	}
	if iteration == 0 {
		f.calibration = f.regressionCalibration(depth) // line and lenses change its smooth part alone
	}
	floats.Add(depth, f.calibration)
	for i := range f.matches {
		m := &f.matches[i]
		xr, yr := similarity.Undo(m.RightX, m.RightY)
		row := factors(m.LeftX, m.LeftY, xr, yr, depth[i])
		copy(f.Row(i), row[:])
	}
}

// covariance returns how well the terms are known. Neighbouring matches share
// texture, depth edges and lens, so their errors are not independent: where the
// estimate by tiles of the picture is larger than the usual one, it counts. What
// each part of the picture has in common is added.
func (f *fitter) covariance() (cov [TermCount][TermCount]float64) {
	inverse := f.Inverse()
	tile, tiles := f.tiles(6)
	sandwich := f.Sandwich(inverse, tile)
	few := float64(TermCount) // correction for a small number of tiles
	if tiles > TermCount+1 {
		few = float64(tiles) / float64(tiles-TermCount)
	}
	var widen Terms
	for i := range widen {
		widen[i] = math.Sqrt(max(1, few*sandwich.At(i, i)/(stat.Sq(f.Scale)*inverse.At(i, i))))
	}
	for i := range TermCount {
		for j := range TermCount {
			cov[i][j] = stat.Sq(f.Scale) * inverse.At(i, j) * widen[i] * widen[j]
		}
	}
	common := f.commonError()
	for _, shift := range f.commonShifts(inverse) {
		for i := range TermCount {
			for j := range TermCount {
				cov[i][j] += stat.Sq(common) * shift[i] * shift[j]
			}
		}
	}
	return cov
}

// shared returns the error that all matches of one part of the picture have in common,
// in picture heights.
func (f *fitter) commonError() float64 {
	return commonSE * f.matches[0].framePixel
}

// common returns for each part of the picture by how much the terms move when
// all of its vertical disparities move by one picture height.
func (f *fitter) commonShifts(inverse *mat.SymDense) []Terms {
	part, parts := f.tiles(4)
	moves := make([]Terms, parts)
	for n, c := range part {
		for j, v := range f.Row(n) {
			moves[c][j] += f.W[n] * v
		}
	}
	for c := range moves {
		sum := moves[c]
		mat.NewVecDense(TermCount, moves[c][:]).MulVec(inverse, mat.NewVecDense(TermCount, sum[:]))
	}
	return moves
}

// clusters numbers the tiles, so many to a picture height, that the matches lie
// in.
func (f *fitter) tiles(perHeight float64) (cluster []int, count int) {
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
