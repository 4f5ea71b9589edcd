package focus

import (
	"math"

	"nightpair/metrics/stat"
)

// spectrum is the power of a patch in both eyes by ring: ring k holds the frequencies of
// about k cycles per patch height.
type spectrum struct {
	left, right []float64 // mean power; that of white noise is its variance
	// Within a ring the power goes up and down with the texture, the same in both eyes, and
	// with each eye's own noise. These are sums over the ring of products of the relative
	// departures from the mean power around it: of the left and the right eye's, of the
	// left's squared, and of the right's squared.
	both, leftOnly, rightOnly []float64
}

// transform finds the spectra of patches n bins high and n/2 wide, without their mean,
// behind a Hann window. It uses frequencies steeper than 45° only: parallax stretches the
// texture of a slanting surface across.
type transform struct {
	n             int
	left, right   []float32 // what to transform, row by row
	window        []float32
	weight        float32 // of the window: Σw
	both          []complex128
	row           []complex128
	rows, columns *fourierTransform
	places        [][]int // of the frequencies of each ring, in both
	energy        float64 // of the window: Σw²
	leftPower     []float64
	rightPower    []float64
}

func newTransform(n int) *transform {
	wide := n / 2
	t := &transform{
		n: n, left: make([]float32, n*wide), right: make([]float32, n*wide),
		window: make([]float32, n*wide),
		both:   make([]complex128, n*wide), row: make([]complex128, wide),
		rows: newFourierTransform(wide), columns: newFourierTransform(n),
		places:    make([][]int, n/2),
		leftPower: make([]float64, n*wide), rightPower: make([]float64, n*wide),
	}
	across := hann(wide)
	for j, v := range hann(n) {
		for i, w := range across {
			t.window[j*wide+i] = float32(v * w)
			t.weight += float32(v * w)
			t.energy += stat.Sq(v * w)
		}
	}
	// Real pictures have the other half of the frequencies from this one.
	for j := 1; j < n/2; j++ {
		for i := range wide {
			// A patch half as wide has frequencies twice as far apart.
			across := float64(2 * min(i, wide-i))
			if k := int(math.Hypot(across, float64(j)) + 0.5); k < n/2 && across <= float64(j) {
				t.places[k] = append(t.places[k], i*n+j)
			}
		}
	}
	return t
}

// hann returns the Hann window of n samples, raised cosines that reach 0 half a sample
// beyond either end.
func hann(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))
	}
	return w
}

// spectrum returns the spectrum of the patch in left and right.
func (t *transform) spectrum() spectrum {
	n, wide := t.n, t.n/2
	var l, r float32
	for i, w := range t.window {
		l, r = l+w*t.left[i], r+w*t.right[i]
	}
	l, r = l/t.weight, r/t.weight
	// Both go through one transform, as its real and imaginary part. Rows become
	// columns on the way.
	for j := range n {
		left, right := t.left[j*wide:][:wide], t.right[j*wide:][:wide]
		for i, w := range t.window[j*wide:][:wide] {
			t.row[i] = complex(float64((left[i]-l)*w), float64((right[i]-r)*w))
		}
		t.rows.run(t.row)
		for i, z := range t.row {
			t.both[i*n+j] = z
		}
	}
	for i := range wide {
		t.columns.run(t.both[i*n:][:n])
	}
	s := newSpectrum(n / 2)
	for k, places := range t.places {
		for _, at := range places {
			i, j := at/n, at%n
			a, b := t.both[at], t.both[(wide-i)%wide*n+n-j]
			// L = (a + b̄)/2, R = (a − b̄)/2i.
			left := stat.Sq(real(a)+real(b)) + stat.Sq(imag(a)-imag(b))
			right := stat.Sq(real(a)-real(b)) + stat.Sq(imag(a)+imag(b))
			t.leftPower[at], t.rightPower[at] = left/(4*t.energy), right/(4*t.energy)
			s.left[k] += t.leftPower[at]
			s.right[k] += t.rightPower[at]
		}
		if len(places) > 0 {
			s.left[k] /= float64(len(places))
			s.right[k] /= float64(len(places))
		}
	}
	left, right := t.smoothed(s.left, 1), t.smoothed(s.right, 1)
	for k, places := range t.places {
		if left[k] <= 0 || right[k] <= 0 {
			continue
		}
		for _, at := range places {
			a, b := t.leftPower[at]/left[k]-1, t.rightPower[at]/right[k]-1
			s.both[k] += a * b
			s.leftOnly[k] += a * a
			s.rightOnly[k] += b * b
		}
	}
	return s
}

// newSpectrum returns a spectrum of zeros in one piece of memory.
func newSpectrum(rings int) spectrum {
	all := make([]float64, 5*rings)
	of := func(i int) []float64 { return all[i*rings:][:rings:rings] }
	return spectrum{of(0), of(1), of(2), of(3), of(4)}
}

// smoothed returns the moving average over 2·reach + 1 rings, weighted by how many
// frequencies each has.
func (t *transform) smoothed(power []float64, reach int) []float64 {
	out := make([]float64, len(power))
	for k := 1; k < len(power); k++ {
		var sum, n float64
		for j := max(k-reach, 1); j <= min(k+reach, len(power)-1); j++ {
			w := float64(len(t.places[j]))
			sum, n = sum+w*power[j], n+w
		}
		if n > 0 {
			out[k] = sum / n
		}
	}
	return out
}
