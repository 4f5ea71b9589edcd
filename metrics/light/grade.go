package light

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// Grade is a colour decision in the form of the ASC CDL, version 1.2: for each of red, green
// and blue out = clamp(in·slope + offset)^power, and then
// out = clamp(luma + saturation·(out − luma)) with the luma of BT.709. Signals are 0 at black
// and 1 at white.
type Grade struct {
	Slope, Offset, Power [3]float64
	Saturation           float64
}

// NoGrade returns the decision that changes nothing but clamps.
func NoGrade() Grade {
	return Grade{Slope: [3]float64{1, 1, 1}, Power: [3]float64{1, 1, 1}, Saturation: 1}
}

// Apply returns the graded signals of red, green and blue, between 0 and 1.
func (g Grade) Apply(rgb [3]float64) [3]float64 {
	for c, v := range rgb {
		v = unitClamp(v*g.Slope[c] + g.Offset[c])
		if g.Power[c] != 1 {
			v = math.Pow(v, g.Power[c])
		}
		rgb[c] = v
	}
	if g.Saturation == 1 {
		return rgb
	}
	luma := 0.2126*rgb[0] + 0.7152*rgb[1] + 0.0722*rgb[2]
	for c, v := range rgb {
		rgb[c] = unitClamp(luma + g.Saturation*(v-luma))
	}
	return rgb
}

func unitClamp(v float64) float64 { return min(max(v, 0), 1) }

const (
	// minGradePlaces is how many places a decision takes.
	minGradePlaces = 60
	// gradeDark is the signal below which noise is too strong.
	gradeDark = 0.04
	// linearEnough is the median ΔE00 at which slope and offset suffice.
	linearEnough = 0.5
	// maxLinearError is the median error of a third of the places, by brightness, as a
	// share of full scale, from which on power and saturation are tried: one and a half
	// 8-bit code values. minGradeGain is the share of the colour difference that these
	// must remove to be used, and gradeSample how many places are used to find them. The
	// project's own choice.
	maxLinearError = 0.006
	minGradeGain   = 0.1
	gradeSample    = 400
)

// FitGrade finds the decision that grades the right eye to match the left: slope and offset,
// and power and saturation only where they help. It returns NoGrade and the reason where
// there are too few places.
func FitGrade(s Swatches) (g Grade, reason string) {
	g, ok := s.linearGrade(1)
	if !ok {
		return NoGrade(), TooFewPlaces
	}
	difference := s.Difference(g).Value
	if difference < linearEnough {
		return g, ""
	}
	sample := s
	sample.Places = nil
	n := min(len(s.Places), gradeSample)
	for k := range n {
		sample.Places = append(sample.Places, s.Places[k*len(s.Places)/n])
	}
	full, best := g, sample.Difference(g).Value
	for _, saturation := range gradeSaturations {
		if next, ok := sample.linearGrade(saturation); ok {
			if v := sample.Difference(next).Value; v < best {
				full, best = next, v
			}
		}
	}
	if full != g || !s.linear(g) {
		full = sample.descend(full)
	}
	if s.Difference(full).Value < (1-minGradeGain)*difference {
		return full, ""
	}
	return g, ""
}

// gradeSaturations are the starting points for descend, which would take many small steps to
// change the saturation together with the slopes.
var gradeSaturations = [...]float64{0.75, 0.85, 0.93, 1.07, 1.15, 1.25, 1.4}

// linearGrade fits slope and offset for a given saturation.
func (s Swatches) linearGrade(saturation float64) (g Grade, ok bool) {
	g = NoGrade()
	g.Saturation = saturation
	var in, out [3][]float64
	for i := range s.Places {
		l, r := s.Places[i].Left, s.Places[i].Right
		luma := 0.2126*l[0] + 0.7152*l[1] + 0.0722*l[2]
		for c := range 3 {
			if min(l[c], r[c]) > gradeDark {
				in[c] = append(in[c], r[c])
				out[c] = append(out[c], luma+(l[c]-luma)/saturation)
			}
		}
	}
	for c := range 3 {
		if len(in[c]) < minGradePlaces {
			return g, false
		}
		g.Slope[c], g.Offset[c] = robustLine(in[c], out[c])
	}
	return g, true
}

