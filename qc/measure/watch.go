package measure

import (
	"context"

	"nightpair/metrics/picture"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// steps reports whether the slip changes somewhere in a long clip, as its runs show: then every
// frame is looked at before moments are measured, so that these are in step.
func (s *scan) steps(a timing.Alignment, slip int) bool {
	if s == nil || !s.long() {
		return false
	}
	for _, slip := range s.slips {
		if slip != s.slips[0] {
			return true
		}
	}
	for _, h := range a.Faults {
		if h.StepKnown && h.Step != 0 {
			return true
		}
	}
	return timing.Departs(s.left, s.turned(s.turn).right, slip)
}

// watchable reports whether frame faults and cuts of a clip are still to be found between the
// runs that were read. Frames of a variable rate do not go together by number.
func (f *footage) watchable(s *scan) bool {
	_, _, variable := f.variable()
	return s != nil && s.long() && s.watched == nil && !variable
}

// newWatch returns a watch over the frames that both eyes have, from the first left one on,
// which are read with right ones that come slip frames later.
func (f *footage) newWatch(found record.Sync, first, slip int) *timing.Watch {
	if f.packed() {
		slip = 0
	}
	return timing.NewWatch(first, slip, f.evidence(found))
}

// watchFrames looks at every frame of a long clip that both eyes have.
func (f *footage) watchFrames(ctx context.Context, found record.Sync, turn picture.Orientation) (*timing.Watch, error) {
	slip := found.Start
	if f.packed() {
		slip = 0
	}
	first := max(0, -slip)
	w := f.newWatch(found, first, slip)
	pairs, stop := f.readPairs(ctx, first, min(f.left.Source().Frames, f.right.Source().Frames-slip)-first, func(i int) int { return i + slip })
	defer stop()
	for pair := range pairs {
		w.Add(pair.leftSeen.Oriented(f.setup.Left), pair.rightSeen.Oriented(f.setup.Right.Then(turn)))
	}
	w.End()
	return w, ctx.Err()
}

// watched returns what every frame showed that was looked at after the header was written, with
// the depth beside the cuts; nil where the header has it.
func (f *footage) watched(ctx context.Context, s *scan, found record.Sync) (*record.Watched, error) {
	if s == nil || s.watched == nil || found.Runs == nil {
		return nil, nil
	}
	w := s.watched
	cuts, err := f.depthsAtCuts(ctx, w.Cuts)
	return &record.Watched{Scanned: w.Seen, Start: w.Start, Faults: w.Faults, Unclear: w.Unclear, Cuts: cuts}, err
}
