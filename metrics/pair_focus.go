package metrics

import (
	"math"

	"nightpair/metrics/focus"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// detail returns the fine texture that both eyes show. Without it, its methods return the
// reason.
func (p *Pair) detail() *focus.Detail {
	if p.focusDetail == nil {
		both := p.overlap()
		g, _ := p.geometry()
		p.focusDetail = focus.FindDetail(&focus.Inputs{
			Left: p.Left, Right: p.Right, Lights: both.lights, Reason: both.reason,
			Geometry: g, Quarter: p.right().Quarter, Noise: p.noise,
		})
	}
	return p.focusDetail
}

// softness measures the blur of the right eye against the left, in pixels of a picture 1920
// wide.
func (p *Pair) softness(part focus.Part) Measurement {
	m := p.detail().Softer(part)
	if !m.OK() && part == focus.Everywhere {
		return p.coarseSoftness(m.Missing)
	}
	return m
}

// coarseBlurSE is the relative standard error of the blur by which pictures are equalised,
// measured on drawn scenes.
const coarseBlurSE = 0.04

// coarseSoftness measures the same by the blur with which the eyes were equalised, where that
// leaves too little detail. It is missing, for the reason given, where they were not.
func (p *Pair) coarseSoftness(reason string) Measurement {
	g, _ := p.geometry()
	if g == nil || p.equalised().blur == 0 {
		return stat.Missing(reason)
	}
	blur := p.equalised().blur * raster.Quarter * 1920 / float64(p.left().Full.Width)
	return stat.Measured(blur, coarseBlurSE*math.Abs(blur))
}

// lensFocus returns where the left and the right lens are focused.
func (p *Pair) lensFocus() *[2]Measurement {
	if p.lensFocusing == nil {
		lenses := p.detail().LensFocus()
		p.lensFocusing = &lenses
	}
	return p.lensFocusing
}
