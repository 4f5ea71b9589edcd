package qc

import (
	"math"

	"nightpair/metrics"
)

// FocusPull is what a shot in which the focus moves tells of the motors that
// move focus and convergence together (from one dial: common practice).
type FocusPull struct {
	// Travel is how far the focus moves, as parallax in % of the picture width.
	Travel float64
	// Offset is the parallax of what is in focus, in % of the picture width: the
	// median over the pull.
	Offset metrics.Measurement
	// Follows is how much of the way of the focus the convergence goes: 1 when they
	// are linked, 0 when the cameras do not converge at all.
	Follows metrics.Measurement
	// Lag is by how many frames the convergence is late; negative when it runs
	// ahead. Missing where it does not follow.
	Lag metrics.Measurement
}

const (
	// leastPull is how far the focus must move, in % of the picture width, to be
	// called a pull: several times what its parallax is uncertain by.
	leastPull = 0.4
	// pullMoments is how many moments must tell their focus.
	pullMoments = 6
	// longestLag is the lag that is looked for, as a share of the clip; shorter
	// than the pull itself, or nothing would be left to compare.
	longestLag = 0.25
	// followsLeast is how much of the way the convergence must go to be late.
	followsLeast = 0.3
)

// Linked reports whether what is in focus keeps its parallax throughout, as far
// as that can be told: the convergence goes all of the way, and in time.
func (p FocusPull) Linked() bool {
	return p.Lag.OK() && math.Abs(p.Lag.Value) <= sure*p.Lag.SE && math.Abs(p.Follows.Value-1) <= sure*p.Follows.SE
}

// PullFocus looks for a pull of focus in a clip whose scene and cameras rest, and
// says how the convergence follows; or why there is none. What the parallax of
// the whole scene has in common over time is the way of the convergence; less the
// parallax of what is in focus it is the way of the focus: b·f·(1/Zc − 1/Z) has
// the former in its first term and the latter as Z.
func PullFocus(r Record) (pull FocusPull, reason string) {
	if len(r.Header.Sync.Cuts) > 0 {
		return FocusPull{}, "the clip is cut"
	}
	var frame, converge, focus, parallax, se []float64
	var first []float64
	for _, m := range r.Moments {
		v := m.Values["focus_parallax"]
		if !v.OK() || m.Parallax == nil {
			continue
		}
		if first == nil {
			first = m.Parallax.Parallax
		}
		if len(first) != len(m.Parallax.Parallax) {
			continue
		}
		moves := make([]float64, len(first))
		for i, p := range m.Parallax.Parallax {
			moves[i] = p - first[i]
		}
		c := quantile(moves, 0.5)
		frame = append(frame, float64(m.Frame))
		converge = append(converge, c)
		focus = append(focus, c-v.Value)
		parallax = append(parallax, v.Value)
		se = append(se, v.SE)
	}
	n := len(frame)
	if n < pullMoments {
		return FocusPull{}, "too few moments tell what is in focus"
	}
	low, high := quantile(focus, 0.05), quantile(focus, 0.95)
	pull.Travel = high - low
	if pull.Travel < leastPull {
		return FocusPull{}, "the focus does not move"
	}
	own := quantile(se, 0.5)
	centre := quantile(parallax, 0.5)
	scatter := spread(parallax, centre)
	pull.Offset = metrics.Measured(centre, math.Hypot(own, scatter)/math.Sqrt(float64(n)))

	// Convergence at a frame is what focus was so many frames before, but for a
	// factor and a constant.
	best := math.Inf(1)
	var lag, follows, rest float64
	longest := longestLag * (frame[n-1] - frame[0])
	const steps = 100
	for i := -steps; i <= steps; i++ {
		at := longest * float64(i) / steps
		k, sum := fitLine(func(j int) float64 { return interpolate(frame, focus, frame[j]-at) }, converge)
		// Of equal fits the shortest lag counts.
		if sum < best*(1-1e-9) || sum <= best*(1+1e-9) && math.Abs(at) < math.Abs(lag) {
			best, lag, follows, rest = sum, at, k, math.Sqrt(sum/float64(max(n-3, 1)))
		}
	}
	// Where the lens is focused may be misread in one way for a part of the pull.
	rest = max(rest, own)
	pull.Follows = metrics.Measured(follows, rest/(spread(focus, quantile(focus, 0.5))*math.Sqrt(float64(n))))
	if follows < followsLeast {
		pull.Lag = metrics.Missing("the convergence does not follow the focus")
		return pull, ""
	}
	// A frame of lag moves convergence by what the focus moves in it.
	speed := 0.0
	for i := 1; i < n; i++ {
		d := (focus[i] - focus[i-1]) / (frame[i] - frame[i-1])
		speed += d * d / float64(n-1)
	}
	pull.Lag = metrics.Measured(lag, rest/(follows*math.Sqrt(speed*float64(n))))
	return pull, ""
}

// fitLine returns the slope of the line through (x(i), y[i]) and the sum of the
// squares about it.
func fitLine(x func(int) float64, y []float64) (slope, sum float64) {
	n := float64(len(y))
	var sx, sy, xx, xy, yy float64
	for i, v := range y {
		u := x(i)
		sx += u
		sy += v
		xx += u * u
		xy += u * v
		yy += v * v
	}
	xx, xy, yy = xx-sx*sx/n, xy-sx*sy/n, yy-sy*sy/n
	if xx <= 0 {
		return 0, yy
	}
	return xy / xx, max(yy-xy*xy/xx, 0)
}

// interpolate returns the value at x between points in ascending order of x, and
// that of the outermost point beyond them.
func interpolate(xs, ys []float64, x float64) float64 {
	for i, at := range xs {
		if x > at {
			continue
		}
		if i == 0 || at == xs[i-1] {
			return ys[i]
		}
		k := (x - xs[i-1]) / (at - xs[i-1])
		return ys[i-1] + k*(ys[i]-ys[i-1])
	}
	return ys[len(ys)-1]
}
