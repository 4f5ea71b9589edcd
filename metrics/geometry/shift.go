package geometry

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// EyeShifts is how far each eye's picture has moved as a whole between two moments, as that of a
// scene at rest does when the camera turns or its lens breathes.
type EyeShifts struct {
	Left  Shift `json:"left"`
	Right Shift `json:"right"`
}

// Shift is the motion of one eye's picture at its centre.
type Shift struct {
	// Across is by how much it moved to the right, in % of the picture width; missing where
	// the picture does not move as a whole.
	Across stat.Measurement `json:"across"`
	// Down is by how much it moved down, in % of the picture height, and Zoom by how many %
	// it became larger, as when lenses breathe. Both are 0 where Across is missing.
	Down float64 `json:"down"`
	Zoom float64 `json:"zoom"`
}

const (
	// shiftReach and shiftRows bound the motion that is searched: across as a share of the
	// width, down in quarter pixels. An axis turns less in a convergence pull. The
	// project's own choice.
	shiftReach = 0.06
	shiftRows  = 3
	// shiftPlaces is about how many places are searched, minShiftPlaces how many have to be
	// found, and minCoherent the smallest share of these that must move together.
	shiftPlaces    = 240
	minShiftPlaces = 24
	minCoherent    = 0.7
	// coherentDistance is the largest distance, in pixels of the full raster, from where the
	// fitted motion puts a place that moves with the others: places move a little when focus
	// makes them sharper or softer.
	coherentDistance = 1.5
	// shiftFloor is the smallest scatter of the places, in pixels of the full raster.
	shiftFloor = 0.03
)

// SceneMoves is the reason why a picture does not move as a whole.
const SceneMoves = "the scene moves"

// MeasureShift measures how one eye's picture moved between two moments. It fits a shift, a zoom
// and a rotation of the whole picture to the places that are found again. A turning axis
// moves places away from the centre by more: across by the factor 1 + x²/f², and down
// by x·y/f² of the motion across, which the fit includes with f unknown.
func MeasureShift(from, to *raster.Pyramid) Shift {
	full := from.Full
	if full.Width != to.Full.Width || full.Height != to.Full.Height {
		return Shift{Across: stat.Missing("the pictures change size")}
	}
	places := raster.Corners(from)
	s := searcher{from: from.Census, to: to.Census, sign: 1}
	f := patchFinder{left: from, right: to}
	reach := int(shiftReach * float64(from.Quarter.Width))
	win := window{minX: -reach, maxX: reach, minY: -shiftRows, maxY: shiftRows}
	fit := stat.Regression{Columns: 5, Floor: shiftFloor * full.Sx, Prior: make([]float64, 5)}
	for i := range fit.Prior {
		fit.Prior[i] = math.Inf(1)
	}
	var list []candidate
	step := max(len(places)/shiftPlaces, 1)
	for i := 0; i < len(places); i += step {
		c := places[i]
		list = s.find(list, c.X/raster.Quarter, c.Y/raster.Quarter, roughAlignment{}, win)
		best, ok := f.best(list, c)
		if !ok || !best.reliable() {
			continue
		}
		x, y := full.Place(float64(c.X), float64(c.Y))
		fit.Rows = append(fit.Rows, 1, 0, x, -y, x*x, 0, 1, y, x, x*y)
		fit.Y = append(fit.Y, (best.x-float64(c.X))*full.Sx, (best.y-float64(c.Y))*full.Sy)
		fit.Base = append(fit.Base, 1, 1)
	}
	n := len(fit.Y) / 2
	if n < minShiftPlaces || !fit.Fit(false) {
		return Shift{Across: stat.Missing("too few places are found again")}
	}
	coherent := 0
	for i := range n {
		if math.Hypot(fit.Residual(2*i), fit.Residual(2*i+1)) < coherentDistance*full.Sx {
			coherent++
		}
	}
	if float64(coherent) < minCoherent*float64(n) {
		return Shift{Across: stat.Missing(SceneMoves)}
	}
	width := float64(full.Width) * full.Sx
	return Shift{
		Across: stat.Measured(100*fit.Coef[0]/width, 100*fit.Scale/math.Sqrt(float64(coherent))/width),
		Down:   stat.Rounded(100*fit.Coef[1], 4),
		Zoom:   stat.Rounded(100*fit.Coef[2], 4),
	}
}
