package qc

import (
	"context"
	"fmt"
	"math"

	"nightpair/metrics"
	"nightpair/metrics/depth"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

// Cut is a place within a file where one shot ends and the next begins in both
// eyes.
type Cut struct {
	Frame int `json:"frame"` // the left eye's first of the new shot
	// Before and After are the depth of the frames next to the cut; nil where it
	// was not measured.
	Before *Depths `json:"before,omitempty"`
	After  *Depths `json:"after,omitempty"`
}

// Depths is where the things of one frame are, as parallax in % of the picture
// width: the nearest and the farthest hundredth, and the middle between all.
type Depths struct {
	Near   stat.Measurement `json:"near"`
	Far    stat.Measurement `json:"far"`
	Middle float64          `json:"middle"`
}

// cutsMost is at how many cuts of a file depth is measured, which takes as long as
// two moments each; of more of them these are spread evenly. The project's own
// choice: as many as a clip has moments.
const cutsMost = DefaultSamples

// cuts finds where the file is cut and measures the depth on both sides. It
// returns an error only when ctx ended.
func (f *footage) cuts(ctx context.Context, s *scan) ([]Cut, error) {
	if s == nil {
		return nil, nil
	}
	var cuts []Cut
	for _, frame := range timing.Cuts(s.left, s.right, func(frame int) int { return f.mate(frame) - frame }) {
		cuts = append(cuts, Cut{Frame: frame})
	}
	var some []*Cut
	n := min(len(cuts), cutsMost)
	var frames []int
	for k := range n {
		c := &cuts[k*len(cuts)/n]
		some = append(some, c)
		frames = append(frames, c.Frame-1, c.Frame)
	}
	i := 0
	for now := range f.read(ctx, frames) {
		if now.leftErr == nil && now.rightErr == nil {
			d := depthsOfPair(&metrics.Pair{Left: now.left, Right: now.right})
			if i%2 == 0 {
				some[i/2].Before = d
			} else {
				some[i/2].After = d
			}
		}
		i++
	}
	f.halt()
	return cuts, ctx.Err()
}

// depthsOfPair measures depth; nil where it cannot be told.
func depthsOfPair(p *metrics.Pair) *Depths {
	measured := func(name string) stat.Measurement {
		metric, _ := metrics.Lookup(name)
		return metric.Measure(p)
	}
	spread, _ := p.Spread()
	return newDepths(measured("near_parallax"), measured("far_parallax"), spread)
}

// newDepths returns nil where depth was not measured.
func newDepths(near, far stat.Measurement, spread *depth.Spread) *Depths {
	if !near.OK() || !far.OK() || spread == nil || len(spread.Parallax) != len(depth.SpreadPercentiles) {
		return nil
	}
	d := &Depths{Near: near, Far: far}
	for i, q := range depth.SpreadPercentiles {
		if q == 50 {
			d.Middle = spread.Parallax[i]
		}
	}
	return d
}

// depths returns what was measured of a moment's depth, nil where it was not.
func (m Moment) depths() *Depths {
	return newDepths(m.Values["near_parallax"], m.Values["far_parallax"], m.Parallax)
}

// of returns an end of the depth by the name of its metric.
func (d *Depths) of(metric string) (stat.Measurement, bool) {
	switch {
	case d == nil:
		return stat.Measurement{}, false
	case metric == "near_parallax":
		return d.Near, true
	case metric == "far_parallax":
		return d.Far, true
	}
	return stat.Measurement{}, false
}

// change returns by how much an end of the depth changes from one frame to
// another; false where that is not known.
func change(metric string, from, to *Depths) (stat.Measurement, bool) {
	a, ok := from.of(metric)
	b, also := to.of(metric)
	if !ok || !also {
		return stat.Measurement{}, false
	}
	return stat.Measured(b.Value-a.Value, math.Hypot(a.SE, b.SE)), true
}

// cutJump returns the largest change of an end of the depth across a cut within
// the clip, with its sign, and that cut.
func (r Record) cutJump(metric string) (stat.Measurement, Cut) {
	var worst stat.Measurement
	var at Cut
	found := false
	for _, c := range r.Header.Sync.Cuts {
		m, ok := change(metric, c.Before, c.After)
		if ok && (!found || math.Abs(m.Value) > math.Abs(worst.Value)) {
			worst, at, found = m, c, true
		}
	}
	switch {
	case found:
		return worst, at
	case len(r.Header.Sync.Cuts) > 0:
		return stat.Missing("the depth beside the cuts cannot be told"), Cut{}
	}
	return stat.Missing("the clip is not cut"), Cut{}
}

// cutWords tells of the worst jump across a cut, and how many are as bad.
func (j *judging) cutWords(l Limit, value float64) string {
	_, at := j.record.cutJump(l.Metric)
	beyond, told := 0, 0
	for _, c := range j.record.Header.Sync.Cuts {
		if m, ok := change(l.Metric, c.Before, c.After); ok {
			told++
			if l.excess(m.Value) > sure*m.SE {
				beyond++
			}
		}
	}
	text := fmt.Sprintf("across the cut to frame %d %s jumps by %s%s", at.Frame, words(l.Metric), signedAmount(l, value), j.pixels(l, value))
	if beyond > 1 {
		text += fmt.Sprintf(", and beyond the limit at %d of %d cuts", beyond, told)
	}
	return text
}

// shot returns which of the shots of a cut file a frame of the left eye is in,
// counted from 0.
func (r Record) shot(frame int) int {
	n := 0
	for _, c := range r.Header.Sync.Cuts {
		if c.Frame <= frame {
			n++
		}
	}
	return n
}

// looked reports whether all frames of the left eye from one to another were
// looked at for cuts.
func (r Record) looked(from, to int) bool {
	n := min(r.Header.Left.Frames, r.Header.Right.Frames)
	if r.Header.Sync.Scanned == 0 || r.Header.Left.Variable || r.Header.Right.Variable || n <= 0 {
		return false
	}
	for _, run := range runsOf(n) {
		if from >= run[0] && to < run[1] {
			return true
		}
	}
	return false
}
