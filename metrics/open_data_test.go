package metrics

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	_ "image/jpeg"
	_ "image/png"
	"io"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// Open pictures with known truth, read from Debian's packages.
const (
	motorcycleDir = "/usr/lib/python3/dist-packages/skimage/data/" // python3-skimage
	chessboardDir = "/usr/share/doc/opencv-doc/examples/data/"     // opencv-doc
	needSkimage   = "install the Debian package python3-skimage"
	needOpenCVDoc = "install the Debian package opencv-doc"
)

// readStill reads a PNG or JPEG picture as an RGB or grey frame of 8 bits.
func readStill(t testing.TB, path, need string) *Frame {
	t.Helper()
	file, err := os.Open(path)
	require.NoError(t, err, need)
	defer file.Close()
	img, _, err := image.Decode(file)
	require.NoError(t, err)
	b := img.Bounds()
	f := &Frame{Layout: RGB, Depth: 8}
	channels := 3
	if _, grey := img.(*image.Gray); grey {
		f.Layout, channels = Grey, 1
	}
	for range channels {
		f.Planes = append(f.Planes, Plane{
			Width: b.Dx(), Height: b.Dy(), Stride: b.Dx(), Pix: make([]uint16, b.Dx()*b.Dy()),
		})
	}
	for y := range b.Dy() {
		for x := range b.Dx() {
			c := color.NRGBAModel.Convert(img.At(b.Min.X+x, b.Min.Y+y)).(color.NRGBA)
			for i, v := range []uint8{c.R, c.G, c.B}[:channels] {
				f.Planes[i].Row(y)[x] = uint16(v)
			}
		}
	}
	return f
}

// motorcycle returns the Middlebury 2014 pair in the size that scikit-image
// packs it.
func motorcycle(t testing.TB) (left, right *Frame) {
	t.Helper()
	return readStill(t, motorcycleDir+"motorcycle_left.png", needSkimage),
		readStill(t, motorcycleDir+"motorcycle_right.png", needSkimage)
}

// motorcycleTruth returns the disparity x − x' of each pixel of the left
// picture, row by row; infinite where it is not known.
func motorcycleTruth(t testing.TB) []float32 {
	t.Helper()
	archive, err := zip.OpenReader(motorcycleDir + "motorcycle_disp.npz")
	require.NoError(t, err, needSkimage)
	defer archive.Close()
	file, err := archive.Open("arr_0.npy")
	require.NoError(t, err)
	defer file.Close()
	data, err := io.ReadAll(file)
	require.NoError(t, err)
	header := 10 + int(binary.LittleEndian.Uint16(data[8:]))
	require.Contains(t, string(data[:header]), "'<f4'")
	require.Contains(t, string(data[:header]), "(500, 741)")
	out := make([]float32, 500*741)
	require.NoError(t, binary.Read(bytes.NewReader(data[header:]), binary.LittleEndian, out))
	return out
}

// warped returns the frame scaled by size and turned clockwise by degrees about its
// centre, then moved down, sampled with Keys' cubic kernel, a = −½ (R. G. Keys,
// IEEE Trans. ASSP 29(6), 1981).
func warped(f *Frame, size, degrees, down float64) *Frame {
	out := *f
	out.Planes = nil
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	for _, p := range f.Planes {
		q := Plane{Width: p.Width, Height: p.Height, Stride: p.Width, Pix: make([]uint16, p.Width*p.Height)}
		cx, cy := float64(p.Width-1)/2, float64(p.Height-1)/2
		at := func(x, y int) float64 {
			return float64(p.Row(min(max(y, 0), p.Height-1))[min(max(x, 0), p.Width-1)])
		}
		for y := range p.Height {
			for x := range p.Width {
				dx, dy := (float64(x)-cx)/size, (float64(y)-cy-down)/size
				sx, sy := cx+cos*dx+sin*dy, cy-sin*dx+cos*dy
				x0, y0 := int(math.Floor(sx)), int(math.Floor(sy))
				wx, wy := keys(sx-float64(x0)), keys(sy-float64(y0))
				var sum float64
				for j, v := range wy {
					for i, w := range wx {
						sum += v * w * at(x0+i-1, y0+j-1)
					}
				}
				q.Row(y)[x] = uint16(math.Round(min(max(sum, 0), 255)))
			}
		}
		out.Planes = append(out.Planes, q)
	}
	return &out
}

func keys(t float64) [4]float64 {
	return [4]float64{
		((-0.5*t+1)*t - 0.5) * t,
		(1.5*t-2.5)*t*t + 1,
		((-1.5*t+2)*t + 0.5) * t,
		(0.5*t - 0.5) * t * t,
	}
}

func TestMotorcycleInjectedErrors(t *testing.T) {
	left, right := motorcycle(t)
	lines := float64(left.Height())
	own := &Pair{Left: left, Right: right}
	offset, turn, size := verticalOffset.Measure(own), roll.Measure(own), zoom.Measure(own)
	// The pair's own reading is given for SIFT and MAGSAC as −0.055 px, +0.004°,
	// +0.010 %.
	require.InDelta(t, -0.055, offset.Value/100*lines, 0.1)
	require.InDelta(t, 0.004, turn.Value, 0.02)
	require.InDelta(t, 0.010, size.Value, 0.04)

	for name, test := range map[string]struct{ size, degrees, down float64 }{
		"roll 0.5°":    {1, 0.5, 0},
		"roll 1.1°":    {1, 1.1, 0},
		"zoom 1.2 %":   {1.012, 0, 0},
		"zoom 2.9 %":   {1.029, 0, 0},
		"shift 0.7 %":  {1, 0, 3.5},
		"shift 1.5 %":  {1, 0, 7.5},
		"all together": {0.98, -0.8, -6},
		"roll 5°":      {1, 5, 0},
		"zoom 8 %":     {1.08, 0, 0},
		"zoom −8 %":    {0.92, 0, 0},
		"shift 8 %":    {1, 0, 40},
	} {
		t.Run(name, func(t *testing.T) {
			p := &Pair{Left: left, Right: warped(right, test.size, test.degrees, test.down)}
			o, r, z := verticalOffset.Measure(p), roll.Measure(p), zoom.Measure(p)
			t.Logf("offset %.4f px ± %.4f (own %.4f), roll %.4f° ± %.4f (own %.4f), zoom %.4f %% ± %.4f (own %.4f) %s",
				o.Value/100*lines-test.down, o.SE/100*lines, offset.Value/100*lines,
				r.Value-test.degrees, r.SE, turn.Value, z.Value-100*(test.size-1), z.SE, size.Value, o.Missing)
			require.True(t, o.OK() && r.OK() && z.OK(), o.Missing)
			require.InDelta(t, test.down, o.Value/100*lines, 0.1)
			require.InDelta(t, test.degrees, r.Value, 0.02)
			require.InDelta(t, 100*(test.size-1), z.Value, 0.04)
		})
	}
}
