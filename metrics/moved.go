package metrics

import "math"

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
	Across Measurement `json:"across"`
	// Down is how far down, in % of the picture height, and Zoom by how many % it
	// has grown, as when lenses breathe. Meaningless where Across is missing.
	Down float64 `json:"down"`
	Zoom float64 `json:"zoom"`
}

const (
	// movedReach and movedRows are how far, as a share of the width and in quarter
	// pixels, a picture may move across and down: more than an axis turns in a pull
	// of focus. The project's own choice.
	movedReach = 0.06
	movedRows  = 3
	// movedPlaces is about how many places are followed, movedLeast how many have to
	// be found again, and movedOne the least share of these that must move as one.
	movedPlaces = 240
	movedLeast  = 24
	movedOne    = 0.7
	// movedNear is how far off, in pixels, a place may be that moves with the others:
	// what the focus makes more or less sharp moves a little by it.
	movedNear = 1.5
	// movedFloor is the least scatter of places, in pixels.
	movedFloor = 0.03
)

// SceneMoves is why a picture does not move as one.
const SceneMoves = "the scene moves"

// shiftOf fits a motion, a growth and a turn of the whole picture to the places
// that are found again, with what an axis that turns moves more beside the centre:
// by 1 + x²/f² across and x·y/f² down.
func shiftOf(from, to *level) Shift {
	full := from.full
	if full.width != to.full.width || full.height != to.full.height {
		return Shift{Across: Missing("the pictures change size")}
	}
	places := corners(from)
	s := searcher{from: from.census, to: to.census, sign: 1}
	f := finder{left: from, right: to}
	reach := int(movedReach * float64(from.quarter.width))
	win := window{left: -reach, right: reach, up: -movedRows, down: movedRows}
	fit := regression{columns: 5, floor: movedFloor * full.sx, prior: make([]float64, 5)}
	for i := range fit.prior {
		fit.prior[i] = math.Inf(1)
	}
	var list []candidate
	step := max(len(places)/movedPlaces, 1)
	for i := 0; i < len(places); i += step {
		c := places[i]
		list = s.find(list, c.x/quarter, c.y/quarter, rough{}, win)
		best, ok := f.best(list, c)
		if !ok || !best.told() {
			continue
		}
		x, y := full.place(float64(c.x), float64(c.y))
		fit.rows = append(fit.rows, 1, 0, x, -y, x*x, 0, 1, y, x, x*y)
		fit.y = append(fit.y, (best.x-float64(c.x))*full.sx, (best.y-float64(c.y))*full.sy)
		fit.base = append(fit.base, 1, 1)
	}
	n := len(fit.y) / 2
	if n < movedLeast || !fit.fit(false) {
		return Shift{Across: Missing("too few places are found again")}
	}
	one := 0
	for i := range n {
		if math.Hypot(fit.left(2*i), fit.left(2*i+1)) < movedNear*full.sx {
			one++
		}
	}
	if float64(one) < movedOne*float64(n) {
		return Shift{Across: Missing(SceneMoves)}
	}
	width := float64(full.width) * full.sx
	return Shift{
		Across: Measured(100*fit.coef[0]/width, 100*fit.scale/math.Sqrt(float64(one))/width),
		Down:   rounded(100*fit.coef[1], 4),
		Zoom:   rounded(100*fit.coef[2], 4),
	}
}
