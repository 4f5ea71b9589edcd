package measure

import (
	"context"
	"io"
	"slices"
	"time"

	"nightpair/metrics/coarse"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// knownAt is what a measured moment tells of the geometry of the frames around it.
type knownAt struct {
	frame int
	prior coarse.Prior
}

// everyFrameLine is how many frames go into one line of the record: at a few hundred a second
// at least, the parent hears of the measuring every few seconds.
const everyFrameLine = 480

// everyFrame compares small pictures of every frame that both eyes have, and writes what they
// tell as lines of the record. The small pictures are those of the scan where it read all
// frames; otherwise the frames are read once more, a few ahead of the comparison, so that
// memory does not grow with the clip, and frame faults and cuts are found in them. Nothing is
// written where a file cannot be scanned or no moment tells the geometry; what comes after the
// end of the night is left out. It returns an error when ctx ended or w would not take it.
func (f *footage) everyFrame(ctx context.Context, w io.Writer, s *scan, sync record.Sync, known []knownAt, until time.Time) error {
	if len(known) == 0 {
		if !f.watchable(s) {
			return nil
		}
		var err error
		s.watched, err = f.watchFrames(ctx, sync, picture.Upright)
		return err
	}
	if s == nil {
		return nil
	}
	slices.SortFunc(known, func(a, b knownAt) int { return a.frame - b.frame })
	first, count := f.overlap()
	pairs, stop := f.smallPairs(ctx, s, first, count)
	defer stop()
	var watch *timing.Watch
	if f.watchable(s) && f.stepped == nil {
		watch = f.newWatch(sync, first, f.setup.Slip)
	}
	some := coarse.Series{First: first}
	for frame := first; frame < first+count; frame++ {
		if some.Len() == everyFrameLine {
			if err := record.WriteLine(w, record.EveryFrame{Every: some}); err != nil {
				return err
			}
			some = coarse.Series{First: frame}
			if !until.IsZero() && time.Now().After(until) {
				return nil
			}
		}
		pair, more := <-pairs
		if !more {
			return ctx.Err()
		}
		if watch != nil {
			watch.Add(pair.leftSeen.Oriented(f.setup.Left), pair.rightSeen.Oriented(f.setup.Right))
		}
		left, right := pair.left, pair.right
		if left == nil || right == nil {
			some.Add(coarse.Reading{})
			continue
		}
		left, right = left.Oriented(f.setup.Left), right.Oriented(f.setup.Right)
		if f.setup.Order == record.Swapped {
			left, right = right, left
		}
		some.Add(coarse.Compare(left, right, nearestOf(known, sync, frame)))
	}
	if watch != nil {
		watch.End()
		s.watched = watch
	}
	if some.Len() == 0 {
		return nil
	}
	return record.WriteLine(w, record.EveryFrame{Every: some})
}

// nearestOf returns what the nearest moment tells, of the frame's own shot where one of it was
// measured.
func nearestOf(known []knownAt, sync record.Sync, frame int) coarse.Prior {
	best, own := known[0], false
	for _, k := range known {
		same := sync.Shot(k.frame) == sync.Shot(frame)
		if same && !own || same == own && stat.Abs(k.frame-frame) < stat.Abs(best.frame-frame) {
			best, own = k, same
		}
	}
	return best.prior
}

// smallAhead is how many pairs of small pictures are read ahead.
const smallAhead = 8

// smallPair is what is read of a frame of both eyes, as it is in the files; nil where a file
// would not give it. Signatures are left out where the scan has them.
type smallPair struct {
	left, right         *coarse.Small
	leftSeen, rightSeen *picture.Signature
}

// smallPairs gives the small pictures of the frames that both eyes have. The channel is closed
// after the last, or when ctx ends; stop ends it and waits until nothing uses the files any
// more.
func (f *footage) smallPairs(ctx context.Context, s *scan, first, count int) (pairs <-chan smallPair, stop func()) {
	if s.long() {
		return f.readPairs(ctx, first, count, f.mate)
	}
	at := func(list []*coarse.Small, i int) *coarse.Small {
		if i < 0 || i >= len(list) {
			return nil
		}
		return list[i]
	}
	ctx, cancel := context.WithCancel(ctx)
	out := make(chan smallPair, smallAhead)
	f.decoding.Go(func() {
		defer close(out)
		for i := first; i < first+count; i++ {
			mate := f.mate(i)
			if f.packed() {
				mate = i
			}
			if !send(ctx, out, smallPair{left: at(s.smallLeft, i), right: at(s.smallRight, mate)}) {
				return
			}
		}
	})
	return out, f.stopping(cancel)
}

// stopping returns a function that ends a reading and waits until nothing uses the files any
// more.
func (f *footage) stopping(cancel func()) func() {
	return func() {
		cancel()
		f.decoding.Wait()
	}
}

// readPairs reads left frames and the right ones that go with them; of one file the halves.
func (f *footage) readPairs(ctx context.Context, first, count int, mate func(int) int) (pairs <-chan smallPair, stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	out := make(chan smallPair, smallAhead)
	left, right := f.left.(Scanner), f.right.(Scanner)
	if f.packed() {
		f.decoding.Go(func() {
			defer close(out)
			for i := first; i < first+count; i++ {
				var pair smallPair
				if l, r, err := f.smallHalves(ctx, left, i); err == nil {
					pair = smallPair{coarse.FromReduced(l), coarse.FromReduced(r), l.Signature(), r.Signature()}
				}
				if !send(ctx, out, pair) {
					return
				}
			}
		})
		return out, f.stopping(cancel)
	}
	type one struct {
		small *coarse.Small
		seen  *picture.Signature
	}
	read := func(from Scanner, mate func(int) int) <-chan one {
		list := make(chan one, smallAhead)
		f.decoding.Go(func() {
			defer close(list)
			for i := first; i < first+count; i++ {
				var o one
				if frame, err := from.Small(ctx, mate(i)); err == nil {
					o = one{coarse.FromReduced(frame), frame.Signature()}
				}
				if !send(ctx, list, o) {
					return
				}
			}
		})
		return list
	}
	lefts, rights := read(left, func(i int) int { return i }), read(right, mate)
	f.decoding.Go(func() {
		defer close(out)
		for range count {
			l, ok := <-lefts
			r, also := <-rights
			if !ok || !also || !send(ctx, out, smallPair{l.small, r.small, l.seen, r.seen}) {
				return
			}
		}
	})
	return out, f.stopping(cancel)
}
