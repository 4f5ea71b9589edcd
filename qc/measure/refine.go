package measure

import (
	"context"
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

const (
	// maxAdded is how many moments are added to a clip at most.
	maxAdded = 10
	// resolved is within how many frames a change is known well enough.
	resolved = 2
	// A change from one moment to the next asks for a moment between them where it is more than
	// so many of its standard errors, and more than so many times what such changes scatter.
	sureOfChange, restOfChanges = 5.0, 6.0
)

// steadyMetrics are those that a rig and its cameras keep from moment to moment, whatever the
// scene does, and of which frames are not known one by one.
var steadyMetrics = []string{
	metrics.Keystone, metrics.TiltKeystone, metrics.VerticalWorst,
	metrics.RedBalance, metrics.BlueBalance, metrics.BlackLift,
	metrics.SoftnessNear, metrics.SoftnessFar, metrics.Noise,
	metrics.Rivalry, metrics.Blank, metrics.Clipping, metrics.Combing, metrics.Overlay,
}

// refine measures moments between those that disagree, the widest change first, until each is
// known to lie between two frames or enough were added.
func (f *footage) refine(ctx context.Context, s *session, sync record.Sync) error {
	for range maxAdded {
		frame, ok := s.doubtful(sync)
		if !ok {
			return nil
		}
		s.added = true
		for now := range f.watch(ctx, []int{frame}, sync) {
			if err := s.take(ctx, now); err != nil {
				return err
			}
		}
		f.halt()
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	return nil
}

// doubtful returns the frame halfway between the two neighbouring moments of a shot that
// disagree most; false where none do.
func (s *session) doubtful(sync record.Sync) (frame int, ok bool) {
	moments := s.sorted()
	looked := slices.Clone(s.lost)
	for _, m := range moments {
		looked = append(looked, m.Frame)
	}
	most := 1.0
	for _, name := range steadyMetrics {
		type change struct {
			from, to int
			size, se float64
		}
		var changes []change
		var planned []float64
		last := -1
		for i, m := range moments {
			v := m.Values[name]
			if !v.OK() {
				continue
			}
			if last >= 0 && sync.Shot(moments[last].Frame) == sync.Shot(m.Frame) {
				before := moments[last].Values[name]
				c := change{moments[last].Frame, m.Frame, math.Abs(v.Value - before.Value), math.Hypot(v.SE, before.SE)}
				changes = append(changes, c)
				if !m.Added && !moments[last].Added {
					planned = append(planned, c.size)
				}
			}
			last = i
		}
		if len(planned) < 3 {
			continue
		}
		rest := stat.Scatter(planned, 0)
		for _, c := range changes {
			between := (c.from + c.to) / 2
			if slices.Contains(looked, between) && between+1 < c.to {
				between++ // what was looked at there tells nothing of this
			}
			if c.to-c.from <= resolved || slices.Contains(looked, between) {
				continue
			}
			if score := c.size / max(sureOfChange*c.se, restOfChanges*rest); score > most {
				most, frame, ok = score, between, true
			}
		}
	}
	return frame, ok
}
