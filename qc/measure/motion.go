package measure

import (
	"context"

	"nightpair/metrics"
	"nightpair/qc/record"
)

// watch decodes frames as read does. Where the eyes are so far out of time that
// motion looks like a fault of the rig, each comes with the frames before and after
// it, which show how things move.
func (f *footage) watch(ctx context.Context, frames []int, sync record.Sync) <-chan instant {
	if f.timing == nil {
		return f.read(ctx, frames)
	}
	first, count := f.overlap()
	near, steady := f.near(sync), f.steady()
	surrounded := func(i int) bool { // the frames before and after it show how things move
		return i > first && i < first+count-1 && !near(i) && steady(i)
	}
	var all []int
	for _, i := range frames {
		if surrounded(i) {
			all = append(all, i-1, i, i+1)
		} else {
			all = append(all, i)
		}
	}
	ctx, cancel := context.WithCancel(ctx)
	read := f.read(ctx, all)
	stop := f.stop
	f.stop = func() { stop(); cancel() }
	watched := make(chan instant)
	f.decoding.Go(func() {
		defer close(watched)
		for _, i := range frames {
			motion := &metrics.Motion{Timing: f.timing}
			var now instant
			if surrounded(i) {
				var three [3]instant
				for k := range three {
					next, open := <-read
					if !open {
						return
					}
					three[k] = next
				}
				now = three[1]
				motion.Before, motion.After = three[0].pair(), three[2].pair()
			} else {
				next, open := <-read
				if !open {
					return
				}
				now = next
			}
			now.motion = motion
			if !send(ctx, watched, now) {
				return
			}
		}
	})
	return watched
}

// pair returns the frames of both eyes, or nil where one could not be read.
func (i instant) pair() *metrics.Pair {
	if i.leftErr != nil || i.rightErr != nil {
		return nil
	}
	return &metrics.Pair{Left: i.left, Right: i.right}
}
