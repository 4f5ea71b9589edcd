package measure

import (
	"context"
	"math"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// What takes motion to be seen is measured on bursts of three frames where the
// picture moves most: the frame with the most vertical motion of each of maxBursts equal parts of
// the clip that the scan has read. The project's own choice: a dozen tell a
// steady rig from a late eye with a standard error of some hundredths of a frame.
const (
	maxBursts = 12
	// burstLively is the smallest motion, in cells of a signature per frame, that is
	// worth decoding for: a fifth of a pixel of 1080 lines.
	burstLively = 0.007
	// burstRounds is how often the slip is put right by what the bursts show.
	burstRounds = 3
)

// bursts returns the middle frames, of the left eye, of the bursts to measure, of those
// that will do.
func (s *scan) bursts(first, count int, do func(frame int) bool) []int {
	lively := timing.DelayVisibility(s.left)
	first, last := first+1, min(first+count, len(lively))-2 // a frame before and after
	n := last - first + 1
	var frames []int
	for part := range maxBursts {
		best := -1
		for i := first + part*n/maxBursts; i < first+(part+1)*n/maxBursts; i++ {
			if s.left[i-1] == nil || s.left[i+1] == nil || !do(i) {
				continue
			}
			if v := (lively[i] + lively[i+1]) / 2; v > burstLively && (best < 0 || v > (lively[best]+lively[best+1])/2) {
				best = i
			}
		}
		if best >= 0 {
			frames = append(frames, best)
		}
	}
	return frames
}

// time measures what takes motion over the whole clip, and puts the slip right
// where the bursts show that it is off by a frame. It returns an error only when
// ctx ended.
func (f *footage) time(ctx context.Context, sync *record.Sync, s *scan, all []metrics.Metric) error {
	sync.Values = map[string]stat.Measurement{}
	if s == nil {
		sync.Clock = stat.Missing(record.NotScanned)
		for _, metric := range all {
			if metric.Over != nil {
				sync.Values[metric.Name] = stat.Missing(record.NotScanned)
			}
		}
		return nil
	}
	for range burstRounds {
		first, count := f.overlap()
		near, steady := f.near(*sync), f.steady()
		bursts, err := f.readBursts(ctx, s.bursts(first, count, func(i int) bool {
			return steady(i) && !near(i) && (f.stepped != nil || sync.SlipAt(i) == f.setup.Slip)
		}))
		if err != nil {
			return err
		}
		for _, metric := range all {
			if metric.Over != nil {
				sync.Values[metric.Name] = metric.Over(bursts)
			}
		}
		sync.Clock = timing.ClockDrift(bursts, f.left.Source().Rate())
		sync.Motion = verticalMotion(bursts, sync.Delay(), sync.Skew())
		f.timing = nil
		timing, _ := timing.FitTiming(bursts)
		if timing != nil && timing.Disturbs() {
			f.timing = timing
		}
		off := sync.Delay()
		if sync.Rough.OK() && off.OK() && !f.packed() {
			late := off.Value
			if f.setup.Order == record.Swapped {
				late = -late
			}
			sync.Pictures = stat.Measured(float64(f.setup.Slip)+late, off.SE)
		}
		frames := int(math.Round(off.Value))
		if !off.OK() || math.Abs(off.Value) < 0.5+2*off.SE || f.packed() {
			return nil
		}
		if f.setup.Order == record.Swapped {
			frames = -frames // the file named left is the right eye
		}
		f.setup.Slip += frames
		sync.Start += frames
	}
	return nil
}

// readBursts reads the bursts around frames of the left eye. Those that cannot be
// read are left out.
func (f *footage) readBursts(ctx context.Context, middles []int) ([]*timing.Burst, error) {
	var frames []int
	for _, i := range middles {
		frames = append(frames, i-1, i, i+1)
	}
	var bursts []*timing.Burst
	var three []*metrics.Pair
	number := 0
	for now := range f.read(ctx, frames) {
		if now.leftErr == nil && now.rightErr == nil {
			three = append(three, &metrics.Pair{Left: now.left, Right: now.right})
		}
		if number++; number%3 == 0 {
			if len(three) == 3 {
				bursts = append(bursts, metrics.NewBurst(three[0], three[1], three[2]))
			}
			three = nil
		}
	}
	f.halt()
	return bursts, ctx.Err()
}
