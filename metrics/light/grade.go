package light

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// Grade is a colour decision in the form of the ASC CDL, version 1.2: for each of
// red, green and blue out = clamp(in·slope + offset)^power, and then
// out = clamp(luma + saturation·(out − luma)) with the luma of BT.709. Signals run
// from black 0 to white 1.
type Grade struct {
	Slope, Offset, Power [3]float64
	Saturation           float64
}

// NoGrade is the decision that changes nothing.
func NoGrade() Grade {
	return Grade{Slope: [3]float64{1, 1, 1}, Power: [3]float64{1, 1, 1}, Saturation: 1}
}

// Apply returns what the decision makes of a signal of red, green and blue.
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
	// minGradePlaces is how many places a decision must rest on.
	minGradePlaces = 60
	// gradeDark is the signal below which noise decides.
	gradeDark = 0.04
	// gradePlain is the median ΔE00 at which slope and offset are good enough.
	gradePlain = 0.5
	// gradeBent is by how much of full scale a third of the places, by brightness,
	// must be off on the whole before power and saturation are tried: one and a half
	// code values of 8 bits. gradeGain is the share of the colour difference that
	// these must take off to be worth having, and gradeFew how many places are enough
	// to find them. The project's own choice.
	gradeBent = 0.006
	gradeGain = 0.1
	gradeFew  = 400
)

// FitGrade finds the decision that takes the right eye's places to the left's:
// slope and offset, and power and saturation only where they help. It returns the
// reason when there is none.
func FitGrade(s Swatches) (g Grade, reason string) {
	g, ok := s.lines(1)
	if !ok {
		return NoGrade(), TooFewPlaces
	}
	left := s.Difference(g).Value
	if left < gradePlain {
		return g, ""
	}
	few := s
	few.Places = nil
	n := min(len(s.Places), gradeFew)
	for k := range n {
		few.Places = append(few.Places, s.Places[k*len(s.Places)/n])
	}
	bent, best := g, few.Difference(g).Value
	for _, saturation := range gradeSaturations {
		if next, ok := few.lines(saturation); ok {
			if v := few.Difference(next).Value; v < best {
				bent, best = next, v
			}
		}
	}
	if bent != g || !s.straight(g) {
		bent = few.bend(bent)
	}
	if s.Difference(bent).Value < (1-gradeGain)*left {
		return bent, ""
	}
	return g, ""
}

// gradeSaturations are tried before the steps of bend: a change of saturation and
// those of slope that go with it are far apart in small steps.
var gradeSaturations = [...]float64{0.75, 0.85, 0.93, 1.07, 1.15, 1.25, 1.4}

// lines fits slope and offset, for a saturation given.
func (s Swatches) lines(saturation float64) (g Grade, ok bool) {
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

// robustLine fits out = slope·in + offset, errors being in both alike in proportion,
// with Tukey's biweight. It starts from medians, which a third of strangers does not
// move far.
func robustLine(in, out []float64) (slope, offset float64) {
	const rounds = 12
	mx, sx := middle(in)
	my, sy := middle(out)
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

// middle returns the median of values and the median of their distances from it.
func middle(values []float64) (centre, spread float64) {
	centre = stat.Median(slices.Clone(values))
	off := make([]float64, len(values))
	for i, v := range values {
		off[i] = math.Abs(v - centre)
	}
	return centre, stat.Median(off)
}

// straight reports whether nothing is left over after a decision that a third of the
// places, by their brightness, has in common.
func (s Swatches) straight(g Grade) bool {
	type rest struct{ luma, off float64 }
	for c := range 3 {
		var all []rest
		for i := range s.Places {
			p := &s.Places[i]
			if min(p.Left[c], p.Right[c]) > gradeDark {
				all = append(all, rest{p.Left[c], p.Left[c] - g.Apply(p.Right)[c]})
			}
		}
		slices.SortStableFunc(all, func(a, b rest) int {
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
			if math.Abs(stat.Median(off)) > gradeBent {
				return false
			}
		}
	}
	return true
}

// bend refines a decision with power and saturation, by steps that make the median
// colour difference smaller.
func (s Swatches) bend(g Grade) Grade {
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
