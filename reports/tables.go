package reports

import (
	"slices"
	"strconv"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/number"
	"nightpair/qc/record"
)

// csvDecimals is how many decimals more than those worth showing go into a
// table, so that a script's own arithmetic is not spoilt by our rounding.
const csvDecimals = 2

// clipRows writes clips.csv: one row for each clip, by name.
func (r *report) clipRows(w *csvWriter) {
	head := []string{"clip", "verdict", "left", "right", "packing", "orientation", "eye_order",
		"timecode", "frames", "fps", "width", "height", "moments"}
	head = append(r.valueHead(head), metrics.VerticalOffset+"_px", metrics.NearParallax+"_px", metrics.FarParallax+"_px", "seen")
	w.row(head)
	for _, c := range r.clips {
		h := c.Header
		row := []string{c.name(), string(c.verdict.Status), h.Clip.Left, h.Clip.Right,
			string(c.packing()), c.orientation(), string(h.Setup.Order),
			h.Left.Timecode, count(h.Left.Frames), c.rate(), count(h.EyeWidth), count(h.EyeHeight),
			strconv.Itoa(len(c.Moments))}
		for _, m := range r.metrics {
			row = appendValue(row, m, c.median(m))
		}
		for _, p := range []struct {
			metric string
			pixels int
		}{
			{metrics.VerticalOffset, h.EyeHeight}, {metrics.NearParallax, h.EyeWidth}, {metrics.FarParallax, h.EyeWidth},
		} {
			row = append(row, r.pixels(c, p.metric, p.pixels))
		}
		seen := ""
		if share, ok := c.Seen(); ok {
			seen = number.Cell(share, seenDecimals)
		}
		w.row(append(row, seen))
	}
}

func (r *report) valueHead(head []string) []string {
	for _, m := range r.metrics {
		head = append(head, m.Name, m.Name+"_se")
	}
	return head
}

func appendValue(row []string, m metrics.Metric, v stat.Measurement) []string {
	if !v.OK() {
		return append(row, "", "")
	}
	return append(row, number.Cell(v.Value, m.Decimals+csvDecimals), number.CellSE(v.SE, m.Decimals+csvDecimals))
}

// pixels turns the median of a metric in percent into pixels of one eye's
// picture, of which 100 % are whole.
func (r *report) pixels(c *clip, metric string, whole int) string {
	i := slices.IndexFunc(r.metrics, func(m metrics.Metric) bool { return m.Name == metric })
	if i < 0 || whole <= 0 {
		return ""
	}
	v := c.median(r.metrics[i])
	if !v.OK() {
		return ""
	}
	return number.Cell(v.Value/100*float64(whole), pixelDecimals)
}

// seenDecimals tells one frame of a few hundred.
const seenDecimals = 4

// pixelDecimals is a thousandth of a pixel, which is below anything measured.
const pixelDecimals = 3

// findingRows writes findings.csv: one row for each finding, of clips and of the day,
// worst first.
func (r *report) findingRows(w *csvWriter) {
	w.row([]string{"clip", "status", "metric", "value", "se", "unit", "limit",
		"timecode_from", "timecode_to", "frame_worst", "mend", "detail",
		"statistic", "low", "high", "pixels", "frame_from", "frame_to", "source"})
	for _, f := range r.findings() {
		value, se, pixels := "", "", ""
		if f.Status != judge.Unmeasured {
			m, _ := r.lookup(f.Limit.Metric)
			value, se = number.Cell(f.Value, m.Decimals+csvDecimals), number.CellSE(f.SE, m.Decimals+csvDecimals)
		}
		if px, ok := f.Pixels(); ok {
			pixels = number.Cell(px, pixelDecimals)
		}
		limit := ""
		if b, ok := f.Exceeded(); ok {
			limit = boundCell(b)
		}
		worst, from, to := "", "", ""
		if f.Worst >= 0 {
			worst = strconv.Itoa(f.Worst)
		}
		if f.From != "" {
			from, to = strconv.Itoa(f.FrameFrom), strconv.Itoa(f.FrameTo)
		}
		w.row([]string{f.Clip, string(f.Status), f.Limit.Metric, value, se, f.Unit, limit,
			f.From, f.To, worst, string(f.Mend), f.Detail,
			f.Limit.Statistic.String(), boundCell(f.Limit.Low), boundCell(f.Limit.High), pixels, from, to, source(f.Limit)})
	}
}

// boundCell writes a bound for scripts; empty where there is none.
func boundCell(bound float64) string {
	if open(bound) {
		return ""
	}
	return number.Cell(bound, boundDecimals+csvDecimals)
}

// findings lists the findings of all clips and of the day, worst first.
func (r *report) findings() []judge.Finding {
	var all []judge.Finding
	for _, c := range r.clips {
		all = append(all, c.verdict.Findings...)
	}
	all = append(all, r.Day...)
	slices.SortStableFunc(all, judge.Finding.Compare)
	return all
}

// sampleRows writes samples.csv: one row for each moment of each clip.
func (r *report) sampleRows(w *csvWriter) {
	w.row(r.valueHead([]string{"clip", "frame", "time", "timecode"}))
	for _, c := range r.clips {
		for _, moment := range c.Moments {
			const microseconds = 6
			row := []string{c.name(), strconv.Itoa(moment.Frame), number.Cell(moment.Time.Seconds(), microseconds), moment.Timecode}
			for _, m := range r.metrics {
				row = appendValue(row, m, moment.Values[m.Name])
			}
			w.row(row)
		}
	}
}

// rateDecimals tells 24000/1001 from 23.976.
const rateDecimals = 6

func (c *clip) rate() string {
	if v := c.Header.Left.Rate(); v > 0 {
		return number.Cell(v, rateDecimals)
	}
	return ""
}

// packing gives what was found, or what was assumed where nothing was
// measured.
func (c *clip) packing() record.Packing {
	if p := c.Header.Setup.Packing; p != "" {
		return p
	}
	return c.Header.Clip.Packing
}

// hasSetup reports whether measuring got far enough to find the set-up.
func (c *clip) hasSetup() bool { return c.Header.Setup.Order != "" }

func (c *clip) orientation() string {
	if !c.hasSetup() {
		return ""
	}
	return c.Header.Setup.Orientation()
}
