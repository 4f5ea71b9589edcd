package coarse

import "math"

const (
	// patchRadius is that of the patches that are refined.
	patchRadius = 4
	patchSide   = 2*patchRadius + 1
	patchSize   = patchSide * patchSide
	// refineSteps is how many steps are taken at most, refineReach how far they may lead
	// and refineDone the step after which they end, in small pixels.
	refineSteps = 8
	refineReach = 2.0
	refineDone  = 0.01
	// minCorrelation is the least correlation of two patches that show the same place.
	minCorrelation = 0.8
)

// template is a patch of the left picture made ready to be found in the right one under
// any gain and offset.
type template struct {
	pix        [patchSize]float32 // less their mean
	gx, gy     [patchSize]float32 // gradient, with what gain and offset would explain taken out
	energy     float32
	mean       float32
	xx, xy, yy float64 // inverse of the structure tensor of gx and gy
}

// take makes the template of the patch about (x, y); false where it is too flat.
func (t *template) take(s sheet, x, y int) bool {
	w := s.width
	var sum, sx, sy float32
	for j := range patchSide {
		for i := range patchSide {
			at, k := (y-patchRadius+j)*w+x-patchRadius+i, j*patchSide+i
			t.pix[k] = s.pix[at]
			t.gx[k], t.gy[k] = (s.pix[at+1]-s.pix[at-1])/2, (s.pix[at+w]-s.pix[at-w])/2
			sum, sx, sy = sum+t.pix[k], sx+t.gx[k], sy+t.gy[k]
		}
	}
	t.mean = sum / patchSize
	var energy, px, py float32
	for k := range t.pix {
		t.pix[k] -= t.mean
		t.gx[k] -= sx / patchSize
		t.gy[k] -= sy / patchSize
		energy += t.pix[k] * t.pix[k]
		px += t.pix[k] * t.gx[k]
		py += t.pix[k] * t.gy[k]
	}
	if t.energy = energy; energy <= 0 {
		return false
	}
	var a, b, c float64
	for k, v := range t.pix {
		t.gx[k] -= v * px / energy
		t.gy[k] -= v * py / energy
		a += float64(t.gx[k] * t.gx[k])
		b += float64(t.gx[k] * t.gy[k])
		c += float64(t.gy[k] * t.gy[k])
	}
	det := a*c - b*b
	if !(a > 0 && c > 0 && det > 1e-4*a*c) {
		return false
	}
	t.xx, t.xy, t.yy = c/det, -b/det, a/det
	return true
}

// placed is where the right picture shows a template.
type placed struct {
	x, y float64
	se   float64 // of y, in small pixels, as the patches' difference suggests it
	mean float32 // of the right patch
}

// refine finds the template near (x, y) of the right picture.
func (t *template) refine(s sheet, x, y float64) (placed, bool) {
	fromX, fromY := x, y
	var p [patchSize]float32
	for range refineSteps {
		mean, ok := s.sample(&p, x, y)
		if !ok {
			return placed{}, false
		}
		var gain, bx, by, energy float32
		for k, v := range t.pix {
			gain += v * p[k]
			bx += t.gx[k] * p[k]
			by += t.gy[k] * p[k]
			energy += p[k] * p[k]
		}
		if gain <= 0 {
			return placed{}, false
		}
		correlation := gain / float32(math.Sqrt(float64(t.energy*energy)))
		g := float64(gain / t.energy)
		dx := -(t.xx*float64(bx) + t.xy*float64(by)) / g
		dy := -(t.xy*float64(bx) + t.yy*float64(by)) / g
		x, y = x+dx, y+dy
		if math.Abs(x-fromX) > refineReach || math.Abs(y-fromY) > refineReach {
			return placed{}, false
		}
		if max(math.Abs(dx), math.Abs(dy)) < refineDone {
			if correlation < minCorrelation {
				return placed{}, false
			}
			// What gain and offset leave of the difference is noise of both patches.
			rest := max(float64(energy)/(g*g)-float64(t.energy), 1/12.0)
			return placed{x, y, math.Sqrt(rest / (patchSize - 4) * t.yy), mean}, true
		}
	}
	return placed{}, false
}

// sample takes the patch about (x, y), less its mean, by cubic convolution (R. Keys, IEEE
// Trans. ASSP 29(6), 1981); false outside of the picture.
func (s sheet) sample(dst *[patchSize]float32, x, y float64) (mean float32, ok bool) {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	const reach = patchRadius + 2
	if x0 < reach || y0 < reach || x0 >= s.width-reach || y0 >= s.height-reach {
		return 0, false
	}
	h, v := cubic(float32(x-float64(x0))), cubic(float32(y-float64(y0)))
	var across [(patchSide + 3) * patchSide]float32
	for j := range patchSide + 3 {
		src := s.pix[(y0-patchRadius-1+j)*s.width+x0-patchRadius-1:][:patchSide+3]
		out := across[j*patchSide:][:patchSide]
		for i := range out {
			q := src[i : i+4 : i+4]
			out[i] = h[0]*q[0] + h[1]*q[1] + h[2]*q[2] + h[3]*q[3]
		}
	}
	var sum float32
	for k := range dst {
		d := v[0]*across[k] + v[1]*across[k+patchSide] + v[2]*across[k+2*patchSide] + v[3]*across[k+3*patchSide]
		dst[k] = d
		sum += d
	}
	mean = sum / patchSize
	for k := range dst {
		dst[k] -= mean
	}
	return mean, true
}

func cubic(t float32) [4]float32 {
	return [4]float32{
		((-t+2)*t - 1) * t / 2,
		((3*t-5)*t*t + 2) / 2,
		((-3*t+4)*t + 1) * t / 2,
		(t - 1) * t * t / 2,
	}
}

func smallerEigenvalue(a, b, c float32) float32 {
	mid, half := (a+c)/2, (a-c)/2
	return mid - float32(math.Sqrt(float64(half*half+b*b)))
}
