package measure

import (
	"context"
	"slices"

	"nightpair/metrics/coarse"
	"nightpair/metrics/picture"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// Scanner is a Reader that also shows frames cheaply, for looking at all of a
// clip. A Reader that is none is not scanned.
type Scanner interface {
	Reader
	// Luma returns a frame that need hold no more than its luma.
	Luma(ctx context.Context, index int) (*picture.Frame, error)
	// Small returns a frame reduced as picture.Reduce does.
	Small(ctx context.Context, index int) (*picture.Reduced, error)
}

// scan holds the signatures of the frames of both files that were read, by their
// numbers in the files, nil for the others.
type scan struct {
	left, right []*picture.Signature
	around      int                 // the slip about which both eyes were read
	runs        [][2]int            // stretches of the left eye that were read, from … to−1
	slips       []int               // what the pieces showed that show a slip
	turn        picture.Orientation // of the right eye, under which they did
	// smallLeft and smallRight are the small pictures of the same frames, as they are in the
	// files, where all frames were read; nil otherwise.
	smallLeft, smallRight []*coarse.Small
	// watched is what every frame of a long clip showed; nil where they were not all read yet.
	watched *timing.Watch
	// paced is the same on an even pace, in place of the frames' numbers, where a file
	// has a variable frame rate.
	paced *scan
}

// even returns the scan on an even pace.
func (s *scan) even() *scan {
	if s.paced != nil {
		return s.paced
	}
	return s
}

// scan reads the frames that both eyes have at a slip, both eyes at a time, and as many more
// at the ends as a slip may lie beside it; what was read before is kept. It returns nothing
// where a file cannot be scanned or no frame is in common, and an error only when ctx ended.
func (f *footage) scan(ctx context.Context, around int, before *scan) (*scan, error) {
	left, ok := f.left.(Scanner)
	right, also := f.right.(Scanner)
	if !ok || !also {
		return nil, nil
	}
	nl, nr := left.Source().Frames, right.Source().Frames
	first, last := max(0, -around), min(nl, nr-around)
	if last <= first {
		return nil, nil
	}
	s := &scan{around: around, runs: record.ScannedRuns(last - first)}
	for i := range s.runs {
		s.runs[i][0] += first
		s.runs[i][1] += first
	}
	keep := len(s.runs) == 1 // small pictures, of clips that are not long
	if before != nil {
		s.left, s.right, s.smallLeft, s.smallRight = before.left, before.right, before.smallLeft, before.smallRight
		s.turn = before.turn
	} else {
		s.left, s.right = make([]*picture.Signature, nl), make([]*picture.Signature, nr)
		s.smallLeft, s.smallRight = make([]*coarse.Small, nl), make([]*coarse.Small, nr)
	}
	if f.packed() {
		for _, run := range s.runs {
			for i := run[0]; i < run[1]; i++ {
				l, r, err := f.smallHalves(ctx, left, i)
				if ctx.Err() != nil {
					return nil, ctx.Err()
				}
				if err == nil {
					s.left[i], s.right[i] = l.Signature().Oriented(f.setup.Left), r.Signature().Oriented(f.setup.Right)
					if keep {
						s.smallLeft[i], s.smallRight[i] = coarse.FromReduced(l), coarse.FromReduced(r)
					}
				}
			}
		}
		return s, nil
	}
	read := func(from Scanner, turned picture.Orientation, list []*picture.Signature, small []*coarse.Small, later int) {
		for k, run := range s.runs {
			begin, end := run[0]+later, run[1]+later
			if k == 0 {
				begin = max(begin-slipReach, 0)
			}
			if k == len(s.runs)-1 {
				end = min(end+slipReach, len(list))
			}
			for i := begin; i < end && ctx.Err() == nil; i++ {
				if list[i] != nil && (!keep || small[i] != nil) {
					continue
				}
				if frame, err := from.Small(ctx, i); err == nil {
					list[i] = frame.Signature().Oriented(turned)
					if keep {
						small[i] = coarse.FromReduced(frame)
					}
				}
			}
		}
	}
	f.decoding.Go(func() { read(right, f.setup.Right, s.right, s.smallRight, around) })
	read(left, f.setup.Left, s.left, s.smallLeft, 0)
	f.decoding.Wait()
	s.pace(f)
	return s, ctx.Err()
}

// pace puts the scan on an even pace where a file has a variable frame rate.
func (s *scan) pace(f *footage) {
	l, r, ok := f.variable()
	if !ok {
		return
	}
	rate := l.Source().Rate()
	s.paced = &scan{left: paced(l, s.left, rate), right: paced(r, s.right, rate)}
	s.paced.runs = [][2]int{{0, len(s.paced.left)}}
}

// smallHalves returns the reduced pictures of both eyes of a frame that holds them both. They
// are made of the frame itself: boxes of the whole would be twice as coarse for an eye.
func (f *footage) smallHalves(ctx context.Context, from Scanner, i int) (left, right *picture.Reduced, err error) {
	whole, err := from.Luma(ctx, i)
	if err != nil {
		return nil, nil, err
	}
	l, r := f.split(whole)
	return picture.Reduce(l), picture.Reduce(r), nil
}

// long reports whether frames between the runs were not read.
func (s *scan) long() bool { return len(s.runs) > 1 }

// stretches returns the runs of a long clip.
func (s *scan) stretches() (list []timing.Stretch) {
	if !s.long() {
		return nil
	}
	for _, run := range s.runs {
		list = append(list, timing.Stretch{From: run[0], To: run[1]})
	}
	return list
}

// pieces parts the runs into stretches of about a length.
func (s *scan) pieces(length int) [][2]int {
	var list [][2]int
	for _, run := range s.runs {
		n := max((run[1]-run[0])/length, 1)
		for i := range n {
			list = append(list, [2]int{run[0] + i*(run[1]-run[0])/n, run[0] + (i+1)*(run[1]-run[0])/n})
		}
	}
	return list
}

// read returns how many frames of the left eye were read.
func (s *scan) read() (n int) {
	for _, sig := range s.left {
		if sig != nil {
			n++
		}
	}
	return n
}

// turned returns the scan with the right eye turned.
func (s *scan) turned(o picture.Orientation) *scan {
	t := &scan{left: s.left, right: slices.Clone(s.right), runs: s.runs}
	for i, sig := range t.right {
		t.right[i] = sig.Oriented(o)
	}
	return t
}
