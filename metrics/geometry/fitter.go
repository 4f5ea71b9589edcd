package geometry

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"nightpair/metrics/stat"
)

const (
	// MinMatches is how many matches a fit must rest on. In unrelated pictures up to 17
	// chance matches agree with nine free terms; a dark night scene has 70.
	MinMatches = 25
	// minInlierShare is the smallest share of the matches that must agree with the fit.
	minInlierShare = 0.45
	// MaxScatter is the largest robust standard deviation of the residuals, in picture
	// heights, of a fit that is accepted: a little more than a line of 540.
	MaxScatter = 0.0025
	// ordinaryYield is the share of the searched places with a match from which on MaxScatter
	// applies as it is. Where fewer have one, matches may be due to chance and have to agree
	// better, in proportion. The pictures of a rig share a fifth and more except at night;
	// pictures that are not of one rig, up to an eighth.
	ordinaryYield = 0.25
	// ResidualFloor is the smallest scale of the residuals, in picture heights: a
	// hundredth of a line of 540, below which interpolation is not exact.
	ResidualFloor = 0.01 / 540
	// placeSE is the standard error, in pixels of the frame, of the most exact places:
	// edges are sampled, and aliases pull them. Smoothing the rasters more does not help.
	placeSE = 0.02
	// commonSE is the error, in pixels of the frame, that all matches of one part of the
	// picture have in common and that does not average out over them: from aliases where
	// texture repeats nearly in step with the pixels, from compression, and from texture that
	// looks a little different to either eye. The drawn scenes need it for the standard
	// errors to hold.
	commonSE = 0.04

	// wideLensSE is the prior of the distortion of wide-angle and action cameras, at one
	// picture height from the centre; wideLensGain is the factor to which it must reduce the
	// residuals to be accepted.
	wideLensSE   = 0.3
	wideLensGain = 0.8
)

// FitRig fits the geometry of the rig to matches. Places is how many places were searched for
// them; 0 where the matches are known to be of one rig. The reason says why there is no fit.
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
	// Distortion beyond its prior is accepted when the residuals become distinctly smaller,
	// the more so where few places have a match.
	if math.Abs(f.Coef[TermBarrel]) > PriorSE[TermBarrel] || math.Abs(f.Coef[TermUnlike]) > PriorSE[TermUnlike] {
		wide := newFitter(matches)
		wide.Prior[TermBarrel], wide.Prior[TermUnlike] = wideLensSE, wideLensSE/4
		if wideSimilarity, ok := wide.run(); ok && wide.Scale < wideLensGain*yield*f.Scale {
			f, similarity = wide, wideSimilarity
		}
	}
	g := &Fit{Similarity: similarity, Terms: f.terms(), Parallax: f.own, scale: f.Scale, commonSE: f.commonError()}
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
	calibration []float64 // what regression calibration adds to the parallax of each
	own         float64   // the scene's own parallax, see Fit
}

// newFitter weights the matches by their own errors and by the steps of parallax beside them.
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

// run fits the terms. Offset, roll and zoom are moved into the similarity after each
// iteration (Gauss–Newton). It reports false where the matches do not determine the terms.
func (f *fitter) run() (similarity Similarity, ok bool) {
	similarity = Similarity{Cos: 1}
	const iterations = 3 // the error of each is about the square of the last one's
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

// linearise sets up the regression about a similarity, after so many iterations.
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
		f.calibration = f.regressionCalibration(depth) // later iterations change the smooth part of depth alone
	}
	floats.Add(depth, f.calibration)
	weights := f.Base
	if iteration > 0 {
		weights = f.W
	}
	f.own = floats.Dot(depth, weights) / floats.Sum(weights)
	for i := range f.matches {
		m := &f.matches[i]
		xr, yr := similarity.Undo(m.RightX, m.RightY)
		row := factors(m.LeftX, m.LeftY, xr, yr, depth[i], f.own)
		copy(f.Row(i), row[:])
	}
}

// covariance returns the covariance of the terms. Neighbouring matches share texture, depth
// edges and lens, so their errors are not independent: where the cluster-robust
// estimate is larger than the usual one, it counts. So does what becomes of the terms without
// one large part of the picture after another: a mirror, or texture that repeats, misleads all
// matches of such a part together, and at all moments alike. The error that each part of the
// picture has in common is added.
func (f *fitter) covariance() (cov [TermCount][TermCount]float64) {
	inverse := f.Inverse()
	tile, tiles := f.tiles(6)
	sandwich := f.Sandwich(inverse, tile)
	few := float64(TermCount) // correction of the sandwich for a small number of tiles
	if tiles > TermCount+1 {
		few = float64(tiles) / float64(tiles-TermCount)
	}
	part, parts := f.parts()
	without := f.LeftOut(part, parts)
	var widen Terms
	for i := range widen {
		widen[i] = math.Sqrt(max(1, max(few*sandwich.At(i, i), without.At(i, i)/partsChance)/(stat.Sq(f.Scale)*inverse.At(i, i))))
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
	for i := range TermCount {
		for j := range TermCount {
			cov[i][j] *= f.surprise()
		}
	}
	return cov
}

// surprise returns the mean square of the rig's coefficients over their priors, and at least 1.
// Coefficients far beyond what a rig can have are the fit of something else, such as repeated
// texture matched one step off, and their errors must say so (R. Birge, Physical Review 40, 1932: errors are
// enlarged where measurements depart by more than their errors; from memory).
func (f *fitter) surprise() float64 {
	rig := [...]int{TermKeystone, TermTilt, TermHeight, TermForward}
	sum := 0.0
	for _, i := range rig {
		sum += stat.Sq(f.Coef[i] / f.Prior[i])
	}
	return max(1, sum/float64(len(rig)))
}

// commonError returns commonSE in picture heights.
func (f *fitter) commonError() float64 {
	return commonSE * f.matches[0].framePixel
}

// commonShifts returns for each part of the picture by how much the terms change when all of
// its vertical disparities change by one picture height.
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

// partsAcross and partsDown divide the picture into the large parts that may mislead as a whole.
const partsAcross, partsDown = 4, 3

// partsChance is by how much the variance that so few parts tell may be too large by chance: one
// standard deviation of a variance of n values is √(2/(n−1)) of it. Only what is beyond that
// widens a standard error.
var partsChance = 1 + math.Sqrt(2/(partsAcross*partsDown-1.0))

// parts numbers the large part of the picture in which each match lies.
func (f *fitter) parts() (part []int, count int) {
	reach := 0.0
	for i := range f.matches {
		reach = max(reach, math.Abs(f.matches[i].LeftX))
	}
	for i := range f.matches {
		m := &f.matches[i]
		x := min(max(int((m.LeftX/reach+1)/2*partsAcross), 0), partsAcross-1)
		y := min(max(int((m.LeftY+0.5)*partsDown), 0), partsDown-1)
		part = append(part, y*partsAcross+x)
	}
	return part, partsAcross * partsDown
}

// tiles numbers the tiles, so many per picture height, in which the matches lie.
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
