package geometry

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// Moved is how far each eye's picture has moved between two moments, as one: the
// motion of a scene at rest when its camera turns, or its lens breathes.
type Moved struct {
	Left  Shift `json:"left"`
	Right Shift `json:"right"`
}

// Shift is the motion of one eye's picture at its centre.
type Shift struct {
	// Across is how far to the right, in % of the picture width; Missing where the
	// picture does not move as one.
	Across stat.Measurement `json:"across"`
	// Down is how far down, in % of the picture height, and Zoom by how many % it
	// has grown, as when lenses breathe. Meaningless where Across is missing.
	Down float64 `json:"down"`
	Zoom float64 `json:"zoom"`
}

const (
	// movedReach and movedRows are how far, as a share of the width and in quarter
	// pixels, a picture may move across and down: more than an axis turns in a pull
	// of focus. The project's own choice.
	shiftReach = 0.06
	shiftRows  = 3
	// movedPlaces is about how many places are followed, minMoved how many have to
	// be found again, and movedOne the least share of these that must move as one.
	shiftPlaces    = 240
	minShiftPlaces = 24
	minCoherent    = 0.7
	// movedNear is how far off, in pixels, a place may be that moves with the others:
	// what the focus makes more or less sharp moves a little by it.
	coherentDistance = 1.5
	// movedFloor is the least scatter of places, in pixels.
	shiftFloor = 0.03
)

// SceneMoves is why a picture does not move as one.
const SceneMoves = "the scene moves"

// ShiftOf fits a motion, a growth and a turn of the whole picture to the places
// that are found again, with what an axis that turns moves more beside the centre:
// by 1 + x²/f² across and x·y/f² down.
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
