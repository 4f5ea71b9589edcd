package measure

import (
	"context"
	"slices"

	"nightpair/metrics/coarse"
	"nightpair/metrics/picture"
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
	runs        [][2]int // stretches that were read, from … to−1, of both eyes
	// smallLeft and smallRight are the small pictures of the same frames, as they are in the
	// files, where all frames were read; nil otherwise.
	smallLeft, smallRight []*coarse.Small
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

// scan reads the frames, both eyes at a time. It returns nothing where a file
// cannot be scanned, and an error only when ctx ended.
func (f *footage) scan(ctx context.Context) (*scan, error) {
	left, ok := f.left.(Scanner)
	right, also := f.right.(Scanner)
	if !ok || !also {
		return nil, nil
	}
	n := min(left.Source().Frames, right.Source().Frames)
	if n <= 0 {
		return nil, nil
	}
	s := &scan{runs: record.ScannedRuns(n)}
	// The longer file is read on as far as the offsets that are looked for reach.
	last := &s.runs[len(s.runs)-1]
	ends := [2]int{min(last[1]+slipReach, left.Source().Frames), min(last[1]+slipReach, right.Source().Frames)}
	if f.packed() {
		s.left, s.right = make([]*picture.Signature, n), make([]*picture.Signature, n)
		s.smallLeft, s.smallRight = make([]*coarse.Small, n), make([]*coarse.Small, n)
		for _, run := range s.runs {
			for i := run[0]; i < run[1]; i++ {
				l, r, err := f.smallHalves(ctx, left, i)
				if ctx.Err() != nil {
					return nil, ctx.Err()
				}
				if err == nil {
					s.left[i], s.right[i] = l.Signature().Oriented(f.setup.Left), r.Signature().Oriented(f.setup.Right)
					if len(s.runs) == 1 {
						s.smallLeft[i], s.smallRight[i] = coarse.FromReduced(l), coarse.FromReduced(r)
					}
				}
			}
		}
		return s, nil
	}
	read := func(from Scanner, turned picture.Orientation, end int) ([]*picture.Signature, []*coarse.Small) {
		list, small := make([]*picture.Signature, end), make([]*coarse.Small, end)
		for k, run := range s.runs {
			to := run[1]
			if k == len(s.runs)-1 {
				to = end
			}
			for i := run[0]; i < to && ctx.Err() == nil; i++ {
				if frame, err := from.Small(ctx, i); err == nil {
					list[i] = frame.Signature().Oriented(turned)
					if len(s.runs) == 1 {
						small[i] = coarse.FromReduced(frame)
					}
				}
			}
		}
		return list, small
	}
	f.decoding.Go(func() { s.right, s.smallRight = read(right, f.setup.Right, ends[1]) })
	s.left, s.smallLeft = read(left, f.setup.Left, ends[0])
	f.decoding.Wait()
	if l, r, ok := f.variable(); ok {
		rate := l.Source().Rate()
		s.paced = &scan{left: paced(l, s.left, rate), right: paced(r, s.right, rate)}
		s.paced.runs = [][2]int{{0, len(s.paced.left)}}
	}
	return s, ctx.Err()
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
		if sig != nil {
			t.right[i] = sig.Oriented(o)
		}
	}
	return t
}
