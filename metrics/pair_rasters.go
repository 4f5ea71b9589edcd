package metrics

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

func (p *Pair) left() *raster.Pyramid  { return p.rasters()[0] }
func (p *Pair) right() *raster.Pyramid { return p.rasters()[1] }

// rasters returns the reduced luma of the left and of the right eye. It sets ownPixels,
// too, to rasters of the pictures' own pixels, nil where the levels are as fine; those are
// for finding matches only, and dropped then.
func (p *Pair) rasters() *[2]*raster.Pyramid {
	if p.levels == nil {
		p.levels = new([2]*raster.Pyramid)
		for i, f := range [2]*picture.Frame{p.Left, p.Right} {
			full, fine := raster.FromFrame(f)
			p.levels[i], p.ownPixels[i] = raster.NewPyramid(full), fine
		}
	}
	return p.levels
}

// noise returns the noise of the left and of the right eye.
func (p *Pair) noise() *[2]*raster.NoiseModel {
	if p.noiseModels == nil {
		p.noiseModels = &[2]*raster.NoiseModel{raster.NewNoiseModel(p.Left, p.left().Full), raster.NewNoiseModel(p.Right, p.right().Full)}
	}
	return p.noiseModels
}

// leftNoise returns the noise curve of the left eye.
func (p *Pair) leftNoise() *raster.NoiseCurve { return p.noise()[0].Curve() }

// equalised is both eyes' pictures for finding matches: where one eye is far out of focus,
// the other is blurred as much.
type equalised struct {
	levels [2]*raster.Pyramid
	// blur is the sigma of that blur in pixels of the quarter raster, positive where the
	// right eye is softer; 0 where the eyes are about equally sharp.
	blur float64
}

// equalised returns equally blurred pictures of both eyes.
func (p *Pair) equalised() *equalised {
	if p.equal == nil {
		e := &equalised{levels: *p.rasters()}
		p.equal = e
		if e.blur = p.right().Quarter.SofterThan(p.left().Quarter); e.blur != 0 {
			sharper := 0
			if e.blur < 0 {
				sharper = 1
			}
			e.levels[sharper] = raster.NewPyramid(e.levels[sharper].Full.Blurred(math.Abs(e.blur) * raster.Quarter))
			p.ownPixels = [2]*raster.Raster{}
		}
	}
	return p.equal
}
