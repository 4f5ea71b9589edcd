package metrics_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// boundTile is the side, in pixels of 1920×1080, of the tiles that bounds are summed over.
const boundTile = 32

// bounds returns, by the names of the recipe's coefficients, the smallest standard errors
// that the noise and the compression of a take allow anybody, who knows all parallaxes and
// has no systematic errors: the Cramér–Rao bound for the vertical delay of an unknown
// signal that two observers see in noise of their own, as for the delay of sound between
// two hydrophones (C. H. Knapp, G. C. Carter, "The generalized correlation method for
// estimation of time delay", IEEE Trans. ASSP 24(4), 1976; from memory). Each tile of the
// picture is taken apart by a cosine transform; a part of power S in noise of power N gives
// the information ω²·S²/(2SN+N²) on the delay, ω being its frequency in radians per pixel
// down. Tiles across a step of depth are left out: what the two eyes see along it differs
// by more than noise.
func (k take) bounds(t testing.TB, left *picture.Frame) map[string]float64 {
	t.Helper()
	shot, seconds := k.shot()
	shot.Noise, shot.Depth = 0, 16
	clean, noisy := shot.Eye(synth.LeftEye, seconds).Planes[0], left.Planes[0]
	shot.Rig.Picture = synth.PictureError{} // out of line, depth is not the parallax alone
	truth := shot.Truth(seconds)
	const n = boundTile
	basis := mat.NewDense(n, n, nil) // of the cosine transform
	for f := range n {
		for i := range n {
			v := math.Sqrt(2.0/n) * math.Cos(math.Pi*float64(f)*(float64(i)+0.5)/n)
			if f == 0 {
				v = math.Sqrt(1.0 / n)
			}
			basis.Set(f, i, v)
		}
	}
	h := float64(clean.Height)
	names := []string{"offset", "roll", "zoom", "keystone", "tilt", "height", "forward", "barrel", "unlike"}
	information := mat.NewSymDense(len(names), nil)
	for i, p := range metrics.PriorSE {
		information.SetSym(i, i, 1/(p*p))
	}
	tile, half, parts := mat.NewDense(n, n, nil), mat.NewDense(n, n, nil), mat.NewDense(n, n, nil)
	for y0 := 0; y0+n <= clean.Height; y0 += n {
		for x0 := 0; x0+n <= clean.Width; x0 += n {
			parallax, ok := stepless(truth, float64(x0), float64(y0))
			if !ok {
				continue
			}
			var noise float64
			for j := range n {
				for i := range n {
					v := float64(clean.Row(y0 + j)[x0+i]) / 256
					tile.Set(j, i, v)
					noise += math.Pow(float64(noisy.Row(y0 + j)[x0+i])-v, 2)
				}
			}
			noise /= n * n
			half.Mul(basis, tile)
			parts.Mul(half, basis.T())
			var weight float64
			for f := 1; f < n; f++ { // down
				w := math.Pi * float64(f) / n * h // radians per picture height
				for g := range n {
					s := parts.At(f, g) * parts.At(f, g)
					weight += w * w * s * s / (2*s*noise + noise*noise)
				}
			}
			x, y, d := (float64(x0)+n/2-float64(clean.Width)/2)/h, (float64(y0)+n/2-h/2)/h, parallax/h
			row := mat.NewVecDense(len(names), []float64{1, x + d, y, (x + d) * y, y * y, d, y * d, y * d * (2*x + d), y * (x*x + y*y)})
			information.SymRankOne(information, weight, row)
		}
	}
	var inverse mat.SymDense
	var c mat.Cholesky
	require.True(t, c.Factorize(information))
	require.NoError(t, c.InverseTo(&inverse))
	bounds := map[string]float64{}
	for i, name := range names {
		bounds[name] = math.Sqrt(inverse.At(i, i))
	}
	return bounds
}

// stepless returns the parallax, in pixels, in the middle of a tile; not ok where it does
// not change evenly over the tile, or one eye alone sees it.
func stepless(truth *synth.Truth, x, y float64) (parallax float64, ok bool) {
	const even = 0.5 // pixels
	const n = boundTile
	var corners float64
	for _, at := range [][2]float64{{0, 0}, {n, 0}, {0, n}, {n, n}, {n / 2, n / 2}} {
		m, seen := truth.At(x+at[0]-0.5, y+at[1]-0.5)
		if !seen || !m.Seen {
			return 0, false
		}
		if at[0] == n/2 {
			return m.DX, math.Abs(corners/4-m.DX) < even
		}
		corners += m.DX
	}
	return 0, false
}
