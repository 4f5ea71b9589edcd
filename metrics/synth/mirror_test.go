package synth

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// What a plane mirror shows stands as far behind it as the thing stands before it; a pane shows
// its share of that over what is behind it.
func TestPlaneMirror(t *testing.T) {
	ball := func(z float64) Thing {
		return Thing{Shape: Ball, At: Vec{0.3, -0.2, z}, Size: Vec{1, 0, 0}, Paint: Paint{Base: RGB{0.6, 0.3, 0.1}, Second: RGB{0.6, 0.3, 0.1}}}
	}
	lit := func(things ...Thing) World {
		return World{Things: things, Ambient: 1, Sky: Paint{Base: RGB{0.2, 0.2, 0.2}, Second: RGB{0.2, 0.2, 0.2}}}
	}
	draw := func(eye Eye, w World) []float32 {
		s := Shot{Scene: Scene{Interaxial: 0.065, Focal: 1.1, Convergence: 5, World: func(float64) World { return w }}, Width: 160, Height: 90}.withDefaults()
		return s.draw(eye, 0).pix
	}
	glass := func(share float64) Thing {
		return Thing{At: Vec{Z: 3}, Size: Vec{20, 20, 0}, Paint: Paint{Mirror: share}}
	}
	for _, eye := range []Eye{LeftEye, RightEye} {
		want := draw(eye, lit(ball(8)))
		mirror := draw(eye, lit(glass(1), ball(-2)))
		through := lit(ball(-2))
		through.Veils = []Thing{glass(0.25)}
		pane := draw(eye, through)
		differ := 0
		for i, v := range want {
			if max(mirror[i]-v, v-mirror[i]) > 0.01 {
				differ++
			}
			// The sky is behind the pane.
			require.InDelta(t, 0.75*want[0]+0.25*mirror[i], pane[i], 0.11, "edges are drawn in different ways")
		}
		require.Less(t, differ, len(want)/100, "edges are drawn in different ways")
		centre := 3 * (42*160 + 86) // on the ball
		require.InDelta(t, 0.6, mirror[centre], 1e-6)
		require.InDelta(t, 0.75*0.2+0.25*0.6, pane[centre], 1e-6)
	}
}

// A sheen depends on the eye's place: the two eyes see other light in one place.
func TestSheenDiffersBetweenEyes(t *testing.T) {
	s, _ := Named("satin")
	shot := Shot{Scene: s, Width: 160, Height: 90}.withDefaults()
	truth := shot.Truth(0)
	left, right := shot.draw(LeftEye, 0), shot.draw(RightEye, 0)
	var sum, n float64
	for y := 10; y < 80; y++ {
		for x := 10; x < 150; x++ {
			m, ok := truth.At(float64(x), float64(y))
			if ok && m.Seen {
				l, r := left.pix[3*(y*160+x)], right.pix[3*(y*160+int(float64(x)+m.DX+0.5))]
				sum += float64(max(l-r, r-l) / (l + r))
				n++
			}
		}
	}
	require.Greater(t, sum/n, 0.005)
}
