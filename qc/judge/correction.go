package judge

import (
	"math"
	"slices"
	"strconv"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/qc/number"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

// Correction is what to apply to a clip so that its right eye fits the left
// one. The steps follow one another in the order of the fields: the eyes are
// turned upright, exchanged, put in step, and then the picture of the right eye
// is freed from keystone, turned and scaled about its centre, shifted, and
// brought to the left one's exposure. What could not be measured is missing
// there and counts as nothing to do.
type Correction struct {
	Clip string
	// LeftTurn and RightTurn are what to do to the files named left and right.
	// Either says that it could as well be the other file.
	LeftTurn, RightTurn picture.Orientation
	Either              bool
	Exchange            bool // the file named left is the right eye
	Slip                int  // frames by which to play the right eye earlier

	Keystone stat.Measurement // % of picture height at the corner, of the x·y term to add
	Roll     stat.Measurement // degrees clockwise to turn it
	Scale    stat.Measurement // factor to enlarge it by
	ShiftX   stat.Measurement // % of picture width to move it to the right
	ShiftY   stat.Measurement // % of picture height to move it down
	Exposure stat.Measurement // stops to brighten it by
	// Colour is a colour decision that does what Exposure does and more.
	Colour ColourDecision

	// Crop is what the geometry costs: by how many percent of width and height
	// the largest part of the picture is smaller that both eyes still fill.
	Crop float64

	// Width and Height are the pixels of one eye's picture; Aspect is its width
	// over its height as it is measured, with the shape of its pixels.
	Width, Height int
	Aspect        float64
}

// Correct works out what would mend a clip, from the medians of what was
// measured. The pictures are moved sideways only if parallax leaves the limits
// and no further than it takes; where both its ends cannot be brought within,
// it is left alone.
func Correct(r record.Record, limits []Limit) Correction {
	c := correctGeometry(r, limits)
	c.Colour = colourDecision(r)
	return c
}

// correctGeometry does so for all but the colour decision, which takes longer.
func correctGeometry(r record.Record, limits []Limit) Correction {
	h := r.Header
	c := Correction{
		Clip:     h.Clip.Name,
		LeftTurn: h.Setup.Left, RightTurn: h.Setup.Right, Either: h.Setup.Either,
		Exchange: h.Setup.Order == record.Swapped, Slip: h.Setup.Late(),
		Width: h.EyeWidth, Height: h.EyeHeight, Aspect: screen.DefaultAspect,
	}
	if len(r.DoubtfulSlip()) > 0 {
		c.Slip = 0 // to be looked at first
	}
	if a := h.Aspect(); a > 0 {
		c.Aspect = a
	}
	c.Keystone = negated(Median.Of(r, metrics.Keystone))
	c.Exposure = negated(Median.Of(r, metrics.Exposure))
	parallax, _ := parallaxShift(r, limits)
	c.undo(Median.Of(r, metrics.VerticalOffset), Median.Of(r, metrics.Roll), Median.Of(r, metrics.Zoom), parallax)
	c.Crop = c.crop()
	return c
}

// undo enters what takes an offset, a roll and a zoom out of the right eye's picture, and moves
// it to the right by parallax, in % of the picture width.
func (c *Correction) undo(offset, roll, zoom stat.Measurement, parallax float64) {
	c.Roll = negated(roll)
	c.Scale = zoom
	if c.Scale.OK() {
		// A size difference of −100 % and less is no picture.
		scale := 1 / (1 + max(c.Scale.Value, -99)/100)
		c.Scale = stat.Measured(scale, c.Scale.SE/100*scale*scale)
	}
	// The right picture was scaled, turned and then moved; undoing it in the
	// order scale, turn, move takes a move that is turned and scaled as well.
	sin, cos := math.Sincos(valueOr(c.Roll, 0) * math.Pi / 180)
	scale := valueOr(c.Scale, 1)
	down := valueOr(offset, 0)
	x := scale*sin*down/c.Aspect + parallax
	switch {
	case offset.OK():
		c.ShiftY = stat.Measured(-scale*cos*down, scale*offset.SE)
		c.ShiftX = stat.Measured(x, 0)
	case parallax != 0:
		c.ShiftY = offset
		c.ShiftX = stat.Measured(x, 0)
	default:
		c.ShiftY, c.ShiftX = offset, offset
	}
}

func negated(m stat.Measurement) stat.Measurement {
	if !m.OK() {
		return m
	}
	return stat.Measured(0-m.Value, m.SE)
}

func valueOr(m stat.Measurement, missing float64) float64 {
	if !m.OK() {
		return missing
	}
	return m.Value
}

// picturePoint is a place in the picture: in picture heights from its centre, x to the
// right and y down.
type picturePoint struct{ x, y float64 }

// apply says where a place of the right eye's picture comes to lie.
func (c Correction) apply(p picturePoint) picturePoint {
	// Keystone as a perspective, whose vertical part is the x·y term and whose
	// horizontal part is what toe-in does sideways.
	k := valueOr(c.Keystone, 0) / 100 * 4 / c.Aspect
	w := max(1-k*p.x, 0.1) // a picture seen from behind has no corners
	p = picturePoint{p.x / w, p.y / w}

	sin, cos := math.Sincos(valueOr(c.Roll, 0) * math.Pi / 180)
	s := valueOr(c.Scale, 1)
	return picturePoint{
		s*(cos*p.x-sin*p.y) + valueOr(c.ShiftX, 0)/100*c.Aspect,
		s*(sin*p.x+cos*p.y) + valueOr(c.ShiftY, 0)/100,
	}
}

// Corners says by how many pixels the corners of the right eye's picture move
// to the right and down: top left, top right, bottom right, bottom left. It is
// what a corner pin takes to do the geometry of the correction in one step.
func (c Correction) Corners() [4][2]float64 {
	var moves [4][2]float64
	for i, p := range c.frame() {
		q := c.apply(p)
		moves[i] = [2]float64{(q.x - p.x) / c.Aspect * float64(c.Width), (q.y - p.y) * float64(c.Height)}
	}
	return moves
}

// frame returns the corners of the picture, clockwise from the top left.
func (c Correction) frame() [4]picturePoint {
	x, y := c.Aspect/2, 0.5
	return [4]picturePoint{{-x, -y}, {x, -y}, {x, y}, {-x, y}}
}

// crop finds the largest rectangle of the picture's shape that lies within
// both the left eye's frame and the corrected right eye's: the one with the
// largest factor k about a centre (x, y), which is a linear programme with
// three unknowns, so that its solution is where three of the eight edges meet.
func (c Correction) crop() float64 {
	type edge struct{ x, y, k, bound float64 } // x·X + y·Y + k·K ≤ bound
	var edges []edge
	frame := c.frame()
	corrected := frame
	for i := range corrected {
		corrected[i] = c.apply(frame[i])
	}
	for _, shape := range [][4]picturePoint{frame, corrected} {
		for i, a := range shape {
			b := shape[(i+1)%4]
			// The shapes run clockwise with y down, so this normal points outwards.
			nx, ny := b.y-a.y, a.x-b.x
			reach := math.Inf(-1)
			for _, p := range frame {
				reach = max(reach, nx*p.x+ny*p.y)
			}
			edges = append(edges, edge{nx, ny, reach, nx*a.x + ny*a.y})
		}
	}
	within := func(x, y, k float64) bool {
		return !slices.ContainsFunc(edges, func(e edge) bool { return e.x*x+e.y*y+e.k*k > e.bound+1e-9 })
	}
	best := 0.0
	for i := range edges {
		for j := range i {
			for l := range j {
				a, b, d := edges[i], edges[j], edges[l]
				det := a.x*(b.y*d.k-b.k*d.y) - a.y*(b.x*d.k-b.k*d.x) + a.k*(b.x*d.y-b.y*d.x)
				if math.Abs(det) < 1e-12 {
					continue
				}
				x := (a.bound*(b.y*d.k-b.k*d.y) - a.y*(b.bound*d.k-b.k*d.bound) + a.k*(b.bound*d.y-b.y*d.bound)) / det
				y := (a.x*(b.bound*d.k-b.k*d.bound) - a.bound*(b.x*d.k-b.k*d.x) + a.k*(b.x*d.bound-b.bound*d.x)) / det
				k := (a.x*(b.y*d.bound-b.bound*d.y) - a.y*(b.x*d.bound-b.bound*d.x) + a.bound*(b.x*d.y-b.y*d.x)) / det
				if k > best && within(x, y, k) {
					best = k
				}
			}
		}
	}
	return 100 * (1 - min(best, 1))
}

// transformColumns heads the table of corrections. Cells of what could not be
// measured are empty.
var transformColumns = []string{
	"clip", "left_turn", "right_turn", "exchange_eyes", "slip_frames",
	"keystone_percent", "roll_degrees", "scale", "shift_x_percent", "shift_x_px", "shift_y_percent", "shift_y_px",
	"exposure_stops", "crop_percent",
	"top_left_x_px", "top_left_y_px", "top_right_x_px", "top_right_y_px",
	"bottom_right_x_px", "bottom_right_y_px", "bottom_left_x_px", "bottom_left_y_px",
}

// TransformTable lists corrections, a row each below a row of columns.
func TransformTable(corrections []Correction) [][]string {
	table := [][]string{transformColumns}
	for _, c := range corrections {
		turn := func(o picture.Orientation) string {
			if c.Either && o != picture.Upright {
				return "either " + o.String()
			}
			return o.String()
		}
		exchange := "no"
		if c.Exchange {
			exchange = "yes"
		}
		row := []string{
			c.Clip, turn(c.LeftTurn), turn(c.RightTurn), exchange, strconv.Itoa(c.Slip),
			cell(c.Keystone, 1, 4), cell(c.Roll, 1, 4), cell(c.Scale, 1, 6),
			cell(c.ShiftX, 1, 4), cell(c.ShiftX, float64(c.Width)/100, 2),
			cell(c.ShiftY, 1, 4), cell(c.ShiftY, float64(c.Height)/100, 2),
			cell(c.Exposure, 1, 3), number.Fixed(c.Crop, 2),
		}
		for _, corner := range c.Corners() {
			row = append(row, number.Fixed(corner[0], 2), number.Fixed(corner[1], 2))
		}
		table = append(table, row)
	}
	return table
}

func cell(m stat.Measurement, factor float64, decimals int) string {
	if !m.OK() {
		return ""
	}
	return number.Fixed(m.Value*factor, decimals)
}
