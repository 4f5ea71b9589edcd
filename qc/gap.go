package qc

import (
	"math"
	"slices"
	"time"

	"nightpair/metrics"
)

// gaps finds where one eye's file lacks frames by its time stamps while the other eye's
// goes on. After a gap the eyes are in step again, as they are paired by time.
func (f *footage) gaps() []metrics.Hitch {
	left, right, ok := f.uneven()
	if !ok {
		return nil
	}
	later := time.Duration(f.setup.Slip) * meanPace(left)
	list := lacking(left, right, later)
	for _, h := range lacking(right, left, -later) {
		h.Right, h.At = true, h.At-later
		list = append(list, h)
	}
	slices.SortStableFunc(list, func(a, b metrics.Hitch) int { return int(a.At - b.At) })
	return list
}

// lacking finds the gaps in a file's time stamps in which another one, whose stamps
// are so much later, has frames more.
func lacking(of, other Timed, later time.Duration) (list []metrics.Hitch) {
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
		lack := int(math.Round(float64(to-from)/float64(pace))) - 1
		if lack = min(lack, between-1); lack > 0 {
			list = append(list, metrics.Hitch{Kind: metrics.Dropped, Frame: i, Count: lack, Known: true, At: of.Time(i)})
		}
	}
	return list
}
