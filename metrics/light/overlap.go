package light

import (
	"math"
	"slices"

	"nightpair/metrics/depth"
	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

// Overlap is what the two eyes show of the same places, on the quarter raster of the left
// picture: the mean signals of red, green and blue, black 0 and white 1. They are means of
// signals and not of light, because subsampled chroma is one, too. A display's transfer
// curve is nearly a power of the light, so that a gain of the light is a gain of the signal,
// to which a lifted black adds.
type Overlap struct {
	Width, Height int
	Left, Right   *Cells // of both eyes, at the places of the left picture
	// Known says which places both eyes show; Left and Right hold nothing elsewhere.
	Known []bool
	// placeError is the standard error of the signal that comes from an error of the
	// parallax.
	placeError []float32
	// Parallax of a known place in pixels of the quarter raster, negative in front of the
	// screen.
	Parallax []float32
}

// The standard errors of a place in pixels of the quarter raster: across, of the dense map,
// and down, of the fitted geometry.
const (
	placeErrorAcross = 0.10
	placeErrorDown   = 0.05
)

// NewOverlap reads the cells of both eyes where the dense map d has a parallax. The fit g
// gives the vertical disparity; right is the right picture's quarter raster.
func NewOverlap(from, to *Cells, right *raster.Raster, d *depth.Map, g *geometry.Fit) *Overlap {
	w, h := from.Width, from.height
	out := &Overlap{
		Width: w, Height: h, Left: newCells(w, h), Right: newCells(w, h),
		Known: make([]bool, w*h), placeError: make([]float32, w*h), Parallax: make([]float32, w*h),
	}
	green := from.Signal[1]
	for y := range h {
		for x := range w {
			i := y*w + x
			p := d.Parallax[i]
			if p != p {
				continue
			}
			at := float64(p) / raster.Quarter
			down := g.DisplacementAt(right, float64(x)+at, float64(y))
			// Interpolation blurs, so both eyes are read equally far between cells: each
			// takes half of the fraction.
			u, v := (at-math.Round(at))/2, (down-math.Round(down))/2
			lx, ly := float64(x)-u, float64(y)-v
			if !out.Left.sample(i, from, lx, ly) || !out.Right.sample(i, to, lx+at, ly+down) {
				continue
			}
			out.Known[i], out.Parallax[i] = true, float32(at)
			gx := green[y*w+min(x+1, w-1)] - green[y*w+max(x-1, 0)]
			gy := green[min(y+1, h-1)*w+x] - green[max(y-1, 0)*w+x]
			out.placeError[i] = max(gx, -gx)*placeErrorAcross/2 + max(gy, -gy)*placeErrorDown/2
		}
	}
	return out
}

// maxSurfaceStep is the largest difference of parallax between neighbours on one surface, in
// pixels of the quarter raster.
const maxSurfaceStep = 0.75

// onSurface reports whether a place and its four neighbours have nearly the same parallax, so
// that no edge of something nearer runs through it.
func (l *Overlap) onSurface(x, y int) bool {
	if x == 0 || y == 0 || x == l.Width-1 || y == l.Height-1 {
		return false
	}
	i := y*l.Width + x
	if !l.Known[i] {
		return false
	}
	for _, j := range [...]int{i - 1, i + 1, i - l.Width, i + l.Width} {
		if !l.Known[j] || math.Abs(float64(l.Parallax[j]-l.Parallax[i])) > maxSurfaceStep {
			return false
		}
	}
	return true
}

// Without returns a copy in which the places of a mask are not known.
func (l *Overlap) Without(mask []bool) *Overlap {
	out := *l
	out.Known = slices.Clone(l.Known)
	for i, in := range mask {
		out.Known[i] = out.Known[i] && !in
	}
	return &out
}
