package timing

import (
	"math"
	"slices"
	"sort"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// Lag is how the motion of two files goes together, whatever their starts.
type Lag struct {
	// Frames is by how many frames the right file shows later where and when the same moves,
	// within a few frames; see [SlipAmong].
	Frames int
	// Turned is how the right eye's picture has to be turned for that.
	Turned picture.Orientation
	// Overlap is how many frames both files then have in common, and Correlation how well their
	// motion maps go together over these, −1 to 1.
	Overlap     int
	Correlation float64
	// Chance is how many lags of unrelated files would be expected to do as well, of all that were
	// tried; where the scene repeats itself that is many. At most 1.
	Chance float64
}

// Likely reports whether the lag is more than chance, so that it is worth being looked for in
// frames: only [SlipAmong] or [FindSlip] make it certain.
func (l Lag) Likely() bool { return l.Chance <= maxChance && l.Correlation >= minLagCorrelation }

const (
	// MinLagOverlap is the least number of frames in common with which a lag is looked for.
	MinLagOverlap = 20
	// maxChance is the largest Lag.Chance of a likely one, and minLagCorrelation its least
	// correlation. The project's own choice.
	maxChance         = 0.5
	minLagCorrelation = 0.3
	// minPersistence is the least share of what changes in a file that is motion which goes on,
	// with which files can be said to show different moments. Noise has none; drawn scenes with
	// little motion have a tenth to four tenths, people in a street eight tenths.
	minPersistence = 0.4
	// Two eyes correlate by no less than the persistence of what moves, as far as tried; of
	// different moments the best lag reaches a third of it. From elsewhereShare of it on they
	// are not said to be different, and chanceMotion more where only MinLagOverlap frames are in
	// common, less with more frames; but always from mostShare on. The project's own choice.
	elsewhereShare = 0.6
	chanceMotion   = 0.25
	mostShare      = 0.9
	// persistenceLag is the number of frames after which motion still goes on. The changes from
	// one frame to the next share a frame, and its noise; those two frames apart do not.
	persistenceLag = 2
	// turns is the number of orientations that are tried.
	turns = 4
)

// FindLag is the first of FindLags; without any its Chance is 1.
func FindLag(left, right []*MotionMap) Lag {
	if lags := FindLags(left, right, 1); len(lags) > 0 {
		return lags[0]
	}
	return Lag{Chance: 1}
}

// FindLags compares where and when things move in two files at all lags that leave
// MinLagOverlap frames in common. Maps are of consecutive frames, nil where one was not seen.
// It returns up to most lags at which the maps correlate better than around them, pooled over
// their cells: each less its mean over the overlap, so that steady motion counts for nothing.
// Those that stand out most come first.
func FindLags(left, right []*MotionMap, most int) []Lag {
	var list []Lag
	var heights []float64
	for _, o := range orientations {
		lags, high := newLagCurve(left, oriented(right, o)).peaks(most)
		for i, l := range lags {
			l.Turned = o
			k := sort.Search(len(list), func(k int) bool { return heights[k] < high[i] })
			list, heights = slices.Insert(list, k, l), slices.Insert(heights, k, high[i])
		}
	}
	return list[:min(most, len(list))]
}

// Elsewhere reports whether enough moves in both files, and nowhere the same at the same time:
// that no lag makes them show the same moment. Only where in the picture things move is
// compared, not how much: pictures shaken by hand, or cut often, have much in common in that
// whatever they show. Clocks that run apart fit piece by piece only, and so some pieces are
// asked for by themselves.
func Elsewhere(left, right []*MotionMap) bool {
	l, r := levelled(left), levelled(right)
	moving := math.Sqrt(max(persistence(l), 0) * max(persistence(r), 0))
	if moving < minPersistence {
		return false
	}
	if len(r) < len(l) {
		l, r = r, l
	}
	for _, o := range orientations {
		turned := oriented(r, o)
		// A row or a column of cells may be what a fault of the rig or a large parallax makes.
		for _, by := range [][2]int{{0, 0}, {1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			if newLagCurve(l, shifted(turned, by[0], by[1])).fits(moving) {
				return false
			}
		}
		// Light that changes in one eye changes what is seen to move: one side of it fits.
		length := min(elsewherePiece, len(l)/2)
		pieces := min(len(l)/max(length, 1), maxElsewherePieces)
		for k := range pieces {
			from := k * (len(l) - length) / max(pieces-1, 1)
			if newLagCurve(l[from:from+length], turned).fits(moving) {
				return false
			}
		}
	}
	return true
}

// Moves reports whether something moves in the frames that were seen, for a lag to be looked for
// in all of them.
func Moves(maps []*MotionMap) bool { return persistence(maps) >= movesPersistence }

// movesPersistence is half of what hand-held cameras and little motion have. The project's own
// choice.
const movesPersistence = 0.1

const (
	// elsewherePiece is how many frames a piece has that is looked for by itself, and
	// maxElsewherePieces how many of them there are at most.
	elsewherePiece     = 250
	maxElsewherePieces = 8
)

var orientations = [turns]picture.Orientation{picture.Upright, picture.Flop, picture.Flip, picture.Turn}

func oriented(list []*MotionMap, o picture.Orientation) []*MotionMap {
	if o == picture.Upright {
		return list
	}
	return mapped(list, func(m *MotionMap) *MotionMap { return m.Oriented(o) })
}

// levelled returns the maps less the mean of their cells.
func levelled(list []*MotionMap) []*MotionMap {
	return mapped(list, func(m *MotionMap) *MotionMap {
		sum := 0
		for _, v := range m {
			sum += int(v)
		}
		out := &MotionMap{}
		for k, v := range m {
			out[k] = uint8(min(max(int(v)-sum/mapCells+128, 0), 255))
		}
		return out
	})
}

// shifted returns the maps moved by so many cells to the right and down; the border repeats.
func shifted(list []*MotionMap, across, down int) []*MotionMap {
	if across == 0 && down == 0 {
		return list
	}
	return mapped(list, func(m *MotionMap) *MotionMap {
		out := &MotionMap{}
		for k := range out {
			column := min(max(k%mapColumns-across, 0), mapColumns-1)
			row := min(max(k/mapColumns-down, 0), mapRows-1)
			out[k] = m[row*mapColumns+column]
		}
		return out
	})
}

func mapped(list []*MotionMap, do func(*MotionMap) *MotionMap) []*MotionMap {
	out := make([]*MotionMap, len(list))
	for i, m := range list {
		if m != nil {
			out[i] = do(m)
		}
	}
	return out
}

// persistence returns the share, at most 1, of what changes from map to map that goes on for
// persistenceLag frames: the pooled autocorrelation of the cells.
func persistence(list []*MotionMap) float64 {
	var same, later float64
	values := make([]float64, len(list))
	for k := range mapCells {
		centre(values, list, k)
		for i, v := range values {
			same += v * v
			if i >= persistenceLag {
				later += v * values[i-persistenceLag]
			}
		}
	}
	if same == 0 {
		return 0
	}
	return later / same
}

// lagCurve is how two series of maps correlate at all lags.
type lagCurve struct {
	first       int       // the lag of the first value
	correlation []float64 // NaN where too few frames are in common, or nothing changes
	overlap     []int
}

// newLagCurve correlates at all lags, with the means and variances of each overlap from running
// sums.
func newLagCurve(left, right []*MotionMap) *lagCurve {
	nl, nr := len(left), len(right)
	lags := max(nl+nr-1, 0)
	c := &lagCurve{first: 1 - nl, correlation: make([]float64, lags), overlap: make([]int, lags)}
	if nl == 0 || nr == 0 {
		return c
	}
	transform := stat.NewLags(nl + nr)
	var fl, fr, product []complex128
	shared := make([]float64, lags) // the product of the means
	vl, vr := make([]float64, lags), make([]float64, lags)
	l, r := make([]float64, nl), make([]float64, nr)
	sl, sr, ll, rr := make([]float64, nl+1), make([]float64, nr+1), make([]float64, nl+1), make([]float64, nr+1)
	for k := range mapCells {
		centre(l, left, k)
		centre(r, right, k)
		fl, fr = transform.Spectrum(fl, l), transform.Spectrum(fr, r)
		product = transform.AddProduct(product, fl, fr)
		running(sl, ll, l)
		running(sr, rr, r)
		for i := range lags {
			lag := i + c.first
			from, to := max(0, -lag), min(nl, nr-lag)
			m := float64(to - from)
			a, b := sl[to]-sl[from], sr[to+lag]-sr[from+lag]
			shared[i] += a * b / m
			vl[i] += ll[to] - ll[from] - a*a/m
			vr[i] += rr[to+lag] - rr[from+lag] - b*b/m
		}
	}
	sum := transform.Correlation(product)
	for i := range lags {
		lag := i + c.first
		c.overlap[i] = min(nl, nr-lag) - max(0, -lag)
		c.correlation[i] = math.NaN()
		// Beyond the sums' rounding.
		if c.overlap[i] >= MinLagOverlap && min(vl[i], vr[i]) > 1e-6*float64(c.overlap[i]) {
			c.correlation[i] = (sum(lag) - shared[i]) / math.Sqrt(vl[i]*vr[i])
		}
	}
	return c
}

// centre gives one cell's values over time less their mean, 0 where there is none.
func centre(dst []float64, list []*MotionMap, cell int) {
	var sum, n float64
	for _, m := range list {
		if m != nil {
			sum += float64(m[cell])
			n++
		}
	}
	for i, m := range list {
		dst[i] = 0
		if m != nil {
			dst[i] = float64(m[cell]) - sum/n
		}
	}
}

// running gives the sums and the sums of squares of all before each value.
func running(sums, squares, list []float64) {
	for i, v := range list {
		sums[i+1], squares[i+1] = sums[i]+v, squares[i]+v*v
	}
}

// height returns the correlation at an index in units that do not depend on the overlap: by
// Fisher's transformation, in standard errors as if single frames were independent.
func (c *lagCurve) height(i int) float64 {
	if math.IsNaN(c.correlation[i]) {
		return 0
	}
	return math.Atanh(min(c.correlation[i], 0.9999)) * math.Sqrt(float64(c.overlap[i]))
}

// peaks returns the lags that stand out most, the highest first, with their heights. The first
// of them knows how many of unrelated files would stand out as much: what the other lags do
// shows how far chance goes, as motion lasts, so that frames are not independent, and repeats.
func (c *lagCurve) peaks(most int) (list []Lag, heights []float64) {
	type span struct{ from, to int }
	var hills []span
	within := func(i int) bool {
		return slices.ContainsFunc(hills, func(h span) bool { return i >= h.from && i <= h.to })
	}
	for len(list) < most {
		top := -1
		for i := range c.correlation {
			if c.height(i) > 0 && (top < 0 || c.height(i) > c.height(top)) && !within(i) {
				top = i
			}
		}
		if top < 0 {
			break
		}
		// The hill around the peak is its own.
		hill := span{top, top}
		for hill.from > 0 && c.height(hill.from-1) > 0 {
			hill.from--
		}
		for hill.to < len(c.correlation)-1 && c.height(hill.to+1) > 0 {
			hill.to++
		}
		hills = append(hills, hill)
		l := Lag{Frames: top + c.first, Overlap: c.overlap[top], Correlation: c.correlation[top], Chance: 1}
		if len(list) == 0 {
			l.Chance = c.chance(c.height(top), hill.from, hill.to)
		}
		list, heights = append(list, l), append(heights, c.height(top))
	}
	return list, heights
}

// chance returns how many lags of unrelated files are expected to be as high as the highest
// one, whose hill reaches from one index to another.
func (c *lagCurve) chance(height float64, from, to int) float64 {
	var squares, n, rival float64
	for i := range c.correlation {
		if (i < from || i > to) && !math.IsNaN(c.correlation[i]) {
			h := c.height(i)
			squares += h * h
			n++
			rival = max(rival, h)
		}
	}
	if rival >= maxLagRival*height {
		return 1
	}
	spread := 1.0 // where there is nothing to compare with
	if n > 0 {
		spread = max(spread, math.Sqrt(squares/n))
	}
	return min(1, turns*(n+1)*math.Erfc(height/(spread*math.Sqrt2))/2)
}

// maxLagRival is how high, as a share of the peak, another hill of the curve may be. The
// project's own choice.
const maxLagRival = 0.8

// fits reports whether some lag correlates as the eyes of one moment do, of files in which so
// much of what changes is motion that goes on.
func (c *lagCurve) fits(moving float64) bool {
	for i, v := range c.correlation {
		least := elsewhereShare*moving + chanceMotion*math.Sqrt(MinLagOverlap/float64(c.overlap[i]))
		if v >= min(least, mostShare*moving) { // not NaN
			return true
		}
	}
	return false
}

// SlipAmong returns the slip that frames show near one of some lags, and near none of the
// others, and how the right eye has to be turned for it: where a scene repeats itself they do
// near several.
func SlipAmong(left, right []*picture.Signature, lags []Lag) (found stat.Measurement, turn picture.Orientation) {
	found = stat.Missing("not observable: no lag is certain in frames")
	for _, l := range lags {
		turned := make([]*picture.Signature, len(right))
		for i, s := range right {
			turned[i] = s.Oriented(l.Turned)
		}
		switch m := slipNear(left, turned, l.Frames); {
		case m.OK() && found.OK() && math.Round(m.Value) != math.Round(found.Value):
			return stat.Missing("not observable: more than one offset would do"), 0
		case m.OK() && !found.OK():
			found, turn = m, l.Turned
		}
	}
	return found, turn
}

// slipNear returns the slip within a few frames of a lag, where what changes in single cells of
// the frames certainly goes together, and better than at the slips beside it. Few frames do.
func slipNear(left, right []*picture.Signature, lag int) stat.Measurement {
	const near = 4
	from, to := max(0, -lag), min(len(left), len(right)-lag)
	eyes := newEyeChanges(left, right)
	if !eyes.setGain(lag, from, to) {
		return stat.Missing("not observable: too little changes over time")
	}
	best := lag
	for slip := lag - near; slip <= lag+near; slip++ {
		if eyes.advantage(slip, best, from, to).mean > 0 {
			best = slip
		}
	}
	for slip := best - near; slip <= best+near; slip++ {
		if slip == best {
			continue
		}
		a := eyes.advantage(best, slip, from, to)
		if a.count < minEndChanges || a.mean < minAdvantage || a.sigmas < sureSigmas {
			return stat.Missing("not observable: the offset is not certain to the frame")
		}
	}
	return stat.Measured(float64(best)+eyes.fraction(best, from, to), maxSlipSE)
}
