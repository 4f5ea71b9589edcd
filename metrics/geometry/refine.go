package geometry

import (
	"math"

	"nightpair/metrics/raster"
)

const (
	// refineReach is how far from its start, in pixels, a place may move.
	refineReach = 2.5
	// refineSteps is the largest number of steps. The first ones sample bilinearly, which is
	// cheap and good to a few hundredths of a pixel, until a step is smaller than
	// bilinearUntil pixels; the others sample by six taps, until a step is smaller than
	// refineUntil pixels, which leaves an error of about a tenth of that.
	refineSteps   = 10
	bilinearUntil = 0.08
	refineUntil   = 0.02
)

// patchWeights is a Gaussian window that sums to 1. It gives little weight to the rim of a
// patch, which is often at another depth.
var patchWeights = func() (w [raster.PatchSize]float32) {
	const sigma = raster.PatchRadius / 1.8
	var sum float64
	for i := range w {
		x, y := float64(i%raster.PatchSide-raster.PatchRadius), float64(i/raster.PatchSide-raster.PatchRadius)
		v := math.Exp(-(x*x + y*y) / (2 * sigma * sigma))
		w[i] = float32(v)
		sum += v
	}
	for i := range w {
		w[i] /= float32(sum)
	}
	return w
}()

// template is a patch of the left picture prepared for finding it in the right one under any
// gain and offset.
type template struct {
	pix [raster.PatchSize]float32
	// gx and gy are the gradient times the weights, less what a change of gain or offset
	// would explain: its product with the other picture's patch is the slope of the squared
	// difference with respect to a shift.
	gx, gy          [raster.PatchSize]float32
	mean, square    float32 // weighted mean, and weighted variance
	structure       tensor  // weighted structure tensor, noise included
	inverse         tensor  // of structure
	productVariance tensor  // covariance of the products with a patch, per variance of a pixel's noise
	noiseGain       float64 // what noise adds to xx and yy of structure, per variance of a pixel's noise
}

// prepare loads the patch around a whole pixel. It reports false at the border and where
// the patch does not determine a place in both directions.
func (t *template) prepare(r *raster.Raster, x, y int) bool {
	const reach = raster.PatchRadius + 1
	if x < reach || y < reach || x >= r.Width-reach || y >= r.Height-reach {
		return false
	}
	var gx, gy [raster.PatchSize]float32
	var mean, mx, my float32
	var sum, difference [raster.PatchSide + 2]float32
	for j := range raster.PatchSide {
		row := r.Row(y - raster.PatchRadius + j)[x-reach:][:raster.PatchSide+2]
		up := r.Row(y - raster.PatchRadius + j - 1)[x-reach:][:raster.PatchSide+2]
		down := r.Row(y - raster.PatchRadius + j + 1)[x-reach:][:raster.PatchSide+2]
		for i, v := range row {
			sum[i] = up[i] + 2*v + down[i]
			difference[i] = down[i] - up[i]
		}
		for i := range raster.PatchSide {
			k := j*raster.PatchSide + i
			t.pix[k] = row[i+1]
			gx[k] = (sum[i+2] - sum[i]) / 8
			gy[k] = (difference[i] + 2*difference[i+1] + difference[i+2]) / 8
			w := patchWeights[k]
			mean += w * t.pix[k]
			mx += w * gx[k]
			my += w * gy[k]
		}
	}
	var square, px, py float32
	for k, w := range patchWeights {
		d := t.pix[k] - mean
		square += w * d * d
		px += w * d * gx[k]
		py += w * d * gy[k]
	}
	if square <= 0 {
		return false
	}
	t.mean, t.square = mean, square
	px, py = px/square, py/square
	var xx, xy, yy, vxx, vxy, vyy float32
	for k, w := range patchWeights {
		d := t.pix[k] - mean
		x, y := gx[k]-mx-px*d, gy[k]-my-py*d
		wx, wy := w*x, w*y
		xx += wx * x
		xy += wx * y
		yy += wy * y
		t.gx[k], t.gy[k] = wx, wy
		vxx += wx * wx
		vxy += wx * wy
		vyy += wy * wy
	}
	t.structure = tensor{float64(xx), float64(xy), float64(yy)}
	t.productVariance = tensor{float64(vxx), float64(vxy), float64(vyy)}
	// Half the difference of pixels two apart has half of a pixel's variance. Of that the
	// mean of three by 1 2 1 keeps (6 + 8·correlation)/16.
	t.noiseGain = (6 + 8*r.NoiseCorrelation) / 16 / 2
	var ok bool
	t.inverse, ok = t.structure.inverted()
	return ok
}

