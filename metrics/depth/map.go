package depth

import (
	"math"
	"math/bits"
	"slices"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

// Map is a dense map of parallax, with one place for each pixel of the quarter raster.
type Map struct {
	Width, Height int
	// Parallax is x' − x in pixels of the full raster, row by row; NaN where the pictures do
	// not show it.
	Parallax []float32
	// se is the standard error of each, in the same unit.
	se []float32

	ascending    []float64     // see Ascending
	noisier      []float64     // see ascendingNoisier
	filledValues *[2][]float64 // see ascendingFilled
}

const (
	// Places are compared on the half raster by refineCodes census codes, refineStep
	// pixels apart, each of a window of refineRadius.
	refineRadius = 3
	refineStep   = 2
	refineCodes  = 9
	refineBits   = refineCodes * ((2*refineRadius+1)*(2*refineRadius+1) - 1)
	// maxUnlike is the largest share of differing bits of two places that show
	// the same thing; noise as strong as the texture gives a third.
	maxUnlike = 0.3
	// refineReach is how far, in half pixels, the refined place may lie from the
	// winner of the cost volume.
	refineReach = 3
	// minRise is by how many bits the distance must rise half a pixel beside its minimum.
	minRise = refineBits / 40

	// Each of smoothRounds rounds of smoothing reaches smoothReach quarter pixels across, then
	// down. Values belong to one surface up to smoothSpan standard errors apart.
	smoothRounds = 4
	smoothReach  = 5
	smoothSpan   = 3
	// enoughPrecision is the precision from which on a place is not smoothed further.
	enoughPrecision = 400

	// rangeRank is the rank among the matches, from either end, whose parallax bounds the range
	// that is searched.
	rangeRank = 2

	// maxSE is the largest standard error, in pixels, of a place that is kept.
	maxSE = 0.55
	// minSE is the uncertainty that interpolation between pixels leaves, in pixels.
	minSE = 0.12
	// surfaceStep is by how much, in pixels, neighbours of one surface may differ, and
	// minPatch is the smallest area of a surface, of the 32,000 quarter pixels of a
	// picture: 0.1 %.
	surfaceStep = 1
	minPatch    = 32
)

// NewMap measures the parallax of the whole picture. G is the geometry fitted to the same
// pictures.
func NewMap(left, right *raster.Pyramid, g *geometry.Fit) *Map {
	half := g.Rectify(right.Half)
	near, far := searchRange(g, left.Quarter)
	v := newCostVolume(left.Quarter, half.Halve(), near, far)
	v.seed(g.Matches, left.Quarter.Sx)
	winners := v.winners(v.aggregate(left.Quarter))

	m := &Map{Width: v.width, Height: v.height}
	m.Parallax = make([]float32, len(winners))
	precision := m.refine(winners, left.Half.Smoothed(), half.Smoothed())
	precision = m.smooth(precision)
	m.dropUncertain(precision)
	m.removeSpeckles()
	return m
}

// searchRange returns the range of parallax to search, in pixels of the quarter raster: that
// of the matches, with a margin for things without any.
func searchRange(g *geometry.Fit, q *raster.Raster) (near, far int) {
	nearest, farthest, _ := matchedRange(g.Matches, q.Sx)
	low, high := int(nearest), int(farthest)
	w := float64(q.Width)
	margin := min(int(geometry.ParallaxMargin*w), (int(maxParallax*w)-(high-low))/2)
	return low - margin, high + margin
}

// matchedRange returns the range of parallax of matches in units of so many picture heights; not ok
// where they are too few. One or two at either end may be wrong and do not count.
func matchedRange(matches []geometry.Match, unit float64) (nearest, farthest float64, ok bool) {
	if len(matches) <= 2*rangeRank {
		return 0, 0, false
	}
	seen := make([]float64, len(matches))
	for i := range matches {
		seen[i] = (matches[i].RightX - matches[i].LeftX) / unit
	}
	slices.Sort(seen)
	return seen[rangeRank], seen[len(seen)-1-rangeRank], true
}

// refine measures the parallax of the winners to a fraction of a pixel. It returns the
// precision of each: the inverse of its variance, but for a constant factor; 0 where it
// has no value.
func (m *Map) refine(winners []int, left, right *raster.Raster) (precision []float32) {
	precision = make([]float32, len(winners))
	const pad = refineStep + refineRadius
	l, r := left.Padded(pad), right.Padded(pad)
	// The left codes are needed at every other pixel of every other row, the right ones at
	// every pixel of every other row. Indices into these grids are one more than in the
	// map, and two more than in the half raster.
	lw, rw, rows := m.Width+2, right.Width+4, m.Height+2
	lc := l.CensusGrid(refineRadius, 2, lw, rows)
	rc := r.CensusGrid(refineRadius, 1, rw, rows)
	var run [2*refineReach + 1]int
	for y := range m.Height {
		for x := range m.Width {
			i := y*m.Width + x
			m.Parallax[i] = float32(math.NaN())
			first := 2*(x+winners[i]) - refineReach
			if winners[i] == noParallax || first < 0 || first+len(run) > right.Width {
				continue
			}
			for j := range run {
				run[j] = 0
			}
			for dy := range 3 {
				mine := lc[(y+dy)*lw+x:][:3]
				row := rc[(y+dy)*rw+first:][:len(run)+4]
				for j := range run {
					s := row[j : j+5 : j+5]
					run[j] += bits.OnesCount64(mine[0]^s[0]) + bits.OnesCount64(mine[1]^s[2]) + bits.OnesCount64(mine[2]^s[4])
				}
			}
			k := 1
			for j := 2; j < len(run)-1; j++ {
				if run[j] < run[k] {
					k = j
				}
			}
			// The distance rises linearly to both sides, so its lowest point is
			// where two lines of equal slope meet.
			before, at, after := float64(run[k-1]), float64(run[k]), float64(run[k+1])
			slope := max(before, after) - at
			if at > maxUnlike*refineBits || min(before, after) < at || slope < minRise {
				continue
			}
			m.Parallax[i] = float32(2 * (float64(first+k-2*x) + (before-after)/(2*slope)))
			// Noise flips bits. The numbers of differing bits scatter by about their square
			// root, and the place by that over the slope.
			precision[i] = float32(slope * slope / (at + minRise))
		}
	}
	return precision
}

// smooth replaces the value of each place by a weighted mean of the places around it that may
// belong to the same surface, and returns the precision of these together.
func (m *Map) smooth(precision []float32) []float32 {
	out, total := make([]float32, len(precision)), make([]float32, len(precision))
	for range smoothRounds {
		for _, step := range [2]int{1, m.Width} {
			for i, p := range m.Parallax {
				out[i] = p
				if p != p || total[i] > enoughPrecision {
					continue
				}
				at, places := i%m.Width, m.Width
				if step > 1 {
					at, places = i/m.Width, m.Height
				}
				own := 4 / precision[i]
				sum, weight := p*precision[i], precision[i]
				for d := -min(smoothReach, at); d <= min(smoothReach, places-1-at); d++ {
					j := i + d*step
					q := m.Parallax[j]
					if q != q || d == 0 {
						continue
					}
					e := q - p
					// 0.25 square pixels allow for slanted surfaces.
					if u := e * e / (smoothSpan*smoothSpan*(own+4/precision[j]) + 0.25); u < 1 {
						k := (1 - u) * (1 - u) * precision[j]
						sum += k * q
						weight += k
					}
				}
				out[i], total[i] = sum/weight, weight
			}
			m.Parallax, out = out, m.Parallax
		}
	}
	return total
}

// dropUncertain sets the standard errors and drops the values for which they are too large.
func (m *Map) dropUncertain(precision []float32) {
	m.se = make([]float32, len(precision))
	for i, s := range precision {
		if !(s > 0) {
			continue
		}
		// Most of the places that smoothing averages see the same pixels. A variance of 4²
		// square pixels over their precision is measured on drawn scenes with noise.
		m.se[i] = float32(math.Hypot(4/math.Sqrt(float64(s)), minSE))
		if m.se[i] > maxSE {
			m.Parallax[i] = float32(math.NaN())
		}
	}
}

// removeSpeckles drops the values of connected patches that are too small to be more than
// chance.
func (m *Map) removeSpeckles() {
	seen := make([]bool, len(m.Parallax))
	var patch []int
	for start, p := range m.Parallax {
		if seen[start] || p != p {
			continue
		}
		patch = append(patch[:0], start)
		seen[start] = true
		for n := 0; n < len(patch); n++ {
			i := patch[n]
			x, y := i%m.Width, i/m.Width
			for _, d := range [...][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
				nx, ny := x+d[0], y+d[1]
				if nx < 0 || ny < 0 || nx >= m.Width || ny >= m.Height {
					continue
				}
				j := ny*m.Width + nx
				if q := m.Parallax[j]; !seen[j] && q == q && math.Abs(float64(q-m.Parallax[i])) < surfaceStep {
					seen[j] = true
					patch = append(patch, j)
				}
			}
		}
		if len(patch) < minPatch {
			for _, i := range patch {
				m.Parallax[i] = float32(math.NaN())
			}
		}
	}
}
