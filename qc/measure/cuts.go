package measure

import (
	"context"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// maxCuts is at how many cuts of a file depth is measured, which takes as long as
// two moments each; of more of them these are spread evenly. The project's own
// choice: as many as a clip has moments.
const maxCuts = DefaultSamples

// cuts finds where the file is cut and measures the depth on both sides; of a clip of which
// frames are still to be looked at, that is done in the end. It returns an error only when ctx
// ended.
func (f *footage) cuts(ctx context.Context, s *scan) ([]record.Cut, error) {
	switch {
	case s == nil:
		return nil, nil
	case s.watched != nil:
		return f.depthsAtCuts(ctx, s.watched.Cuts)
	}
	frames := timing.Cuts(s.left, s.right, func(frame int) int { return f.mate(frame) - frame })
	if f.watchable(s) {
		return cutsAt(frames), nil
	}
	return f.depthsAtCuts(ctx, frames)
}

func cutsAt(frames []int) (cuts []record.Cut) {
	for _, frame := range frames {
		cuts = append(cuts, record.Cut{Frame: frame})
	}
	return cuts
}

// depthsAtCuts returns cuts at some frames, with the depth on both sides.
func (f *footage) depthsAtCuts(ctx context.Context, at []int) ([]record.Cut, error) {
	cuts := cutsAt(at)
	var some []*record.Cut
	n := min(len(cuts), maxCuts)
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
func depthsOfPair(p *metrics.Pair) *record.Depths {
	measured := func(name string) stat.Measurement {
		metric, _ := metrics.Lookup(name)
		return metric.Measure(p)
	}
	spread, _ := p.Spread()
	return record.NewDepths(measured(metrics.NearParallax), measured(metrics.FarParallax), spread)
}
