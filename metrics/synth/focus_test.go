package synth

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// A flat target out of focus is the sharp one blurred by what optics say: with a lens
// opening of 20 mm, a focal length of 1.2 · 480 pixels, the target at 1.5 m and the focus
// at 3 m, a disc of 3.84 pixels, whose deviation is 0.96, of which the layers make 1.
func TestDefocusOfAFlatTarget(t *testing.T) {
	scene, ok := Named("target")
	require.True(t, ok)
	shot := Shot{Scene: scene, Width: 480, Height: 270, Chroma: NoChroma}
	blurred := shot
	blurred.Left.Blur = defocusOf(defocusLevel(0.96))
	shot.Lens = Lens{Focus: 3, Aperture: 0.02}
	require.InDelta(t, 0.96, shot.Lens.blur(1.5, 1.2*480), 1e-9)
	require.InDelta(t, 1, blurred.Left.Blur, 1e-9)
	got, want := shot.Eye(LeftEye, 0).Planes[0], blurred.Eye(LeftEye, 0).Planes[0]
	for i, v := range got.Pix {
		require.InDelta(t, float64(want.Pix[i]), float64(v), 2, "of 1023")
	}

	// In focus it is as sharp as through a pinhole.
	shot.Lens.Focus = 1.5
	sharp := Shot{Scene: scene, Width: 480, Height: 270, Chroma: NoChroma}.Eye(LeftEye, 0).Planes[0]
	require.Equal(t, sharp.Pix, shot.Eye(LeftEye, 0).Planes[0].Pix)
}

// What is in focus stays sharp before what is not: contrast from one pixel to
// the next on the near head of the portrait and on the far wall.
func TestDefocusByDepth(t *testing.T) {
	scene, ok := Named("portrait")
	require.True(t, ok)
	contrast := func(focus float64) (head, wall float64) {
		p := Shot{Scene: scene, Width: 480, Height: 270, Chroma: NoChroma, Lens: Lens{Focus: focus, Aperture: 0.03}}.Eye(LeftEye, 0).Planes[0]
		sum := func(left, top, right, bottom int) (s float64) {
			for y := top; y < bottom; y++ {
				row := p.Row(y)
				for x := left; x < right; x++ {
					s += math.Abs(float64(row[x+1]) - float64(row[x]))
				}
			}
			return s
		}
		return sum(210, 110, 270, 160), sum(20, 20, 140, 100)
	}
	nearHead, nearWall := contrast(1.8)
	farHead, farWall := contrast(6)
	require.Greater(t, nearHead, 1.3*farHead)
	require.Greater(t, farWall, 1.3*nearWall)
}
