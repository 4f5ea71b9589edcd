package pull

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// Lenses is how the right lens keeps up with the left one in a focus pull. On a
// rig each lens has a focus motor of its own; one that is late, set to another
// speed or to run the other way is a common fault (common practice).
type Lenses struct {
	// Lag is by how many frames the right lens is late; negative when it is ahead.
	// Missing where it does not follow, and where nothing in the pull tells when.
	Lag stat.Measurement
	// Way is how far the right lens goes, as a share of the left lens's way: 1 when
	// they go together, 0 when the right lens rests, negative when it goes the other
	// way.
	Way stat.Measurement
}

const (
	// minTurn is by how much focus_left or focus_right must change to be called a
	// pull: as much as between what is sharp and a blur of one pixel of 1920. The
	// project's own choice.
	minTurn = 1.0
	// lensShare is the part of the standard error of focus_left and focus_right that
	// each has of its own; the rest is the texture's, and the same in both. Measured on
	// drawn scenes.
	lensShare = 0.4
	// Neighbouring moments share what is wrong with them, so that a fit is known
	// lensShared times less well than if they did not. Besides, ways are uncertain by
	// wayDoubt and by wayBent of what they differ by, as heavy blur is told less well
	// than light blur, and lags by lagDoubt of the time from one moment to the next.
	// Measured on drawn scenes.
	lensShared = 2.0
	wayDoubt   = 0.06
	wayBent    = 0.25
	lagDoubt   = 0.2
	// lagKnown and wayKnown are the largest standard errors of a fit that say
	// something, in frames and as a share, of a way that is far from 1 also as a share
	// of that. The project's own choice.
	lagKnown = 8.0
	wayKnown = 0.3
	// wayHalf is how far from 1 a way may lie, by its error, that may well be 1: one that
	// may as well be half of it says nothing. The project's own choice.
	wayHalf = 0.5
	// lensApart is how far from 1 a way may look, by how the eyes differ, when they
	// go together: heavy blur is told on another scale there.
	lensApart = 0.5
	// lensFollows is how much of the way the right lens must go to be late.
	lensFollows = 0.6
)

// Travel returns by how many percent the right lens goes farther than the left one.
func (p Lenses) Travel() stat.Measurement {
	if !p.Way.OK() {
		return p.Way
	}
	return stat.Measured(100*(p.Way.Value-1), 100*p.Way.SE)
}

// FindLenses looks for a focus pull and says how the right lens keeps up, or why
// that cannot be told. What focus_left and focus_right show of it is a curve each
// over time; the scene puts the same bends into both. So the right curve is the left
// one moved along time by the lag and scaled by the way, but for a constant: lenses
// that are focused apart all the time are told by their softness.
func FindLenses(r record.Record) (pull Lenses, reason string) {
	var c, held lensCurves
	var se []float64
	for _, m := range r.Moments {
		left, right := m.Values[metrics.FocusLeft], m.Values[metrics.FocusRight]
		if !left.OK() || !right.OK() {
			continue
		}
		c.frame = append(c.frame, float64(m.Frame))
		c.left = append(c.left, left.Value)
		c.right = append(c.right, right.Value)
		if near, far := m.Values[metrics.SoftnessNear], m.Values[metrics.SoftnessFar]; near.OK() && far.OK() {
			held.frame = append(held.frame, float64(m.Frame))
			held.left = append(held.left, left.Value)
			held.right = append(held.right, left.Value+far.Value*math.Abs(far.Value)-near.Value*math.Abs(near.Value))
		}
		se = append(se, math.Max(left.SE, right.SE))
	}
	if len(c.frame) < pullMoments {
		return Lenses{}, "too few moments tell where the lenses are focused"
	}
	own := lensShare * stat.Quantile(slices.Clone(se), 0.5)
	turn := func(v []float64) float64 {
		return stat.Quantile(slices.Clone(v), 0.9) - stat.Quantile(slices.Clone(v), 0.1)
	}
	if max(turn(c.left), turn(c.right)) < max(minTurn, 2*record.Sure*own) {
		return Lenses{}, "the focus does not move"
	}
	if turn(c.left) < max(minTurn, 2*record.Sure*own) {
		// The left lens rests, so that there is no way to share.
		pull.Lag = stat.Missing("the left lens does not move")
		pull.Way = pull.Lag
		return pull, ""
	}

	best := c.along(0, own)
	still := best
	reach := maxLagShare * (c.frame[len(c.frame)-1] - c.frame[0])
	const steps = 100
	for i := -steps; i <= steps; i++ {
		// Of equal fits the shortest lag counts.
		fit := c.along(reach*float64(i)/steps, own)
		if fit.ok && fit.scatter < best.scatter*(1-1e-9) || fit.scatter <= best.scatter*(1+1e-9) && math.Abs(fit.lag) < math.Abs(best.lag) {
			best = fit
		}
	}
	known := func(way, se float64) bool { return se <= wayKnown*max(1, math.Abs(1-way)) }
	switch {
	case !best.ok || !known(best.way, best.waySE) && !known(still.way, still.wayAlone):
		pull.Way = stat.Missing("the lenses move too little to compare their ways")
		pull.Lag = pull.Way
	case best.way < lensFollows && known(still.way, still.wayAlone):
		pull.Way = wayOf(still.way, still.wayAlone)
		pull.Lag = stat.Missing("the right lens does not follow the left one")
	case (best.lagSE > lagKnown || best.waySE > wayKnown) && known(still.way, still.wayAlone):
		// At constant speed a lag looks like lenses that are focused apart.
		pull.Way = wayOf(still.way, still.wayAlone)
		pull.Lag = stat.Missing("the pull has too little of a beginning or an end to tell a lag")
	default:
		pull.Way = wayOf(best.way, best.waySE)
		step := (c.frame[len(c.frame)-1] - c.frame[0]) / float64(len(c.frame)-1)
		pull.Lag = stat.Measured(best.lag, math.Hypot(best.lagSE, lagDoubt*step))
	}
	if w := pull.Way; w.OK() && math.Abs(w.Value-1) <= record.Sure*w.SE && math.Abs(w.Value-1)+record.Sure*w.SE >= wayHalf {
		pull.Way = stat.Missing("the lenses move too little to compare their ways")
		pull.Lag = pull.Way
	}
	// Eyes of which one is softer at all depths show blur on unlike scales. How they
	// differ near and far, place by place, has to say the same.
	if pull.Way.OK() && !held.bearsOut(pull, own) {
		pull.Way = stat.Missing("the sharpness of near and far does not bear out what each lens shows")
		pull.Lag = pull.Way
	}
	return pull, ""
}

