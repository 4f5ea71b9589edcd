package reports

import (
	"bytes"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/number"
)

// correction gives what would mend the clip. It reports false where nothing
// was measured to correct by.
func (r *report) correction(c *clip) (judge.Correction, bool) {
	if c.failure() != "" || len(c.Moments) == 0 {
		return judge.Correction{}, false
	}
	return judge.Correct(*c.Record, r.Limits), true
}

// writeFixes writes the table of all corrections, by the clips' names, and the colour
// decisions.
func (r *report) writeFixes(out *folder) error {
	var all []judge.Correction
	var keys []string
	for _, c := range r.clips {
		if fix, ok := r.correction(c); ok {
			all = append(all, fix)
			keys = append(keys, c.key)
		}
	}
	var b bytes.Buffer
	w := &csvWriter{dst: &b}
	for _, row := range judge.TransformTable(all) {
		w.row(row)
	}
	if err := out.write("fixes/transforms.csv", b.Bytes()); err != nil {
		return err
	}
	if err := r.writeOverTime(out); err != nil {
		return err
	}
	return writeDecisions(out, keys, all)
}

// overTime returns the key frames of a clip whose correction changes; nil where it does not, or
// where they are not known.
func (r *report) overTime(c *clip) [][]string {
	if !c.verdict.Varies() {
		return nil
	}
	return judge.OverTimeTable(*c.Record, r.Limits)
}

// overTimeName is the name of the key frames of a clip.
func overTimeName(key string) string { return "fixes/" + key + overTimeEnd }

const overTimeEnd = "-over-time.csv"

// writeOverTime writes a key frame for every frame of each clip whose correction changes.
func (r *report) writeOverTime(out *folder) error {
	for _, c := range r.clips {
		table := r.overTime(c)
		if table == nil {
			continue
		}
		var b bytes.Buffer
		w := &csvWriter{dst: &b}
		for _, row := range table {
			w.row(row)
		}
		if err := out.write(overTimeName(c.key), b.Bytes()); err != nil {
			return err
		}
	}
	return nil
}

// fixPage is a correction in words.
type fixPage struct {
	Steps   []fixStep // in the order of applying them
	Small   []string  // what cannot be told from nothing
	Open    []string  // what could not be measured and is left alone
	Crop    string
	Corners []corner
	Colour  *colourFix
	Needed  bool // the clip is not within all limits as it is
	Varies  bool // what is to be corrected changes within the shot
	// OverTime is the file of key frames, as linked from the page; empty where there is none.
	OverTime string
}

// fixStep is one thing to do to a picture.
type fixStep struct{ Do, Amount, Uncertainty, Unit string }

// corner says where a corner of the right eye's picture goes, in pixels.
type corner struct{ Name, X, Y string }

func (r *report) fixPage(c *clip) *fixPage {
	fix, ok := r.correction(c)
	if !ok {
		return nil
	}
	p := &fixPage{Needed: c.verdict.Status != judge.Passed, Crop: number.Plain(fix.Crop, 2)}
	p.Varies = c.verdict.Varies()
	if r.overTime(c) != nil {
		p.OverTime = "../" + overTimeName(c.key)
	}
	step := func(do, amount, unit string) {
		p.Steps = append(p.Steps, fixStep{Do: do, Amount: amount, Unit: unit})
	}
	for _, t := range []struct {
		eye  string
		turn picture.Orientation
	}{{"left", fix.LeftTurn}, {"right", fix.RightTurn}} {
		switch {
		case t.turn == picture.Upright:
		case fix.Either:
			step("Turn one eye upright; the picture cannot tell which", turnLabel(t.turn), "")
		default:
			step("Turn the "+t.eye+" eye's file upright", turnLabel(t.turn), "")
		}
	}
	if fix.Exchange {
		step("Exchange the eyes", "the file named left is the right eye", "")
	}
	if fix.Slip > 0 {
		step("Play the right eye earlier", number.Counted(fix.Slip, "frame", "frames"), "")
	} else if fix.Slip < 0 {
		step("Play the right eye later", number.Counted(-fix.Slip, "frame", "frames"), "")
	}

	// measured adds a step whose direction is in words.
	measured := func(name, more, less, unit string, m stat.Measurement, factor float64, decimals int) {
		if !m.OK() {
			p.Open = append(p.Open, name)
			return
		}
		do, v := more, m.Value*factor
		if v < 0 {
			do, v = less, -v
		}
		if v <= 2*m.SE*factor || number.Cell(v, decimals) == "0" {
			if v > 0 {
				p.Small = append(p.Small, name)
			}
			return
		}
		p.Steps = append(p.Steps, fixStep{Do: do, Amount: number.Plain(v, decimals), Uncertainty: uncertain(m.SE*factor, decimals), Unit: unit})
	}
	measured("keystone", "Make the right eye taller at its right side", "Make the right eye taller at its left side",
		"% of picture height, at the corner", fix.Keystone, 1, 3)
	measured("roll", "Turn the right eye clockwise", "Turn the right eye anticlockwise", "°", fix.Roll, 1, 3)
	size := fix.Scale
	if size.OK() {
		size = stat.Measured(size.Value-1, size.SE)
	}
	measured("zoom", "Enlarge the right eye", "Reduce the right eye", "%", size, 100, 3)
	measured("shift to the side", "Move the right eye to the right", "Move the right eye to the left", "px", fix.ShiftX, float64(fix.Width)/100, 1)
	measured("vertical offset", "Move the right eye down", "Move the right eye up", "px", fix.ShiftY, float64(fix.Height)/100, 1)
	p.Colour = newColourFix(c.key, c, fix.Colour)
	if p.Colour != nil {
		p.Steps = append(p.Steps, fixStep{Do: "Load the colour decision on the right eye", Amount: "below"})
	} else {
		measured("exposure", "Brighten the right eye", "Darken the right eye", "stops", fix.Exposure, 1, 2)
	}

	names := [4]string{"top left", "top right", "bottom right", "bottom left"}
	for i, move := range fix.Corners() {
		p.Corners = append(p.Corners, corner{names[i], number.Signed(move[0], 1), number.Signed(move[1], 1)})
	}
	return p
}

func turnLabel(o picture.Orientation) string {
	switch o {
	case picture.Flop:
		return "mirror it left to right"
	case picture.Flip:
		return "mirror it top to bottom"
	case picture.Turn:
		return "turn it by 180°"
	default:
		return ""
	}
}
