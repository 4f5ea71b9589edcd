package metrics

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// evenness is how both eyes' pictures are made alike.
type evenness struct {
	blur   float64 // of the right eye in pixels of the quarter raster; 0 where the eyes are alike
	levels [2]*raster.Pyramid
}

// even returns levels of both eyes' pictures for finding places in both.
func (p *Pair) even() *evenness {
	if p.evenness == nil {
		e := &evenness{levels: *p.rasters()}
		p.evenness = e
		if e.blur = p.right().Quarter.SofterThan(p.left().Quarter); e.blur != 0 {
			sharper := 0
			if e.blur < 0 {
				sharper = 1
			}
			e.levels[sharper] = raster.NewPyramid(e.levels[sharper].Full.Blurred(math.Abs(e.blur) * raster.Quarter))
			p.fine = [2]*raster.Raster{}
		}
	}
	return p.evenness
}

// coarselySofter measures the blur of the right eye against the left where it leaves no
// detail, for the reason given.
func (p *Pair) coarselySofter(reason string) stat.Measurement {
	g, _ := p.geometry()
	if g == nil || p.even().blur == 0 {
		return stat.Missing(reason)
	}
	blur := p.even().blur * raster.Quarter * 1920 / float64(p.left().Full.Width)
	return stat.Measured(blur, evenUnsure*math.Abs(blur))
}

// evenUnsure is the part of such a blur that is uncertain, measured on drawn scenes.
const evenUnsure = 0.04
