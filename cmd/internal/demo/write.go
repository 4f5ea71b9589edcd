package demo

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"

	"nightpair/decode/encode"
	"nightpair/metrics"
	"nightpair/metrics/synth"
)

// phases is how many pictures of each eye are drawn for a take. The camera
// moves to and fro between the first and the last of them, so that each serves
// for several frames, with noise of its own in each. The way there and back is
// longer than two seconds: no two seconds of a take are alike.
const phases = 26

// Write writes the day into a folder, which it makes. progress is called now
// and then, from any goroutine, with how many pictures are done; nil is fine.
func Write(ctx context.Context, dir string, progress func(done, total int)) error {
	d := &drawing{width: 960, height: 540, progress: progress}
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
		d.total += phases
		for _, c := range s.takes {
			d.total += drawn(c) + 2*c.Frames
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

// drawn is how many pictures of the right eye a take needs.
func drawn(c Clip) int {
	if c.moving != nil {
		return c.Frames
	}
	return phases
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

func (d *drawing) setup(ctx context.Context, dir string, s setup) error {
	var left []*metrics.Frame
	for _, c := range s.takes {
		if left == nil {
			// The takes of a setup differ in the right eye alone.
			shot := d.shot(s, c, 0)
			var err error
			left, err = d.draw(ctx, phases, func(i int) *metrics.Frame { return shot.Eye(synth.LeftEye, moment(i)) })
			if err != nil {
				return err
			}
		}
		right, err := d.draw(ctx, drawn(c), func(i int) *metrics.Frame {
			at := i
			if c.moving != nil {
				at = phase(i)
			}
			return d.shot(s, c, i).Eye(synth.RightEye, moment(at))
		})
		if err != nil {
			return err
		}
		if err := d.write(ctx, dir, c, s.noise, left, right); err != nil {
			return err
		}
	}
	return nil
}

// shot is what is filmed at frame n of a take, still without noise.
func (d *drawing) shot(s setup, c Clip, n int) synth.Shot {
	shot := synth.Shot{Scene: s.scene, Width: d.width, Height: d.height, Depth: 12, Chroma: c.chroma, Rate: rate}
	if c.right != nil {
		c.right(&shot)
	}
	if c.moving != nil {
		c.moving(&shot, float64(n)/float64(c.Frames-1))
	}
	return shot
}

// draw calls picture for 0 to n−1, on all processors.
func (d *drawing) draw(ctx context.Context, n int, picture func(i int) *metrics.Frame) ([]*metrics.Frame, error) {
	out := make([]*metrics.Frame, n)
	var next atomic.Int64
	var group sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		group.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= n || ctx.Err() != nil {
					return
				}
				out[i] = picture(i)
				d.step()
			}
		})
	}
	group.Wait()
	return out, ctx.Err()
}

// write writes the files of a take, one goroutine to each eye.
func (d *drawing) write(ctx context.Context, dir string, c Clip, noise float64, left, right []*metrics.Frame) error {
	depth := 10
	if c.codec == encode.H264 {
		depth = 8
	}
	// eye gives frame n of an eye, from its own pictures or from those that serve
	// for several frames.
	eye := func(pictures []*metrics.Frame, name string, ownEach bool) func(n int) (*metrics.Frame, error) {
		hash := fnv.New64a()
		io.WriteString(hash, name)
		seed := hash.Sum64()
		return func(n int) (*metrics.Frame, error) {
			i := n
			if !ownEach {
				i = phase(n)
			}
			d.step()
			return synth.Noisy(pictures[i], noise, depth, seed+uint64(n)), nil
		}
	}
	l, r := eye(left, c.Left, false), eye(right, c.Left+" right", c.moving != nil)
	movie := encode.Movie{Codec: c.codec, RateNum: rate, RateDen: 1, Timecode: c.Timecode, Packed: c.Packed()}
	if c.Packed() {
		return file(ctx, filepath.Join(dir, filepath.FromSlash(c.Left)), movie, c.Frames, func(n int) (*metrics.Frame, error) {
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
		frames := [...]func(int) (*metrics.Frame, error){l, r}[i]
		group.Go(func() {
			errs[i] = file(ctx, filepath.Join(dir, filepath.FromSlash(name)), movie, c.Frames, frames)
		})
	}
	group.Wait()
	return errors.Join(errs...)
}

// file writes one movie. It leaves no file behind that is not whole.
func file(ctx context.Context, path string, movie encode.Movie, frames int, frame func(n int) (*metrics.Frame, error)) (err error) {
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
