package judge

import (
	"slices"
	"strconv"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

// OverTimeColumns heads the table of a correction that changes along a shot. It is never
// changed.
var OverTimeColumns = []string{
	"frame", "timecode", "roll_degrees", "scale", "shift_x_percent", "shift_x_px", "shift_y_percent", "shift_y_px", "exposure_stops",
}

// OverTimeTable lists what mends each frame of a clip, a row each below a row of columns, in
// the order of TransformTable: a key frame for every frame of the left eye's file. Keystone and
// the move to the side are those of the whole clip. Frames of which nothing is known repeat
// those before them. It is nil where the frames were not compared one by one.
func OverTimeTable(r record.Record, limits []Limit) [][]string {
	frames := map[string]series.Track{}
	for _, name := range changing() {
		f, missing := series.OfFrames(r, name)
		if missing != "" && name != metrics.Exposure {
			return nil
		}
		frames[name] = f
	}
	c := correctGeometry(r, limits)
	parallax, _ := parallaxShift(r, limits)
	last := map[string]stat.Measurement{}
	at := func(name string, frame int) stat.Measurement {
		if v, ok := frames[name].Smoothed(frame); ok {
			last[name] = stat.Measured(v, 0)
		} else if !last[name].OK() {
			return stat.Missing("nothing is known of the first frames")
		}
		return last[name]
	}
	table := [][]string{OverTimeColumns}
	first, end := frames[metrics.VerticalOffset].Range()
	for frame := first; frame < end; frame++ {
		c.undo(at(metrics.VerticalOffset, frame), at(metrics.Roll, frame), at(metrics.Zoom, frame), parallax)
		c.Exposure = negated(at(metrics.Exposure, frame))
		table = append(table, []string{
			strconv.Itoa(frame), r.FrameLabel(frame), cell(c.Roll, 1, 4), cell(c.Scale, 1, 6),
			cell(c.ShiftX, 1, 4), cell(c.ShiftX, float64(c.Width)/100, 2),
			cell(c.ShiftY, 1, 4), cell(c.ShiftY, float64(c.Height)/100, 2), cell(c.Exposure, 1, 3),
		})
	}
	return table
}

// Varies reports whether what is to be corrected changes within the shot: it drifts or steps,
// or is beyond its limits for a part of it alone.
func (v Verdict) Varies() bool {
	return slices.ContainsFunc(v.Findings, func(f Finding) bool {
		return slices.Contains([]*Statistic{Change, Oscillation, Stretch, Drift}, f.Limit.Statistic)
	})
}