// placement is where a template was found in the other picture.
type placement struct {
	x, y        float64 // pixels
	sx, sy      float64 // standard errors of x and y in pixels, +Inf where noise alone is seen
	correlation float64 // weighted correlation of the patches, 0 to 1
}

// reliable reports whether the patches are similar enough to show the same place and determine
// its height to better than refining may move it.
func (f placement) reliable() bool { return f.correlation >= minCorrelation && f.sy < refineReach }

// refine moves a place in the right raster until the patch there matches the template best,
// with gain and offset free: Lucas–Kanade registration in its inverse compositional form.
// The gradient is the template's, so that noise in the right picture does not bias the
// result. It reports false when the place moves farther than refineReach, leaves the
// picture, does not converge or is negatively correlated.
func (t *template) refine(right *raster.Raster, x, y float64) (placement, bool) {
	var p [raster.PatchSize]float32
	startX, startY := x, y
	sample := right.BilinearPatch
	exact := false
	for range refineSteps {
		if !sample(&p, x, y) {
			return placement{}, false
		}
		dx, dy, ok := t.step(&p)
		if !ok {
			return placement{}, false
		}
		if size := math.Hypot(dx, dy); size > 1 {
			dx, dy = dx/size, dy/size
		}
		x, y = x+dx, y+dy
		if math.Abs(x-startX) > refineReach || math.Abs(y-startY) > refineReach {
			return placement{}, false
		}
		switch step := max(math.Abs(dx), math.Abs(dy)); {
		case exact && step < refineUntil:
			return t.measure(&p, x, y)
		case step < bilinearUntil:
			sample, exact = right.Patch, true
		}
	}
	return placement{}, false
}

// step returns by how far to move from a place whose patch is p; not ok where that patch is
// negatively correlated.
func (t *template) step(p *[raster.PatchSize]float32) (dx, dy float64, ok bool) {
	var cov, bx, by float32
	for k, v := range p {
		cov += patchWeights[k] * v * (t.pix[k] - t.mean)
		bx += t.gx[k] * v
		by += t.gy[k] * v
	}
	if cov <= 0 {
		return 0, 0, false
	}
	gain := float64(cov / t.square)
	dx, dy = t.inverse.apply(float64(bx), float64(by))
	return -dx / gain, -dy / gain, true
}

// measure returns the correlation and the standard errors of a place whose patch is p. The
// template's noise adds to its structure tensor without telling where the place is, so it is
// subtracted; half of the variance of the residual is taken for it. Where nothing
// remains, the standard errors are infinite.
func (t *template) measure(p *[raster.PatchSize]float32, x, y float64) (placement, bool) {
	var mean, cov, square float32
	for k, w := range patchWeights {
		mean += w * p[k]
	}
	for k, w := range patchWeights {
		d := p[k] - mean
		cov += w * d * (t.pix[k] - t.mean)
		square += w * d * d
	}
	if square <= 0 || cov <= 0 {
		return placement{}, false
	}
	gain := float64(cov / t.square)
	correlation := float64(cov) / math.Sqrt(float64(square)*float64(t.square))
	residual := float64(square) * max(1-correlation*correlation, 0) / (gain * gain)
	signal := t.structure
	signal.xx -= residual / 2 * t.noiseGain
	signal.yy -= residual / 2 * t.noiseGain
	found := placement{x: x, y: y, correlation: correlation, sx: math.Inf(1), sy: math.Inf(1)}
	if inverse, ok := signal.inverted(); ok {
		found.sx = math.Sqrt(residual * t.productVariance.along(inverse.xx, inverse.xy))
		found.sy = math.Sqrt(residual * t.productVariance.along(inverse.xy, inverse.yy))
	}
	return found, true
}
