package measure

import (
	"math"
	"slices"
	"time"

	"nightpair/metrics/picture"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// align finds how the frames go together from the first to the last, and where frames of one
// eye were dropped, repeated or black: by their numbers where the rate is constant, else by
// their time stamps.
func (f *footage) align(s *scan, found record.Sync) timing.Alignment {
	left, right, variable := f.variable()
	switch {
	case variable:
		later := time.Duration(f.setup.Slip) * meanPace(left)
		list := append(dropped(left, right, later), s.pairedFrameFaults(left, right, later, false)...)
		for _, h := range append(dropped(right, left, -later), s.pairedFrameFaults(right, left, -later, true)...) {
			h.Right, h.At = true, h.At-later
			list = append(list, h)
		}
		slices.SortStableFunc(list, func(a, b timing.FrameFault) int { return int(a.At - b.At) })
		return timing.Alignment{Start: found.Start, Faults: list}
	case s != nil && !s.long():
		return timing.WatchAll(s.left, s.turned(s.turn).right, f.evidence(found)).Alignment
	case s != nil:
		return timing.Align(s.left, s.turned(s.turn).right, f.evidence(found))
	}
	return timing.Alignment{Start: found.Start}
}

// evidence returns what is known of the slip before the ends are looked at. Files are taken
// to begin and to end together more often than not: cameras are started and stopped as one.
func (f *footage) evidence(found record.Sync) timing.Evidence {
	e := timing.Evidence{Slip: found.Start, Certain: found.Pictures.OK()}
	if f.packed() {
		return e
	}
	e.Start = []int{0}
	e.End = []int{f.right.Source().Frames - f.left.Source().Frames}
	if t := found.Timecode; t.OK() {
		e.Start, e.End = append(e.Start, int(t.Value)), append(e.End, int(t.Value))
	}
	return e
}

// pairedFrameFaults finds frames of a file of variable rate, the right eye's or else the left one's, that
// are black or repeated while the other eye's go on, whose stamps are so much later. Both
// eyes are in step again after them, as they are paired by time.
func (s *scan) pairedFrameFaults(of, other Timed, later time.Duration, right bool) (list []timing.FrameFault) {
	if s == nil {
		return nil
	}
	seen, shown := s.left, s.right
	if right {
		seen, shown = shown, seen
	}
	pace := usualPace(of)
	mates := make([]*picture.Signature, len(seen))
	for i := range mates {
		if j := shownAt(other, of.Time(i)+later, pace); j >= 0 && j < len(shown) {
			mates[i] = shown[j]
		}
	}
	for _, h := range timing.PairedFrameFaults(seen, mates, right) {
		// What comes soon after the frame before it has changed little for that.
		if h.Kind == timing.Repeated && of.Time(h.Frame+h.Count-1)-of.Time(h.Frame-1) < time.Duration(h.Count)*pace*2/3 {
			continue
		}
		h.StepKnown, h.At = true, of.Time(h.Frame)
		list = append(list, h)
	}
	return list
}

// near returns a function that reports whether a left frame is so near to a fault that
// a burst there would take it for motion. Gaps that time stamps tell are known to the
// frame, and no frames are steady across them.
func (f *footage) near(sync record.Sync) func(frame int) bool {
	left, _, variable := f.variable()
	if !variable {
		return func(frame int) bool { return nearByNumber(sync, frame) }
	}
	pace := usualPace(left)
	return func(frame int) bool {
		return slices.ContainsFunc(sync.Faults, func(h timing.FrameFault) bool {
			after := left.Time(frame) - h.At
			return h.Kind != timing.Dropped && after >= -5*pace/2 && after <= time.Duration(h.Count)*pace+5*pace/2
		})
	}
}

// nearByNumber is the same where frames go by their numbers.
func nearByNumber(s record.Sync, frame int) bool {
	return slices.ContainsFunc(s.Faults, func(h timing.FrameFault) bool {
		at := h.Frame
		if h.Right {
			at -= s.Start
		}
		return frame >= at-h.Within-2 && frame <= at+h.Within+h.Count+2
	})
}

// dropped finds the gaps in a file's time stamps in which another one, whose stamps
// are so much later, has frames more.
func dropped(of, other Timed, later time.Duration) (list []timing.FrameFault) {
	pace := usualPace(of)
	if pace <= 0 {
		return nil
	}
	n, shown := of.Source().Frames, other.Source().Frames
	// Frames are counted between halves of the other file's usual phase, or else stamps of
	// frames that come together would count on either side.
	var sin, cos float64
	for i, k := 0, 0; i < n && shown > 0; i++ {
		for k < shown-1 && other.Time(k) < of.Time(i)+later {
			k++
		}
		s, c := math.Sincos(2 * math.Pi * float64(other.Time(k)-of.Time(i)-later) / float64(pace))
		sin, cos = sin+s, cos+c
	}
	later += time.Duration((math.Atan2(sin, cos)/(2*math.Pi) + 0.5) * float64(pace))
	next := 0
	for i := 1; i < n; i++ {
		from, to := of.Time(i-1)+later, of.Time(i)+later
		for next < shown && other.Time(next) <= from {
			next++
		}
		between := 0
		for next < shown && other.Time(next) <= to {
			next, between = next+1, between+1
		}
		gone := int(math.Round(float64(to-from)/float64(pace))) - 1
		if gone = min(gone, between-1); gone > 0 {
			list = append(list, timing.FrameFault{Kind: timing.Dropped, Frame: i, Count: gone, StepKnown: true, At: of.Time(i)})
		}
	}
	return list
}
