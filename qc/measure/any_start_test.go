package measure

import (
	"bytes"
	"context"
	"io"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// seenOnly is a file of signatures, coded as small pictures.
type seenOnly struct {
	source record.Source
	list   []*picture.Signature
}

func (s *seenOnly) Source() record.Source        { return s.source }
func (s *seenOnly) Notes() []record.Note         { return nil }
func (s *seenOnly) Close() error                 { return nil }
func (s *seenOnly) Time(index int) time.Duration { return time.Duration(index) * time.Second / 25 }

func (s *seenOnly) Frame(_ context.Context, index int) (*picture.Frame, error) {
	if index < 0 || index >= len(s.list) {
		return nil, io.EOF
	}
	const w, h = picture.SignatureWidth, picture.SignatureHeight
	p := picture.Plane{Width: w, Height: h, Stride: w, Pix: make([]uint16, w*h)}
	for j := range h {
		for i := range w {
			p.Row(j)[i] = uint16(64*s.list[index].Luma[j][i] + 0.5)
		}
	}
	return &picture.Frame{Layout: picture.Grey, Depth: 14, Index: index, Planes: []picture.Plane{p}}, nil
}

func (s *seenOnly) Luma(ctx context.Context, index int) (*picture.Frame, error) {
	return s.Frame(ctx, index)
}

func (s *seenOnly) Small(ctx context.Context, index int) (*picture.Reduced, error) {
	return reduced(s.Luma(ctx, index))
}

// wandering returns n frames in which patches wander about before a still wall, the same for
// the same seed; right sees them a little shifted, with other noise.
func wandering(seed uint64, from, n int, right bool) *seenOnly {
	walk := rand.New(rand.NewPCG(seed, 1))
	noise := rand.New(rand.NewPCG(seed, uint64(from)+3))
	const patches = 6
	var x, y, vx, vy, light [patches]float64
	for k := range patches {
		x[k], y[k], light[k] = 64*walk.Float64(), 36*walk.Float64(), 60+120*walk.Float64()
	}
	s := &seenOnly{source: record.Source{Path: "x", Width: picture.SignatureWidth, Height: picture.SignatureHeight, RateNum: 25, RateDen: 1, Frames: n, PixelAspect: 1}}
	for t := range from + n {
		for k := range patches {
			vx[k], vy[k] = 0.95*vx[k]+0.1*walk.NormFloat64(), 0.95*vy[k]+0.1*walk.NormFloat64()
			x[k], y[k] = min(max(x[k]+vx[k], 4), 60), min(max(y[k]+vy[k], 4), 32)
		}
		if t < from {
			continue
		}
		sig := &picture.Signature{}
		for j := range sig.Luma {
			for i := range sig.Luma[j] {
				sig.Luma[j][i] = float32(70 + 20*float64((i/5+j/4)%2) + 0.3*noise.NormFloat64())
			}
		}
		for k := range patches {
			u := x[k]
			if right {
				u += 1.5
			}
			for j := max(int(y[k])-5, 0); j < min(int(y[k])+7, picture.SignatureHeight); j++ {
				for i := max(int(u)-5, 0); i < min(int(u)+7, picture.SignatureWidth); i++ {
					if d := max(u-float64(i), float64(i)-u, y[k]-float64(j), float64(j)-y[k]); d < 5 {
						a := float32(min(5-d, 1))
						sig.Luma[j][i] = a*float32(light[k]) + (1-a)*sig.Luma[j][i]
					}
				}
			}
		}
		s.list = append(s.list, sig)
	}
	return s
}

// Whatever the starts, and however long the files, the slip is found in what both show.
func TestSlipAtAnyStart(t *testing.T) {
	for name, c := range map[string]struct {
		left, right [2]int // first instant and length
	}{
		"right begun 12 s later":         {[2]int{0, 700}, [2]int{300, 600}},
		"left begun 12 s later, shorter": {[2]int{300, 250}, [2]int{0, 700}},
		"two seconds in common":          {[2]int{400, 300}, [2]int{150, 300}},
		"long":                           {[2]int{0, 2600}, [2]int{700, 2600}},
	} {
		f := &footage{left: wandering(1, c.left[0], c.left[1], false), right: wandering(1, c.right[0], c.right[1], true)}
		found, s, err := f.sync(t.Context(), time.Time{})
		require.NoError(t, err, name)
		require.True(t, found.Pictures.OK(), "%s: %s", name, found.Pictures.Missing)
		want := c.left[0] - c.right[0]
		require.Equal(t, want, f.setup.Slip, name)
		require.Empty(t, found.Faults, name)
		first, count := f.overlap()
		require.Equal(t, max(0, -want), first, name)
		require.Equal(t, min(c.left[0]+c.left[1], c.right[0]+c.right[1])-max(c.left[0], c.right[0]), count, name)
		require.Equal(t, s.long(), found.Runs != nil, name)
	}
}

// Files of different moments are not compared.
func TestDifferentMomentsAreNotMeasured(t *testing.T) {
	files := map[string]*seenOnly{"l": wandering(1, 0, 300, false), "r": wandering(2, 0, 320, true)}
	var out bytes.Buffer
	open := func(_ context.Context, path string) (Reader, error) { return files[path], nil }
	require.NoError(t, measure(t.Context(), &out, Job{Clip: separate("l", "r")}, open, nil))
	rec, err := record.Read(&out)
	require.NoError(t, err)
	require.Equal(t, "the two files do not show the same moment", rec.Failure())
	require.Empty(t, rec.Moments)
}

// A frame that is missing between the runs of a long clip is told with its number, whether or
// not a run shows that the slip has changed.
func TestFaultsBetweenRuns(t *testing.T) {
	left, right := wandering(1, 0, 2600, false), wandering(1, 0, 2600, true)
	without := func(s *seenOnly, i int) *seenOnly {
		out := &seenOnly{s.source, slices.Concat(s.list[:i], s.list[i+1:])}
		out.source.Frames--
		return out
	}
	const at = 900 // between the second run and the third
	f := &footage{left: left, right: without(right, at)}
	found, s, err := f.sync(t.Context(), time.Time{})
	require.NoError(t, err)
	require.NotNil(t, s.watched, "the runs show a step")
	require.Nil(t, found.Runs)
	require.Len(t, found.Faults, 1, "%+v", found.Faults)
	require.InDelta(t, at, found.Faults[0].Frame, float64(found.Faults[0].Within))
	require.Equal(t, -1, found.Faults[0].Step)
	require.Equal(t, -1, f.mate(1500)-1500, "moments are measured in step")

	// One frame is repeated and made up for: only the frame itself shows it.
	stuck := &seenOnly{right.source, slices.Clone(right.list)}
	stuck.list[at] = stuck.list[at-1]
	f = &footage{left: left, right: stuck}
	found, s, err = f.sync(t.Context(), time.Time{})
	require.NoError(t, err)
	require.NotNil(t, found.Runs)
	require.Empty(t, found.Faults)
	require.NoError(t, f.everyFrame(t.Context(), io.Discard, s, found, nil, time.Time{}))
	w, err := f.watched(t.Context(), s, found)
	require.NoError(t, err)
	found.Take(*w)
	require.Equal(t, 2600, found.Scanned)
	require.Nil(t, found.Runs)
	require.Equal(t, []timing.FrameFault{{Right: true, Kind: timing.Repeated, Frame: at, Count: 1, StepKnown: true}}, found.Faults)
}

// Two recordings of the very same sound begun three seconds apart.
func TestSlipBySoundBegunLater(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	noise := make([]float32, 500000)
	for i := range noise {
		noise[i] = float32(rng.NormFloat64())
	}
	files := shoot(crowd(t), 100, 0)
	f := &footage{left: &listening{files["l"], noise}, right: &listening{files["r"], noise[3*48000:]}}
	m := f.slipBySound(t.Context())
	require.True(t, m.OK(), m.Missing)
	require.InDelta(t, -72, m.Value, 1e-3, "3 s of 24 frames")
}
