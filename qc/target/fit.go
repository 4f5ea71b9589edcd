package target

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

// Fit is what the targets of one setup tell of the rig. The parallax of what is
// at a distance Z is b·f·(1/Zc − 1/Z), with b the distance between the cameras, f
// their focal length in picture widths and Zc where they converge (similar
// triangles), so that parallax lies on a line over −1/Z. Where the crew says at
// which distance each target was converged, it lies on a line over 1/Zc − 1/Z,
// through zero.
type Fit struct {
	Setup   string
	Targets []Reading // in the order of their distances
	// Strength is b·f in % of the picture width × metres: 7.15 for cameras 65 mm
	// apart behind lenses of 1.1 picture widths.
	Strength stat.Measurement
	// Converges is the distance in metres at which the cameras converge; missing
	// where the crew says so, target by target.
	Converges stat.Measurement
	// Off is the parallax, in % of the picture width, that a target would have at the
	// distance on which the cameras are said to converge; missing where nobody says.
	Off stat.Measurement
}

// Reading is one target.
type Reading struct {
	Target
	Parallax stat.Measurement // of the clip's focus_parallax, the median
	// Fitted is the parallax by all targets, % of the picture width; NaN without a fit.
	Fitted float64
	// Apart is by how much the target departs from what the others of its setup make of
	// it, in % of the picture width; missing where they are too few.
	Apart stat.Measurement

	In record.Header // the clip's
}

// TapeSE is how exactly distances to targets are measured, in metres: by a tape, the
// project's own choice.
const TapeSE = 0.005

// FitAll fits the targets, setup by setup, in the order in which these first come.
func FitAll(records []record.Record, targets []Target) []Fit {
	var fits []Fit
	for _, c := range targets {
		i := slices.IndexFunc(fits, func(f Fit) bool { return f.Setup == c.Setup })
		if i < 0 {
			i = len(fits)
			fits = append(fits, Fit{Setup: c.Setup})
		}
		reading := Reading{Target: c, Parallax: stat.Missing("the report holds no clip of that name")}
		for _, r := range records {
			if r.Header.Clip.Name != c.Clip {
				continue
			}
			if reason := r.Failure(); reason != "" {
				reading.Parallax = stat.Missing(reason)
			} else {
				reading.Parallax, reading.In = series.Median(r, metrics.FocusParallax), r.Header
			}
		}
		fits[i].Targets = append(fits[i].Targets, reading)
	}
	for i := range fits {
		slices.SortStableFunc(fits[i].Targets, func(a, b Reading) int {
			switch {
			case a.Metres < b.Metres:
				return -1
			case a.Metres > b.Metres:
				return 1
			}
			return 0
		})
		fits[i].fit()
	}
	return fits
}

// targetPoint is a target on the line: parallax over 1/Zc − 1/Z, or −1/Z.
type targetPoint struct {
	x, y, se float64 // 1/m, % and %
	tape     float64 // standard error of x
}

// targetLine is a line through targets: y = offset + slope·x.
type targetLine struct {
	offset, slope       float64
	offsetVar, slopeVar float64
	covariance          float64
}

func (l targetLine) at(x float64) float64 { return l.offset + l.slope*x }

func (l targetLine) variance(x float64) float64 {
	return l.offsetVar + 2*x*l.covariance + x*x*l.slopeVar
}

// minTargetSpread is how far apart, in 1/m, targets have to be for a line, in the root of
// their mean square: targets at 1.5 and 1.6 m are. Where all are at the distance of
// their convergence there is no line, and none is needed.
const minTargetSpread = 0.02

// newTargetLine fits a line by weighted least squares. What the tape makes of the
// parallax depends on the slope, so it is put right twice. ok is false where the
// targets are too near to each other: then the line is level.
func newTargetLine(points []targetPoint) (l targetLine, ok bool) {
	n := float64(len(points))
	var mean, square float64
	for _, p := range points {
		mean += p.x / n
	}
	for _, p := range points {
		square += (p.x - mean) * (p.x - mean) / n
	}
	ok = len(points) >= 2 && math.Sqrt(square) >= minTargetSpread
	for range 3 {
		var w, wx, wy, wxx, wxy float64
		for _, p := range points {
			k := 1 / (p.se*p.se + l.slope*l.slope*p.tape*p.tape)
			w += k
			wx += k * p.x
			wy += k * p.y
			wxx += k * p.x * p.x
			wxy += k * p.x * p.y
		}
		if !ok {
			return targetLine{offset: wy / w, offsetVar: 1 / w}, false
		}
		det := w*wxx - wx*wx
		l = targetLine{
			offset: (wxx*wy - wx*wxy) / det, slope: (w*wxy - wx*wy) / det,
			offsetVar: wxx / det, slopeVar: w / det, covariance: -wx / det,
		}
	}
	return l, true
}

// minTargetSE is the smallest standard error that a target's parallax is believed with,
// in % of the picture width: a hundredth of a pixel would outweigh all others.
const minTargetSE = 0.005

// fit fits the line and tells how each target agrees with the others.
func (f *Fit) fit() {
	const few = "it takes two targets at distances apart"
	var points []targetPoint
	var of []int
	told := false
	for i := range f.Targets {
		c := &f.Targets[i]
		c.Fitted, c.Apart = math.NaN(), stat.Missing("too few other targets")
		told = c.Converged != 0
		if !c.Parallax.OK() {
			continue
		}
		p := targetPoint{x: -1 / c.Metres, y: c.Parallax.Value, se: max(c.Parallax.SE, minTargetSE), tape: TapeSE / (c.Metres * c.Metres)}
		if told {
			p.x += 1 / c.Converged
		}
		points, of = append(points, p), append(of, i)
	}
	f.Strength, f.Converges, f.Off = stat.Missing(few), stat.Missing(few), stat.Missing("nobody says where the cameras converge")
	if told {
		f.Converges, f.Off = stat.Missing("it is told target by target"), stat.Missing(few)
	}
	if len(points) == 0 {
		return
	}
	line, sloped := newTargetLine(points)
	if !sloped && !told {
		return
	}
	for k, i := range of {
		f.Targets[i].Fitted = line.at(points[k].x)
		rest := slices.Delete(slices.Clone(points), k, k+1)
		others, along := newTargetLine(rest)
		if len(rest) == 0 || along != sloped {
			continue
		}
		own := points[k]
		f.Targets[i].Apart = stat.Measured(own.y-others.at(own.x),
			math.Sqrt(own.se*own.se+others.slope*others.slope*own.tape*own.tape+others.variance(own.x)))
	}
	if sloped {
		f.Strength = stat.Measured(line.slope, math.Sqrt(line.slopeVar))
	}
	if told {
		nearZero := slices.ContainsFunc(points, func(p targetPoint) bool { return math.Abs(p.x) < minTargetSpread })
		if sloped || nearZero {
			f.Off = stat.Measured(line.offset, math.Sqrt(line.offsetVar))
		}
		return
	}
	// Zc = slope/offset.
	if line.offset <= record.Sure*math.Sqrt(line.offsetVar) || line.slope <= 0 {
		f.Converges = stat.Missing("the cameras cannot be told from parallel ones")
		return
	}
	zc := line.slope / line.offset
	variance := line.slopeVar/(line.slope*line.slope) + line.offsetVar/(line.offset*line.offset) - 2*line.covariance/(line.slope*line.offset)
	f.Converges = stat.Measured(zc, zc*math.Sqrt(max(variance, 0)))
}
