package pull

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// Focus is what a shot in which the focus moves tells of the motors that
// move focus and convergence together (from one dial: common practice).
type Focus struct {
	// Travel is how far the focus moves, as parallax in % of the picture width.
	Travel float64
	// Offset is the parallax of what is in focus, in % of the picture width: the
	// median over the pull.
	Offset stat.Measurement
	// Follows is how much of the way of the focus the convergence goes: 1 when they
	// are linked, 0 when the cameras do not converge at all.
	Follows stat.Measurement
	// Lag is by how many frames the convergence is late; negative when it runs
	// ahead. Missing where it does not follow.
	Lag stat.Measurement
	// Right is how much of the convergence the right eye's axis does: 1 it alone, 0
	// the left eye's alone. Missing where that cannot be told.
	Right stat.Measurement
}

const (
	// minPull is how far the focus must move, in % of the picture width, to be
	// called a pull: several times what its parallax is uncertain by.
	minPull = 0.4
	// pullMoments is how many moments must tell their focus.
	pullMoments = 6
	// maxLagShare is the lag that is looked for, as a share of the stretch that is
	// looked at; shorter than the pull itself, or nothing would be left to compare.
	maxLagShare = 0.25
	// minFollows is how much of the way the convergence must go to be late.
	minFollows = 0.3
	// followsSE is what telling how far the focus goes by texture leaves uncertain.
	// Measured on drawn scenes.
	followsSE = 0.12
	// restAcross and restDown are how far a picture may move, in % of its width
	// beside what its axis turns, and in % of its height, in a shot at rest: half a
	// pixel of 1080 lines. The project's own choice.
	restAcross = 0.03
	restDown   = 0.05
)

// Linked reports whether what is in focus keeps its parallax throughout, as far
// as that can be told: the convergence goes all of the way, and in time.
func (p Focus) Linked() bool {
	return p.Lag.OK() && p.Follows.OK() && math.Abs(p.Lag.Value) <= record.Sure*p.Lag.SE && math.Abs(p.Follows.Value-1) <= record.Sure*p.Follows.SE
}

// trajectory is where focus and convergence are over some frames, in % of the picture
// width: b·f·(1/Zc − 1/Z) has convergence in its first term and focus as Z.
type trajectory struct {
	frame, converge, focus []float64
	parallax               []float64 // of what is in focus: converge − focus but for a constant
	se                     float64   // of the focus
}

// travel is how far the focus moves.
func (c trajectory) travel() float64 {
	if len(c.focus) == 0 {
		return 0
	}
	return stat.Quantile(slices.Clone(c.focus), 0.95) - stat.Quantile(slices.Clone(c.focus), 0.05)
}

// common returns by how much the parallax of the whole scene has moved since
// another moment: the median over its percentiles.
func common(parallax, since []float64) float64 {
	moves := make([]float64, len(parallax))
	for i, p := range parallax {
		moves[i] = p - since[i]
	}
	return stat.Quantile(slices.Clone(moves), 0.5)
}

// momentTrajectory is the trajectory over the moments.
func momentTrajectory(r record.Record) trajectory {
	var c trajectory
	var first, se []float64
	for _, m := range r.Moments {
		v := m.Values[metrics.FocusParallax]
		if !v.OK() || m.Parallax == nil {
			continue
		}
		if first == nil {
			first = m.Parallax.Parallax
		}
		if len(first) != len(m.Parallax.Parallax) || len(first) == 0 {
			continue
		}
		at := common(m.Parallax.Parallax, first)
		c.frame = append(c.frame, float64(m.Frame))
		c.converge = append(c.converge, at)
		c.focus = append(c.focus, at-v.Value)
		c.parallax = append(c.parallax, v.Value)
		se = append(se, v.SE)
	}
	if len(se) > 0 {
		c.se = stat.Quantile(slices.Clone(se), 0.5)
	}
	return c
}

// FindFocus looks for a focus pull in a clip whose scene and cameras rest, and
// says how the convergence follows; or why there is none. Where the pull was looked
// at frame by frame that counts, otherwise the moments.
func FindFocus(r record.Record) (pull Focus, reason string) {
	if len(r.Header.Sync.Cuts) > 0 {
		return Focus{}, "the clip is cut"
	}
	c := momentTrajectory(r)
	if len(c.frame) < pullMoments {
		return Focus{}, "too few moments tell what is in focus"
	}
	if c.travel() < minPull {
		return Focus{}, "the focus does not move"
	}
	for _, f := range r.Trailer.Pull {
		if reason := Unrest(f); reason != "" {
			return Focus{}, reason
		}
	}
	pull.Right = stat.Missing("the pull was not looked at frame by frame")
	if run, ok := runTrajectory(r.Trailer.Pull); ok {
		steady := false
		if pull.Right, steady = rightAxis(r.Trailer.Pull, run); !steady {
			return Focus{}, pull.Right.Missing
		}
		if run.travel() >= minPull {
			c = run
		}
	}
	pull.follow(c)
	return pull, ""
}

