package metrics

import (
	"nightpair/metrics/depth"
	"nightpair/metrics/focus"
	"nightpair/metrics/light"
	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

// Pair is a left and a right frame of one instant, upright and in the right order, with the
// costly steps that measurements share. Each step is done once, when it is first asked for:
//
//	step        needs                                file
//	rasters     the frames                           pair_rasters.go
//	noise       rasters                              pair_rasters.go
//	equalised   rasters                              pair_rasters.go
//	Matches     equalised                            pair_geometry.go
//	geometry    Matches                              pair_geometry.go
//	rig         geometry, or the matches in Motion   pair_geometry.go
//	depth       equalised, geometry                  pair_depth.go
//	lettering   rasters                              pair_light.go
//	overlap     rasters, geometry, depth             pair_light.go
//	detail      overlap, noise                       pair_focus.go
//	lenses      detail                               pair_focus.go
//	grade       overlap, detail, noise, lettering    pair_light.go
//
// A step that cannot be done returns nil and the reason. A Pair serves one goroutine; its
// frames must not be changed.
type Pair struct {
	Left, Right *picture.Frame
	// Motion is set when the eyes are known to be out of sync, else nil.
	Motion *Motion

	// What has been done so far; nil until then. Of two values the first is the left eye's.
	levels       *[2]*raster.Pyramid
	ownPixels    [2]*raster.Raster // see rasters
	noiseModels  *[2]*raster.NoiseModel
	equal        *equalised
	matching     *matching
	pictureFit   *fitting // see geometry
	rigFit       *fitting // see rig
	depthMap     *depth.Map
	letters      *[2]*light.Lettering
	overlapping  *overlapping
	grading      *grading
	focusDetail  *focus.Detail
	lensFocusing *[2]Measurement
}

// differentSize returns a reason when the eyes' pictures differ in size, else "".
func (p *Pair) differentSize() string {
	if p.Left.Width() != p.Right.Width() || p.Left.Height() != p.Right.Height() {
		return "the eyes' pictures differ in size"
	}
	return ""
}

// halfWidth returns half the width of the picture in picture heights.
func (p *Pair) halfWidth() float64 {
	return float64(p.Left.Width()) * p.Left.Aspect() / float64(2*p.Left.Height())
}
