package pull

import (
	"math"
	"slices"

	"nightpair/metrics/depth"
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

const (
	// MaxFrames is how many frames are looked at for a pull, spread evenly over it
	// and what surrounds it: as many again as a clip has moments by the usual plan, in
	// the few clips that have a pull. The project's own choice.
	MaxFrames = 24
	// minRunFrames is how many frames have to tell their focus for a lag.
	minRunFrames = MaxFrames / 2
	// pathSE is what telling focus by texture leaves uncertain of a stretch of a pull,
	// in % of the picture width. Measured on drawn scenes.
	pathSE = 0.05
	// runStill is the share of the way of focus or convergence that is taken for
	// rest before and after a pull.
	runStill = 0.1
	// runRest is how many moments before and after a pull are looked at between, and
	// runUnseen how many where the moments that tell their focus end with the pull.
	runRest   = 1
	runUnseen = 3
	// axisSE is what blur at the edges of things leaves uncertain of the share of an
	// axis. Measured on drawn scenes.
	axisSE = 0.02
)

// Unrest says what moves in the frame of a shot that should rest; empty when everything
// may well rest.
func Unrest(f record.PullFrame) string {
	for _, s := range []geometry.Shift{f.Moved.Left, f.Moved.Right} {
		switch {
		case s.Across.Missing == geometry.SceneMoves:
			return geometry.SceneMoves
		case s.Across.OK() && math.Abs(s.Down) > restDown:
			return "the cameras move"
		}
	}
	return ""
}

// Range returns from which to which frame a clip's focus or convergence moves,
// as the moments tell, with moments at rest on either side where there are some.
// It reports false where the focus is not pulled.
func Range(r record.Record) (from, to int, ok bool) {
	c := momentTrajectory(r)
	if len(c.frame) < pullMoments || c.travel() < minPull {
		return 0, 0, false
	}
	n := len(c.frame)
	first, last := n-1, 0 // moments next to the pull
	for _, way := range [][]float64{c.focus, c.converge} {
		reach := stat.Quantile(slices.Clone(way), 0.95) - stat.Quantile(slices.Clone(way), 0.05)
		if reach < minPull {
			continue // it rests
		}
		moves := func(i, from int) bool { return math.Abs(way[i]-way[from]) > runStill*reach }
		for i := range way {
			if moves(i, 0) {
				first = min(first, i-1)
				break
			}
		}
		for i := n - 1; i >= 0; i-- {
			if moves(i, n-1) {
				last = max(last, i+1)
				break
			}
		}
	}
	before, after := runRest, runRest
	if first == 0 {
		before = runUnseen
	}
	if last == n-1 {
		after = runUnseen
	}
	at := func(frame float64) int {
		return slices.IndexFunc(r.Moments, func(m record.Moment) bool { return float64(m.Frame) == frame })
	}
	i, j := max(at(c.frame[first])-before, 0), min(at(c.frame[last])+after, len(r.Moments)-1)
	return r.Moments[i].Frame, r.Moments[j].Frame, r.Moments[i].Frame < r.Moments[j].Frame
}

// runTrajectory is the trajectory over the frames of a pull; false where they are too few
// or do not tell. The focus is in it only where it can be told.
func runTrajectory(run []record.PullFrame) (trajectory, bool) {
	var c trajectory
	var bands [][]depth.FocusBand
	// What the pictures as a whole have moved by tells more exactly than what their
	// parallax shows, which blur takes parts of.
	rests := !slices.ContainsFunc(run, func(f record.PullFrame) bool { return !f.Moved.Left.Across.OK() || !f.Moved.Right.Across.OK() })
	for _, f := range run {
		if len(f.Parallax) != len(run[0].Parallax) || len(f.Parallax) == 0 {
			return trajectory{}, false
		}
		at := common(f.Parallax, run[0].Parallax)
		if rests {
			at = f.Moved.Right.Across.Value - f.Moved.Left.Across.Value
		}
		c.frame = append(c.frame, float64(f.Frame))
		c.converge = append(c.converge, at)
		bands = append(bands, f.Bands)
	}
	if len(c.frame) < pullMoments {
		return trajectory{}, false
	}
	if path, ok := findFocusPath(bands, c.converge); ok && len(c.frame) >= minRunFrames {
		c.se = pathSE
		for t, at := range path.at {
			c.focus = append(c.focus, -at)
			c.parallax = append(c.parallax, c.converge[t]+at)
		}
	}
	return c, true
}

// rightAxis returns how much of the convergence the right eye's axis does, or why
// that cannot be told; steady is false where the cameras do not rest. When the rig
// stands, the picture of a scene at rest moves only when its own camera's axis
// turns: what turns both axes the same way is the rig.
func rightAxis(run []record.PullFrame, c trajectory) (share stat.Measurement, steady bool) {
	var right, left []float64
	for _, f := range run {
		for _, s := range []geometry.Shift{f.Moved.Left, f.Moved.Right} {
			if !s.Across.OK() {
				return s.Across, true
			}
		}
		left, right = append(left, f.Moved.Left.Across.Value), append(right, f.Moved.Right.Across.Value)
	}
	at := func(i int) float64 { return c.converge[i] }
	l, r := fitLine(at, left), fitLine(at, right)
	rest := math.Sqrt(max(l.sum, r.sum) / float64(max(len(run)-2, 1)))
	if rest > restAcross {
		return stat.Missing("the cameras move"), false
	}
	way := stat.Quantile(slices.Clone(c.converge), 0.95) - stat.Quantile(slices.Clone(c.converge), 0.05)
	if way < minFollows*minPull {
		return stat.Missing("the convergence does not move"), true
	}
	own, _ := r.errors(func(i int) float64 { return float64(i) })
	return finite(r.slope, math.Hypot(rest*own, axisSE)), true
}

// Frames returns the frames to look at between two.
func Frames(from, to int) []int {
	n := min(MaxFrames, to-from+1)
	var frames []int
	for i := range n {
		frames = append(frames, from+i*(to-from)/max(n-1, 1))
	}
	return slices.Compact(frames)
}