// follow fits the focus to the convergence, which is known better, so many frames
// later: focus(t) = a + b·converge(t + lag).
func (pull *Focus) follow(c trajectory) {
	n := len(c.frame)
	pull.Travel = c.travel()
	centre := stat.Quantile(slices.Clone(c.parallax), 0.5)
	pull.Offset = stat.Measured(centre, math.Hypot(c.se, stat.Scatter(c.parallax, centre))/math.Sqrt(float64(n)))
	if way := stat.Quantile(slices.Clone(c.converge), 0.95) - stat.Quantile(slices.Clone(c.converge), 0.05); way < minFollows*pull.Travel {
		pull.Follows = stat.Measured(way/pull.Travel, c.se/pull.Travel)
		pull.Lag = stat.Missing("the convergence does not follow the focus")
		return
	}
	fit := c.lag()
	// Where the lens is focused may be misread in one way for a part of the pull.
	rest := max(math.Sqrt(fit.sum/float64(max(n-3, 1))), c.se)
	seLine, seLag := fit.errors(func(j int) float64 {
		const half = 1
		at := c.frame[j] + fit.lag
		return fit.slope * (interpolate(c.frame, c.converge, at+half) - interpolate(c.frame, c.converge, at-half)) / (2 * half)
	})
	seFollows, seParts := c.jackknife()
	pull.Follows = finite(1/fit.slope, math.Hypot(max(rest*seLine/(fit.slope*fit.slope), seFollows), followsSE))
	pull.Lag = finite(fit.lag, max(rest*seLag, seParts))
}

// finite returns a measurement of what a pull that is too short, or seen too seldom,
// may leave without bounds.
func finite(value, se float64) stat.Measurement {
	if v := value + se; math.IsNaN(v) || math.IsInf(v, 0) {
		return stat.Missing("the pull shows too little of it")
	}
	return stat.Measured(value, se)
}

// lagFit is the line of focus over the convergence that comes so many frames later.
type lagFit struct {
	lineFit
	lag float64
}

// lag finds the lag under which the line fits best.
func (c trajectory) lag() lagFit { return c.lagAgainst(c) }

// lagAgainst finds it against the convergence of another trajectory.
func (c trajectory) lagAgainst(of trajectory) lagFit {
	best := lagFit{lineFit: lineFit{sum: math.Inf(1)}}
	reach := maxLagShare * (of.frame[len(of.frame)-1] - of.frame[0])
	const steps = 200
	for i := -steps; i <= steps; i++ {
		at := reach * float64(i) / steps
		fit := fitLine(func(j int) float64 { return interpolate(of.frame, of.converge, c.frame[j]+at) }, c.focus)
		// Of equal fits the shortest lag counts.
		if fit.sum < best.sum*(1-1e-9) || fit.sum <= best.sum*(1+1e-9) && math.Abs(at) < math.Abs(best.lag) {
			best = lagFit{fit, at}
		}
	}
	return best
}

// pullParts is how many parts of the pull are left out in turn.
const pullParts = 6

// jackknife returns the standard errors of how far the convergence follows and of
// its lag that parts of the pull give when they are left out in turn (B. Efron,
// "The jackknife", 1982; from memory): neighbouring frames share what is misread of
// their focus, so they are no witnesses of their own. What fixes the lag alone, such
// as rest at one end only, shows by this too.
func (c trajectory) jackknife() (follows, lag float64) {
	n := len(c.frame)
	var fs, lags []float64
	for k := range pullParts {
		from, to := k*n/pullParts, (k+1)*n/pullParts
		rest := c
		rest.frame = append(slices.Clone(c.frame[:from]), c.frame[to:]...)
		rest.focus = append(slices.Clone(c.focus[:from]), c.focus[to:]...)
		// The convergence is as well known without them.
		fit := rest.lagAgainst(c)
		fs, lags = append(fs, 1/fit.slope), append(lags, fit.lag)
	}
	return jackknifeSE(fs), jackknifeSE(lags)
}

// jackknifeSE returns the standard error of a value by what it is with each part
// left out.
func jackknifeSE(without []float64) float64 {
	n := float64(len(without))
	var mean, sum float64
	for _, v := range without {
		mean += v / n
	}
	for _, v := range without {
		sum += (v - mean) * (v - mean)
	}
	return math.Sqrt((n - 1) / n * sum)
}

// lineFit is a line through points.
type lineFit struct {
	x          []float64
	slope, sum float64 // sum of the squares about it
}

// fitLine fits the line through (x(i), y[i]).
func fitLine(at func(int) float64, y []float64) lineFit {
	f := lineFit{x: make([]float64, len(y))}
	n := float64(len(y))
	var sx, sy, xx, xy, yy float64
	for i, v := range y {
		u := at(i)
		f.x[i] = u
		sx += u
		sy += v
		xx += u * u
		xy += u * v
		yy += v * v
	}
	xx, xy, yy = xx-sx*sx/n, xy-sx*sy/n, yy-sy*sy/n
	f.sum = yy
	if xx > 0 {
		f.slope, f.sum = xy/xx, max(yy-xy*xy/xx, 0)
	}
	return f
}

// errors returns the standard errors of the slope and of the coefficient of
// another regressor that joins the line and the constant, for errors of one.
func (f lineFit) errors(with func(int) float64) (slope, other float64) {
	n := float64(len(f.x))
	var su, sv, uu, uv, vv float64
	for i, u := range f.x {
		v := with(i)
		su += u
		sv += v
		uu += u * u
		uv += u * v
		vv += v * v
	}
	uu, uv, vv = uu-su*su/n, uv-su*sv/n, vv-sv*sv/n
	det := uu*vv - uv*uv
	if !(det > 0) {
		return math.Inf(1), math.Inf(1)
	}
	return math.Sqrt(vv / det), math.Sqrt(uu / det)
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
