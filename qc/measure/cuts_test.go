package measure

import (
	"context"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
	"nightpair/qc/record"
)

// reel is an eye's file of two scenes that are cut together at a frame.
type reel struct {
	filmed
	second synth.Shot
	at     int
}

func (r *reel) draw(index, width, height int) (*picture.Frame, error) {
	if index < 0 || index >= r.source.Frames {
		return nil, io.EOF
	}
	shot := r.shot
	if index >= r.at {
		shot = r.second
	}
	shot.Width, shot.Height = width, height
	frame := shot.Eye(r.eye, float64(index)/24)
	frame.Index = index
	return frame, nil
}

func (r *reel) Frame(ctx context.Context, index int) (*picture.Frame, error) {
	return r.draw(index, r.source.Width, r.source.Height)
}

func (r *reel) Luma(ctx context.Context, index int) (*picture.Frame, error) {
	return r.draw(index, 64, 36)
}

func (r *reel) Small(ctx context.Context, index int) (*picture.Reduced, error) {
	return reduced(r.Luma(ctx, index))
}

// A reel of which the first shot is converged behind everything and the second in
// front of it all: the truth of the drawing is found at the cut.
func TestMeasureTheCutsOfAFile(t *testing.T) {
	corridor, _ := synth.Named("corridor")
	crowd, _ := synth.Named("crowd")
	first := synth.Shot{Scene: corridor, Noise: 1, Chroma: synth.NoChroma}
	second := synth.Shot{Scene: crowd, Noise: 1, Chroma: synth.NoChroma}
	second.Rig.Convergence = 3
	open := func(ctx context.Context, path string) (Reader, error) {
		f := &reel{second: second, at: 17}
		f.shot = first
		if path == "r" {
			f.eye = synth.RightEye
		}
		f.source = record.Source{Path: path, Width: 480, Height: 270, PixelAspect: 1, RateNum: 24, RateDen: 1, Frames: 30}
		return f, nil
	}
	f, err := openFootage(t.Context(), separate("l", "r"), open)
	require.NoError(t, err)
	f.setup = record.Setup{Packing: record.Separate}
	seen, err := f.scan(t.Context(), 0, nil)
	require.NoError(t, err)
	cuts, err := f.cuts(t.Context(), seen)
	require.NoError(t, err)
	require.Len(t, cuts, 1)
	require.Equal(t, 17, cuts[0].Frame)
	for _, side := range []struct {
		shot synth.Shot
		at   int
		got  *record.Depths
	}{{first, 16, cuts[0].Before}, {second, 17, cuts[0].After}} {
		require.NotNil(t, side.got)
		side.shot.Width, side.shot.Height = 480, 270
		truth := side.shot.Truth(float64(side.at) / 24)
		require.InDelta(t, truth.Parallax(1), side.got.Near.Value, 0.1)
		require.InDelta(t, truth.Parallax(50), side.got.Middle, 0.1)
		require.InDelta(t, truth.Parallax(99), side.got.Far.Value, 0.1)
	}
}
