package measure

import (
	"cmp"
	"context"
	"fmt"
	"sort"
	"sync"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// footage is the opened file or files of one clip.
type footage struct {
	left, right Reader // the same where one file holds both eyes
	setup       record.Setup
	timing      *timing.Timing // where eyes out of time disturb the geometry
	// stepped returns by how much the slip at a left frame departs from the setup's, as
	// dropped and repeated frames change it on the way; nil where they do not.
	stepped func(frame int) int

	stop     context.CancelFunc // ends the reading
	decoding sync.WaitGroup
}

// openFootage opens the files of a clip, both at a time. On an error it
// returns the footage as far as it could be opened, still to be closed.
func openFootage(ctx context.Context, clip record.Clip, open OpenFunc) (*footage, error) {
	if clip.Right == "" {
		reader, err := open(ctx, clip.Left)
		if err != nil {
			return &footage{}, err
		}
		return &footage{left: reader, right: reader}, nil
	}
	type opened struct {
		reader Reader
		err    error
	}
	rights := make(chan opened, 1)
	go func() {
		reader, err := open(ctx, clip.Right)
		rights <- opened{reader, err}
	}()
	left, leftErr := open(ctx, clip.Left)
	right := <-rights
	f := &footage{}
	if leftErr == nil {
		f.left = left
	}
	if right.err == nil {
		f.right = right.reader
	}
	return f, either(leftErr, right.err)
}

// either returns what is wrong with one or both of the eyes, in one line.
func either(left, right error) error {
	if left != nil && right != nil {
		return fmt.Errorf("%w; %w", left, right)
	}
	return cmp.Or(left, right)
}

func (f *footage) packed() bool { return f.left == f.right }

// sources returns what the files say of themselves; what could not be opened
// has nothing but its path.
func (f *footage) sources(clip record.Clip) (left, right record.Source) {
	left, right = record.Source{Path: clip.Left}, record.Source{Path: clip.Right}
	if f.left != nil {
		left = f.left.Source()
	}
	if f.right != nil {
		right = f.right.Source()
	}
	return left, right
}

// notes returns what the decoder complained about; one file's notes are the
// left eye's.
func (f *footage) notes() (left, right []record.Note) {
	if f.left != nil {
		left = f.left.Notes()
	}
	if f.right != nil && !f.packed() {
		right = f.right.Notes()
	}
	return left, right
}

// halt ends a reading and waits until nothing uses the files any more.
func (f *footage) halt() {
	if f.stop != nil {
		f.stop()
	}
	f.decoding.Wait()
}

func (f *footage) close() {
	f.halt()
	if f.left != nil {
		f.left.Close()
	}
	if f.right != nil && !f.packed() {
		f.right.Close()
	}
}

// overlap returns the first frame of the left eye for which there is one of
// the right eye, and how many there are from there on.
func (f *footage) overlap() (first, count int) {
	left, right := f.left.Source().Frames, f.right.Source().Frames
	first = sort.Search(left, func(i int) bool { return f.mate(i) >= 0 })
	return first, sort.Search(left, func(i int) bool { return f.mate(i) >= right }) - first
}

// eye returns the size in pixels of one eye's picture, and the width of a
// pixel over its height.
func (f *footage) eye() (width, height int, aspect float64, err error) {
	left, right := f.left.Source(), f.right.Source()
	width, height, aspect = left.Width, left.Height, left.PixelAspect
	if aspect <= 0 {
		aspect = 1
	}
	arrangement, _ := f.setup.Packing.Arrangement()
	switch {
	case f.packed():
		width, height = width/arrangement.Across, height/arrangement.Down
	case width != right.Width || height != right.Height:
		return 0, 0, 0, fmt.Errorf("the eyes differ in size: left %d×%d, right %d×%d pixels",
			width, height, right.Width, right.Height)
	}
	if width == 0 || height == 0 {
		return 0, 0, 0, fmt.Errorf("a picture of %d×%d pixels is too small to hold both eyes", left.Width, left.Height)
	}
	if f.packed() {
		aspect *= arrangement.Widen(aspect * float64(width) / float64(height))
	}
	return width, height, aspect, nil
}

// instant is one moment of a clip as decoded.
type instant struct {
	frame             int // of the left eye
	mate              int // of the right eye, where it has a file of its own
	left, right       *picture.Frame
	leftErr, rightErr error // why there are none; one file's error is the left eye's
	motion            *metrics.Motion
}

// read decodes the given frames of both eyes, counted by the left one, in
// their order, and gives them upright and in the right order. The eyes are
// decoded at the same time and one frame ahead of whoever listens. It ends
// early when ctx does. A clip is read once.
func (f *footage) read(ctx context.Context, frames []int) <-chan instant {
	ctx, f.stop = context.WithCancel(ctx)
	instants := make(chan instant)
	if f.packed() {
		whole := f.decodeAhead(ctx, f.left, frames)
		f.decoding.Go(func() {
			defer close(instants)
			for _, frame := range frames {
				next, open := <-whole
				if !open {
					return
				}
				now := instant{frame: frame, leftErr: next.err}
				if next.err == nil {
					now.left, now.right = f.split(next.frame)
				}
				if !send(ctx, instants, f.oriented(now)) {
					return
				}
			}
		})
		return instants
	}
	lefts := f.decodeAhead(ctx, f.left, frames)
	rights := f.decodeAhead(ctx, f.right, f.mates(frames))
	f.decoding.Go(func() {
		defer close(instants)
		for _, frame := range frames {
			left, leftOpen := <-lefts
			right, rightOpen := <-rights
			if !leftOpen || !rightOpen {
				return
			}
			now := instant{frame: frame, mate: f.mate(frame), left: left.frame, right: right.frame, leftErr: left.err, rightErr: right.err}
			if !send(ctx, instants, f.oriented(now)) {
				return
			}
		}
	})
	return instants
}

// oriented undoes what the setup says of the pictures.
func (f *footage) oriented(now instant) instant {
	if now.leftErr != nil || now.rightErr != nil {
		now.left, now.right = nil, nil
		return now
	}
	now.left = now.left.Oriented(f.setup.Left)
	now.right = now.right.Oriented(f.setup.Right)
	if f.setup.Order == record.Swapped {
		now.left, now.right = now.right, now.left
	}
	return now
}

// split parts a picture that holds both eyes, after turning it as its container
// asks.
func (f *footage) split(whole *picture.Frame) (left, right *picture.Frame) {
	source := f.left.Source()
	whole = whole.Oriented(source.Orientation)
	arrangement, _ := f.setup.Packing.Arrangement()
	left, right = arrangement.Split(whole)
	if source.Inverted {
		left, right = right, left
	}
	shape := left.Aspect() * float64(left.Width()) / float64(left.Height())
	left.PixelAspect = left.Aspect() * arrangement.Widen(shape)
	right.PixelAspect = left.PixelAspect
	return left, right
}

type decoded struct {
	frame *picture.Frame
	err   error
}

// decodeAhead decodes the given frames in their order and one ahead of whoever
// listens.
func (f *footage) decodeAhead(ctx context.Context, reader Reader, frames []int) <-chan decoded {
	out := make(chan decoded, 1)
	f.decoding.Go(func() {
		defer close(out)
		for _, i := range frames {
			frame, err := reader.Frame(ctx, i)
			if !send(ctx, out, decoded{frame, err}) {
				return
			}
		}
	})
	return out
}

// send reports whether v was taken before ctx ended.
func send[T any](ctx context.Context, to chan<- T, v T) bool {
	select {
	case to <- v:
		return true
	case <-ctx.Done():
		return false
	}
}