// bearsOut reports whether curves that rest on how the eyes differ agree with a way:
// on whether it is 1, and on which side of it.
func (c lensCurves) bearsOut(pull Lenses, own float64) bool {
	if len(c.frame) < pullMoments {
		return false
	}
	also := c.along(pull.Lag.Value, own)
	if math.Abs(pull.Way.Value-1) <= record.Sure*pull.Way.SE {
		return !also.ok || math.Abs(also.way-1) <= max(lensApart, record.Sure*also.wayAlone)
	}
	return also.ok && (also.way-1)*(pull.Way.Value-1) > 0 && math.Abs(also.way-1) >= math.Abs(pull.Way.Value-1)/2
}

// wayOf is a way with all that is uncertain of it.
func wayOf(way, se float64) stat.Measurement {
	return stat.Measured(way, math.Hypot(math.Hypot(se, wayDoubt), wayBent*(1-way)))
}

// lensCurves is where both lenses are focused at some frames.
type lensCurves struct{ frame, left, right []float64 }

// lensFit is a right curve explained by the left one: right(t) = way·left(t − lag) +
// constant.
type lensFit struct {
	ok           bool
	lag, way     float64
	lagSE, waySE float64
	// wayAlone is the standard error of the way where the lag is taken as given.
	wayAlone float64
	// scatter is the mean square of the residuals, across the line.
	scatter float64
}

// along fits way and constant for a lag given, both curves being equally uncertain,
// by own at least. Moments whose partner lies outside the clip are left out.
func (c lensCurves) along(lag, own float64) lensFit {
	first, last := c.frame[0], c.frame[len(c.frame)-1]
	var x, y, speed []float64
	for i, t := range c.frame {
		at := t - lag
		if at < first || at > last {
			continue
		}
		// Half a frame to either side gives the speed, in change per frame.
		before, after := max(at-0.5, first), min(at+0.5, last)
		x = append(x, interpolate(c.frame, c.left, at))
		y = append(y, c.right[i])
		speed = append(speed, (interpolate(c.frame, c.left, after)-interpolate(c.frame, c.left, before))/(after-before))
	}
	f := lensFit{lag: lag, scatter: math.Inf(1)}
	n := float64(len(x))
	if len(x) < pullMoments {
		return f
	}
	var sx, sy, sv float64
	for i := range x {
		sx, sy, sv = sx+x[i]/n, sy+y[i]/n, sv+speed[i]/n
	}
	var xx, xy, yy float64
	for i := range x {
		xx, xy, yy = xx+(x[i]-sx)*(x[i]-sx), xy+(x[i]-sx)*(y[i]-sy), yy+(y[i]-sy)*(y[i]-sy)
	}
	if xx <= 0 {
		return f
	}
	// The line of least squares across (equal errors in both).
	root := math.Hypot(yy-xx, 2*xy)
	if xy != 0 {
		f.way = (yy - xx + root) / (2 * xy)
	}
	f.scatter = max((xx+yy-root)/2, 0) / (n - 3)
	// How well way and lag are known together, a constant being taken out of both.
	var ww, wl, ll float64
	for i := range x {
		dw, dl := x[i]-sx, -f.way*(speed[i]-sv)
		ww, wl, ll = ww+dw*dw, wl+dw*dl, ll+dl*dl
	}
	deviation := lensShared * math.Sqrt(max(f.scatter, own*own)*(1+f.way*f.way))
	f.wayAlone = deviation / math.Sqrt(ww)
	f.waySE, f.lagSE = math.Inf(1), math.Inf(1)
	if det := ww*ll - wl*wl; det > 0 {
		f.waySE, f.lagSE = deviation*math.Sqrt(ll/det), deviation*math.Sqrt(ww/det)
	}
	f.ok = true
	return f
}
