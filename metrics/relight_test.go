package metrics_test

import (
	"fmt"
	"image"
	"image/color"
	_ "image/png"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
)

// exposedFilm is a picture in linear light, 1 being white, red, green and blue to a
// pixel: what tests develop into frames, with faults put in.
type exposedFilm struct {
	width, height int
	pix           []float32
}

// developing says what a camera makes of light, and how its frame is coded.
type developing struct {
	exposure, red, blue float64 // stops
	lift                float64 // % of full scale, added to the signal
	veil                float64 // % of white, added to the light
	// matrix mixes the channels of the light; the zero value leaves them.
	matrix [3][3]float64
	// noise is as in synth.Shot.
	noise float64
	seed  uint64
	blur  float64 // sigma of a Gaussian before all else, pixels of this picture

	layout  picture.Layout   // YCbCr is 4:2:0 in narrow range
	curve   picture.Transfer // unspecified is BT.1886
	bits    int              // 0 means 10
	missed  bool             // narrow range, tagged as full
	chroma4 bool             // YCbCr without thinning
}

var films sync.Map

// filmed draws a scene once for all tests and returns the light of both eyes.
func filmed(t testing.TB, name string) (left, right *exposedFilm) {
	t.Helper()
	return filmedAt(t, name, 960)
}

// filmedAt does so at a width of the picture.
func filmedAt(t testing.TB, name string, width int) (left, right *exposedFilm) {
	t.Helper()
	type key struct {
		name  string
		width int
	}
	once, _ := films.LoadOrStore(key{name, width}, sync.OnceValues(func() (*exposedFilm, *exposedFilm) {
		shot := synth.Shot{Scene: scene(t, name), Width: width, Height: width * 9 / 16, Depth: 16, Chroma: synth.Chroma444}
		return lightOf(shot.Eye(synth.LeftEye, 0.5)), lightOf(shot.Eye(synth.RightEye, 0.5))
	}))
	return once.(func() (*exposedFilm, *exposedFilm))()
}

// lightOf undoes the coding of a drawn frame of 16 bits, 4:4:4 (Rec. ITU-R BT.709-6,
// BT.1886).
func lightOf(f *picture.Frame) *exposedFilm {
	out := &exposedFilm{f.Width(), f.Height(), make([]float32, 3*f.Width()*f.Height())}
	for i := range f.Planes[0].Pix {
		y := (float64(f.Planes[0].Pix[i]) - 16*256) / (219 * 256)
		cb := (float64(f.Planes[1].Pix[i]) - 128*256) / (224 * 256)
		cr := (float64(f.Planes[2].Pix[i]) - 128*256) / (224 * 256)
		r, b := y+1.5748*cr, y+1.8556*cb
		for c, v := range [3]float64{r, (y - 0.2126*r - 0.0722*b) / 0.7152, b} {
			out.pix[3*i+c] = float32(math.Pow(max(v, 0), 2.4))
		}
	}
	return out
}

// motorcycleFilm reads the open pair of python3-skimage as light (IEC 61966-2-1).
func motorcycleFilm(t testing.TB) (left, right *exposedFilm) {
	t.Helper()
	read := func(name string) *exposedFilm {
		file, err := os.Open("/usr/lib/python3/dist-packages/skimage/data/" + name)
		require.NoError(t, err, "install the Debian package python3-skimage")
		defer file.Close()
		img, _, err := image.Decode(file)
		require.NoError(t, err)
		b := img.Bounds()
		out := &exposedFilm{b.Dx(), b.Dy(), nil}
		for y := range b.Dy() {
			for x := range b.Dx() {
				c := color.NRGBAModel.Convert(img.At(x, y)).(color.NRGBA)
				for _, v := range []uint8{c.R, c.G, c.B} {
					s := float64(v) / 255
					if s <= 0.04045 {
						s /= 12.92
					} else {
						s = math.Pow((s+0.055)/1.055, 2.4)
					}
					out.pix = append(out.pix, float32(s))
				}
			}
		}
		return out
	}
	return read("motorcycle_left.png"), read("motorcycle_right.png")
}

