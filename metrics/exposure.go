package metrics

import "math"

var exposure = Metric{
	Name: "exposure", Unit: "stops", Decimals: 2,
	Doc:   "Brightness of the right eye against the left's in linear light, the median over matched places. Positive: the right eye is brighter.",
	Ideal: 0, Swap: SwapNegate, Revision: 1,
	Measure: func(p *Pair) Measurement {
		g, reason := p.geometry()
		if g == nil {
			return Missing(reason)
		}
		l, r := p.left().full, p.right().full
		var stops []float64
		for i := range g.matches {
			m := &g.matches[i]
			a, fine := p.Left.brightness(l.around(m.LeftX, m.LeftY))
			b, alsoFine := p.Right.brightness(r.around(m.RightX, m.RightY))
			if fine && alsoFine {
				stops = append(stops, math.Log2(b/a))
			}
		}
		if len(stops) < geometryLeast {
			return Missing("too few matched places that are neither black nor clipped")
		}
		centre := median(stops)
		for i, v := range stops {
			stops[i] = math.Abs(v - centre)
		}
		// π/2 is the variance of a median against that of a mean.
		scatter := 1.4826 * median(stops)
		return Measured(centre, scatter*math.Sqrt(math.Pi/2/float64(len(stops))))
	},
}

const (
	darkest   = 0.05 // signal below which noise and lift outweigh the light
	brightest = 0.95 // signal above which cameras clip
)

// brightness returns the light of a raster value, as if it had no colour, and
// reports whether the value is well between black and clipping.
func (f *Frame) brightness(value float64) (light float64, ok bool) {
	if f.Colour.Transfer == Linear { // the raster holds a display-like curve then
		v := value / 255
		return math.Pow(v, 2.4), v > darkest && v < brightest
	}
	s := f.signal()
	unit := float64(int(1) << (f.Depth - 8))
	v := (value*unit - float64(s.black)) / float64(s.white-s.black)
	return f.Colour.Transfer.light(v), v > darkest && v < brightest
}

// around returns the mean of 5×5 pixels about a place in picture coordinates.
func (r *raster) around(x, y float64) float64 {
	cx, cy := int(math.Round(x/r.sx+r.cx)), int(math.Round(y/r.sy+r.cy))
	var sum float64
	for j := cy - 2; j <= cy+2; j++ {
		for i := cx - 2; i <= cx+2; i++ {
			sum += float64(r.pix[min(max(j, 0), r.height-1)*r.width+min(max(i, 0), r.width-1)])
		}
	}
	return sum / 25
}