// robustLine fits out = slope·in + offset by the reduced major axis (regression with errors
// in both variables, in proportion to their spread; from memory) with Tukey's biweight. It
// starts from medians, which a third of outliers does not move far.
func robustLine(in, out []float64) (slope, offset float64) {
	const rounds = 12
	mx, sx := medianSpread(in)
	my, sy := medianSpread(out)
	slope = 1
	if sx > 0 && sy > 0 {
		slope = sy / sx
	}
	offset = my - slope*mx
	sizes, w := make([]float64, len(in)), make([]float64, len(in))
	for range rounds {
		for i, x := range in {
			sizes[i] = math.Abs(out[i] - slope*x - offset)
		}
		scale := max(stat.MADToSigma*stat.Median(slices.Clone(sizes)), 1e-4)
		var sw, wx, wy, xx, yy float64
		for i, x := range in {
			w[i] = stat.Sq(max(1-stat.Sq(sizes[i]/(stat.BiweightCutoff*scale)), 0))
			sw, wx, wy = sw+w[i], wx+w[i]*x, wy+w[i]*out[i]
		}
		wx, wy = wx/sw, wy/sw
		for i, x := range in {
			xx, yy = xx+w[i]*stat.Sq(x-wx), yy+w[i]*stat.Sq(out[i]-wy)
		}
		if !(xx > 0 && yy > 0) {
			break
		}
		slope = math.Sqrt(yy / xx)
		offset = wy - slope*wx
	}
	return slope, offset
}

// medianSpread returns the median of values and the median of the distances from it; there
// must be one value at least.
func medianSpread(values []float64) (centre, spread float64) {
	centre = stat.Median(slices.Clone(values))
	off := make([]float64, len(values))
	for i, v := range values {
		off[i] = math.Abs(v - centre)
	}
	return centre, stat.Median(off)
}

// linear reports whether a decision leaves no common error in any third of the places by
// brightness.
func (s Swatches) linear(g Grade) bool {
	type residual struct{ luma, off float64 }
	for c := range 3 {
		var all []residual
		for i := range s.Places {
			p := &s.Places[i]
			if min(p.Left[c], p.Right[c]) > gradeDark {
				all = append(all, residual{p.Left[c], p.Left[c] - g.Apply(p.Right)[c]})
			}
		}
		slices.SortStableFunc(all, func(a, b residual) int {
			switch {
			case a.luma < b.luma:
				return -1
			case a.luma > b.luma:
				return 1
			}
			return 0
		})
		third := len(all) / 3
		for from := 0; from+third <= len(all) && third > 0; from += third {
			off := make([]float64, third)
			for i := range off {
				off[i] = all[from+i].off
			}
			if math.Abs(stat.Median(off)) > maxLinearError {
				return false
			}
		}
	}
	return true
}

// descend refines a decision by coordinate descent on the median colour difference, with
// steps of power, slope, offset and saturation that are halved when none helps.
func (s Swatches) descend(g Grade) Grade {
	best := s.Difference(g).Value
	for step := 0.1; step > 0.005; {
		helped := false
		try := func(change func(g *Grade, by float64)) {
			for _, by := range [2]float64{step, -step} {
				next := g
				change(&next, by)
				if v := s.Difference(next).Value; v < best*(1-1e-6) {
					g, best, helped = next, v, true
					return
				}
			}
		}
		power := func(g *Grade, c int, by float64) {
			g.Power[c] *= 1 + by
			g.Slope[c] *= math.Pow(0.4, -by/2) // the middle of the scale stays about where it is
		}
		try(func(g *Grade, by float64) {
			for c := range 3 {
				power(g, c, by)
			}
		})
		try(func(g *Grade, by float64) {
			for c := range 3 {
				g.Offset[c] += by / 5
			}
		})
		try(func(g *Grade, by float64) { g.Saturation = max(g.Saturation+by, 0) })
		for c := range 3 {
			try(func(g *Grade, by float64) { power(g, c, by) })
			try(func(g *Grade, by float64) { g.Slope[c] *= 1 + by/2 })
			try(func(g *Grade, by float64) { g.Offset[c] += by / 5 })
		}
		if !helped {
			step /= 2
		}
	}
	return g
}