// bright returns the light that a share of the picture exceeds in its brightest
// channel.
func (f *exposedFilm) bright(share float64) float64 {
	tops := make([]float32, 0, len(f.pix)/3)
	for i := 0; i < len(f.pix); i += 3 {
		tops = append(tops, max(f.pix[i], f.pix[i+1], f.pix[i+2]))
	}
	slices.Sort(tops)
	return float64(tops[int((1-share)*float64(len(tops)-1))])
}

// within changes the light of the pixels inside a rectangle, given in shares of
// the picture.
func (f *exposedFilm) within(x0, y0, x1, y1 float64, change func(x, y int, light []float32)) *exposedFilm {
	out := &exposedFilm{f.width, f.height, slices.Clone(f.pix)}
	for y := int(y0 * float64(f.height)); y < int(y1*float64(f.height)); y++ {
		for x := int(x0 * float64(f.width)); x < int(x1*float64(f.width)); x++ {
			change(x, y, out.pix[3*(y*f.width+x):][:3])
		}
	}
	return out
}

// develop makes a frame of the light.
func (f *exposedFilm) develop(d developing) *picture.Frame {
	if d.bits == 0 {
		d.bits = 10
	}
	f = f.blurred(d.blur)
	gain := [3]float64{math.Exp2(d.exposure + d.red), math.Exp2(d.exposure), math.Exp2(d.exposure + d.blue)}
	// As synth has it: shot and read noise, 3 to 1 in variance at 18 % grey.
	slope := math.Pow(0.18, 1/2.4-1) / 2.4
	sigma := d.noise / 219 / slope
	shot, read := 0.75*sigma*sigma/0.18, 0.25*sigma*sigma
	random := rand.New(rand.NewPCG(d.seed, 9))
	// A table over the root of the light.
	const steps = 1 << 14
	curve := make([]float64, steps+2)
	for i := range curve {
		light := float64(i) / steps * float64(i) / steps
		switch {
		case d.curve == picture.Linear:
			curve[i] = light
		case d.curve == picture.PQ: // SMPTE ST 2084, white at 203 cd/m²
			y := math.Pow(light*203/10000, 2610.0/16384)
			curve[i] = math.Pow((3424.0/4096+2413.0/128*y)/(1+2392.0/128*y), 2523.0/32)
		case d.curve != picture.SRGB:
			curve[i] = math.Pow(light, 1/2.4)
		case light <= 0.0031308:
			curve[i] = 12.92 * light
		default:
			curve[i] = 1.055*math.Pow(light, 1/2.4) - 0.055
		}
	}
	var signal [3][]float64
	for c := range signal {
		signal[c] = make([]float64, len(f.pix)/3)
	}
	for i := range signal[0] {
		p := f.pix[3*i:][:3]
		mixed := [3]float64{float64(p[0]), float64(p[1]), float64(p[2])}
		if d.matrix != [3][3]float64{} {
			for c, row := range d.matrix {
				mixed[c] = row[0]*float64(p[0]) + row[1]*float64(p[1]) + row[2]*float64(p[2])
			}
		}
		for c, v := range mixed {
			v = v*gain[c] + d.veil/100
			if d.noise > 0 {
				v += math.Sqrt(shot*v+read) * random.NormFloat64()
			}
			at := math.Sqrt(min(max(v, 0), 1)) * steps
			k := int(at)
			s := curve[k] + (curve[k+1]-curve[k])*(at-float64(k))
			signal[c][i] = min(s+d.lift/100, 1)
		}
	}
	out := &picture.Frame{Layout: d.layout, Depth: d.bits, Colour: picture.Colour{Matrix: picture.BT709, Transfer: d.curve}}
	if d.missed {
		out.Colour.Range = picture.FullRange
	}
	unit := float64(int(1) << (d.bits - 8))
	top := float64(int(1)<<d.bits - 1)
	add := func(v []float64, w int, zero, swing float64) {
		p := picture.Plane{Width: w, Height: len(v) / w, Stride: w, Pix: make([]uint16, len(v))}
		for i, s := range v {
			p.Pix[i] = uint16(min(max(zero+swing*s+0.5, 0), top))
		}
		out.Planes = append(out.Planes, p)
	}
	if d.layout == picture.RGB {
		for _, s := range signal {
			add(s, f.width, 0, top)
		}
		return out
	}
	luma, cb, cr := make([]float64, len(signal[0])), make([]float64, len(signal[0])), make([]float64, len(signal[0]))
	for i := range luma {
		r, g, b := signal[0][i], signal[1][i], signal[2][i]
		luma[i] = 0.2126*r + 0.7152*g + 0.0722*b
		cb[i], cr[i] = (b-luma[i])/1.8556, (r-luma[i])/1.5748
	}
	add(luma, f.width, 16*unit, 219*unit)
	for _, v := range [][]float64{cb, cr} {
		w := f.width
		if !d.chroma4 {
			v, w = thinned(v, f.width), (f.width+1)/2
		}
		add(v, w, 128*unit, 224*unit)
	}
	return out
}

