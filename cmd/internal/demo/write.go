package demo

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"math"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"

	"nightpair/decode/encode"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// phases is how many pictures of each eye are drawn for a take. The camera
// moves to and fro between the first and the last of them, so that each serves
// for several frames, with noise of its own in each. The way there and back is
// longer than two seconds: no two seconds of a take are the same.
const phases = 26

// Width is how many pixels wide the day is meant to be, for one eye.
const Width = 960

// Write writes the day into a folder, which it makes, in pictures of that
// width and the shape 16:9. progress is called now and then, from any
// goroutine, with how many pictures are done; nil is fine.
func Write(ctx context.Context, dir string, width int, progress func(done, total int)) error {
	d := &drawing{width: width, height: width * 9 / 16, progress: progress}
	return d.day(ctx, dir)
}

// drawing is the making of a day.
type drawing struct {
	width, height int // of one eye
	total         int
	done          atomic.Int64
	progress      func(done, total int)
}

func (d *drawing) day(ctx context.Context, dir string) error {
	for _, s := range setups {
		d.total += 2 * phases
		for _, c := range s.takes {
			d.total += 2 * c.Frames
			if c.drawn != nil {
				d.total += phases
			}
		}
	}
	for _, s := range setups {
		if err := d.setup(ctx, dir, s); err != nil {
			return fmt.Errorf("demo: %w", err)
		}
	}
	return nil
}

func (d *drawing) step() {
	n := d.done.Add(1)
	if d.progress != nil {
		d.progress(int(n), d.total)
	}
}

// phase gives the picture that frame n shows.
func phase(n int) int {
	const period = 2 * (phases - 1)
	n %= period
	return min(n, period-n)
}

// moment gives the time of a phase in seconds: the motion takes a second, and
// starts and ends gently.
func moment(phase int) float64 {
	return (1 - math.Cos(math.Pi*float64(phase)/(phases-1))) / 2
}

// margin is by how many rows more than the picture's height the right eye is
// drawn above and below, for pictures that are moved.
func margin(height int) int { return 2 * (height/60 + 1) }

func (d *drawing) setup(ctx context.Context, dir string, s setup) error {
	// The takes of a setup differ in the right eye alone, and most of them need
	// no pictures of their own for it.
	left, err := d.draw(ctx, d.shot(s, s.takes[0], 0), synth.LeftEye)
	if err != nil {
		return err
	}
	tall, err := d.draw(ctx, d.shot(s, Take{chroma: s.takes[0].chroma}, margin(d.height)), synth.RightEye)
	if err != nil {
		return err
	}
	for _, c := range s.takes {
		right := tall
		if c.drawn != nil {
			if right, err = d.draw(ctx, d.shot(s, c, margin(d.height)), synth.RightEye); err != nil {
				return err
			}
		}
		if err := d.write(ctx, dir, c, s.noise, left, right); err != nil {
			return err
		}
	}
	return nil
}

// shot is what is filmed of a take before it is retouched and noise is added,
// with so many rows more above and below.
func (d *drawing) shot(s setup, c Take, margin int) synth.Shot {
	shot := synth.Shot{Scene: s.scene, Width: d.width, Height: d.height + 2*margin, Depth: 12, Chroma: c.chroma, Rate: rate}
	if c.drawn != nil {
		c.drawn(&shot)
	}
	return shot
}

// draw draws all phases of one eye, on all processors.
func (d *drawing) draw(ctx context.Context, shot synth.Shot, eye synth.Eye) ([]*picture.Frame, error) {
	out := make([]*picture.Frame, phases)
	for i := range out {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		out[i] = shot.Eye(eye, moment(i))
		d.step()
	}
	return out, nil
}

// write writes the files of a take, one goroutine to each eye.
func (d *drawing) write(ctx context.Context, dir string, c Take, noise float64, left, right []*picture.Frame) error {
	depth := 10
	if c.codec == encode.H264 {
		depth = 8
	}
	// Each frame has noise of its own.
	finish := func(f *picture.Frame, name string, n int) *picture.Frame {
		hash := fnv.New64a()
		fmt.Fprint(hash, name, n)
		d.step()
		return synth.Noisy(f, noise, depth, hash.Sum64())
	}
	l := func(n int) (*picture.Frame, error) { return finish(left[phase(n)], c.Left+" left", n), nil }
	r := func(n int) (*picture.Frame, error) {
		rows := 0.0
		if c.sunk != nil {
			rows = c.sunk(float64(n)/float64(c.Frames-1)) / 100 * float64(d.height)
		}
		f := expose(lower(right[phase(n)], d.height, rows), c.stops)
		return finish(f, c.Left+" right", n), nil
	}
	movie := encode.Movie{Codec: c.codec, RateNum: rate, RateDen: 1, Timecode: c.Timecode, Packed: c.Packed()}
	if c.Packed() {
		return file(ctx, filepath.Join(dir, filepath.FromSlash(c.Left)), movie, c.Frames, func(n int) (*picture.Frame, error) {
			a, err := l(n)
			if err != nil {
				return nil, err
			}
			b, err := r(n)
			if err != nil {
				return nil, err
			}
			return encode.SideBySide(a, b)
		})
	}
	errs := make([]error, 2)
	var group sync.WaitGroup
	for i, name := range []string{c.Left, c.Right} {
		frames := [...]func(int) (*picture.Frame, error){l, r}[i]
		group.Go(func() {
			errs[i] = file(ctx, filepath.Join(dir, filepath.FromSlash(name)), movie, c.Frames, frames)
		})
	}
	group.Wait()
	return errors.Join(errs...)
}

// file writes one movie. It leaves no file behind that is not whole.
func file(ctx context.Context, path string, movie encode.Movie, frames int, frame func(n int) (*picture.Frame, error)) (err error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	w, err := encode.Create(path, movie)
	if err != nil {
		return err
	}
	defer func() {
		if closed := w.Close(); err == nil {
			err = closed
		}
		if err != nil {
			os.Remove(path)
		}
	}()
	for n := range frames {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		f, err := frame(n)
		if err != nil {
			return err
		}
		if err := w.Write(f); err != nil {
			return err
		}
	}
	return nil
}
