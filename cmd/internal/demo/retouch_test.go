package demo

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// unlike returns the root mean square difference of two frames' planes, in
// 8-bit code values.
func unlike(t *testing.T, a, b *picture.Frame) float64 {
	worst := 0.0
	for i, p := range a.Planes {
		q := b.Planes[i]
		require.Equal(t, [2]int{p.Width, p.Height}, [2]int{q.Width, q.Height})
		sum := 0.0
		for y := range p.Height {
			for x, v := range p.Row(y) {
				e := float64(v) - float64(q.Row(y)[x])
				sum += e * e
			}
		}
		worst = max(worst, math.Sqrt(sum/float64(p.Width*p.Height))/float64(int(1)<<(a.Depth-8)))
	}
	return worst
}

// What is retouched must look like what would be drawn.
func TestLowerIsAsDrawn(t *testing.T) {
	for _, chroma := range []synth.Chroma{synth.Chroma422, synth.Chroma420} {
		for _, rows := range []float64{0, 4, 2.2, -0.35} {
			shot := synth.Shot{Scene: yard, Width: 480, Height: 270, Depth: 12, Chroma: chroma}
			shot.Rig.Picture.Shift = 100 * rows / 270
			want := shot.Eye(synth.RightEye, 0.5)
			shot.Rig.Picture.Shift = 0
			still := shot.Eye(synth.RightEye, 0.5)
			shot.Height = 270 + 2*margin(270)
			got := lower(shot.Eye(synth.RightEye, 0.5), 270, rows)
			moved, off := unlike(t, want, got), unlike(t, want, still)
			t.Logf("%v rows: %.2f, unmoved %.2f", rows, moved, off)
			// The edges are drawn with grain of their own, and interpolation softens
			// what is as fine as the pixels.
			if rows == math.Trunc(rows) {
				require.Less(t, moved, 0.5)
			} else {
				require.Less(t, moved, 0.35*off)
			}
		}
	}
}

func TestExposeIsAsDrawn(t *testing.T) {
	shot := synth.Shot{Scene: yard, Width: 320, Height: 180, Depth: 12}
	bright := shot.Eye(synth.RightEye, 0.5)
	require.Same(t, bright, expose(bright, 0))
	shot.Right.Exposure = -2
	require.Less(t, unlike(t, shot.Eye(synth.RightEye, 0.5), expose(bright, -2)), 0.1)
}