// blurred spreads the light by a Gaussian; the border repeats.
func (f *exposedFilm) blurred(sigma float64) *exposedFilm {
	if sigma <= 0 {
		return f
	}
	// Sampling a narrow Gaussian does not give one, so its spectrum is: cut off at
	// half a cycle per pixel.
	reach := int(math.Ceil(4*sigma)) + 4
	kernel := make([]float32, 2*reach+1)
	var sum float32
	for i := range kernel {
		const steps = 400
		for j := range steps {
			q := (float64(j) + 0.5) / steps / 2
			kernel[i] += float32(math.Exp(-2*math.Pi*math.Pi*sigma*sigma*q*q) * math.Cos(2*math.Pi*q*float64(i-reach)))
		}
		sum += kernel[i]
	}
	pass := func(src []float32, dx, dy int) []float32 {
		dst := make([]float32, len(src))
		for y := range f.height {
			for x := range f.width {
				out := dst[3*(y*f.width+x):][:3]
				for i, k := range kernel {
					u := min(max(x+dx*(i-reach), 0), f.width-1)
					v := min(max(y+dy*(i-reach), 0), f.height-1)
					in := src[3*(v*f.width+u):][:3]
					k /= sum
					out[0], out[1], out[2] = out[0]+k*in[0], out[1]+k*in[1], out[2]+k*in[2]
				}
			}
		}
		return dst
	}
	return &exposedFilm{f.width, f.height, pass(pass(f.pix, 1, 0), 0, 1)}
}

// thinned halves a plane both ways by averaging.
func thinned(v []float64, w int) []float64 {
	h := len(v) / w
	var out []float64
	for y := 0; y < h; y += 2 {
		for x := 0; x < w; x += 2 {
			r, d := min(x+1, w-1), min(y+1, h-1)
			out = append(out, (v[y*w+x]+v[y*w+r]+v[d*w+x]+v[d*w+r])/4)
		}
	}
	return out
}

// readings returns what the named metrics say of a pair.
func readings(t testing.TB, p *metrics.Pair, names ...string) []stat.Measurement {
	t.Helper()
	out := make([]stat.Measurement, len(names))
	for i, name := range names {
		m, ok := metrics.Lookup(name)
		require.True(t, ok, name)
		out[i] = m.Measure(p)
	}
	return out
}

// full reports whether tests should try everything, as make accuracy does.

// describe writes readings for a log.
func describe(names []string, m []stat.Measurement) (text string) {
	for i, name := range names {
		if m[i].OK() {
			text += fmt.Sprintf(" %s %.4f ± %.4f", name, m[i].Value, m[i].SE)
		} else {
			text += fmt.Sprintf(" %s: %s", name, m[i].Missing)
		}
	}
	return text
}
