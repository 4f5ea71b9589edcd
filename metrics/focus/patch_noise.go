package focus

import (
	"nightpair/metrics/light"
	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// patchNoise returns the variance of the noise of one pixel's brightness, in units of
// luminance, on the mean over a block of cells: at least that of rounding to code values.
func patchNoise(c *light.Cells, f *picture.Frame, n *raster.NoiseCurve, x, y, wide, high int) (sum float64) {
	kr, kg, kb := f.Colour.LumaWeights(f.Height())
	s := f.Signal()
	rounding := 1 / (12 * stat.Sq(float64(s.White-s.Black)))
	for j := y; j < y+high; j++ {
		for i := x; i < x+wide; i++ {
			at := j*c.Width + i
			r, g, b := float64(c.Signal[0][at]), float64(c.Signal[1][at]), float64(c.Signal[2][at])
			vg, _ := n.At(g)
			if f.Layout == picture.Grey {
				sum += max(vg, rounding) * n.SlopeSquared(g)
				continue
			}
			vr, _ := n.At(r)
			vb, _ := n.At(b)
			if f.Layout == picture.RGB {
				sum += kr*kr*max(vr, rounding)*n.SlopeSquared(r) + kg*kg*max(vg, rounding)*n.SlopeSquared(g) + kb*kb*max(vb, rounding)*n.SlopeSquared(b)
			} else { // the luma's noise, seen through the curve where the luma is
				sum += max(kr*kr*vr+kg*kg*vg+kb*kb*vb, rounding) * n.SlopeSquared(kr*r+kg*g+kb*b)
			}
		}
	}
	return sum / float64(wide*high) * lightUnit * lightUnit
}
