package reports

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"nightpair/metrics"
	"nightpair/metrics/depth"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/number"
	"nightpair/qc/record"
)

// depthTable tells what the parallax of a clip means on each screen.
type depthTable struct {
	Rows  []depthRow
	Where string // where the nearest and the farthest things are
	Zones []string
	Jumps []jumpRow
	// Caution is there when the eyes would have to turn outwards or the working
	// limit of comfort is exceeded.
	Caution string
}

// depthRow is one end of the depth on one screen. Cells that take the width of a
// screen are empty where it is not known.
type depthRow struct {
	Screen, What                                   string
	Percent, Pixels, Millimetres, Arcmin, Distance string
	Remark                                         string
}

// jumpRow is how depth changes across a cut, or would if a clip were cut to the
// next one of its setup.
type jumpRow struct {
	From, To          string
	Near, Middle, Far string // % of the width, signed
	Largest           string // of the ends, arcmin on each screen
	Page              template.URL
	Clip              string // that follows; empty for a cut within the clip
}

// comfortArcmin is the working limit of comfort: Report ITU-R BT.2293-0 (2013),
// Table 9.
const comfortArcmin = 60

// depth lays out the depth of a clip, nil where parallax was not measured.
func (r *report) depth(c *clip) *depthTable {
	near, far := judge.DepthRange(*c.Record)
	if !near.OK() || !far.OK() || len(r.Screens) == 0 {
		return nil
	}
	t := &depthTable{Where: whereabouts(c)}
	beyond := false
	for _, s := range r.Screens {
		for _, end := range []struct {
			what string
			m    stat.Measurement
		}{{"nearest", near}, {"farthest", far}} {
			d := s.Depth(end.m.Value, c.Header.EyeWidth)
			row := depthRow{
				Screen: s.Name(), What: end.what,
				Percent: number.Signed(d.Percent, 2), Pixels: number.Signed(d.Pixels, 1), Arcmin: number.Signed(d.Arcmin, 0),
			}
			var remarks []string
			if d.Sized {
				row.Millimetres = number.Signed(d.Millimetres, 0)
				row.Distance = metres(d.Distance)
			}
			adults, children := d.Diverges()
			switch {
			case adults:
				remarks = append(remarks, "the eyes of adults would turn outwards")
			case children:
				remarks = append(remarks, "the eyes of children would turn outwards")
			}
			if math.Abs(d.Arcmin) > comfortArcmin {
				remarks = append(remarks, fmt.Sprintf("beyond the comfortable %d arcmin", comfortArcmin))
			}
			low, high, ok := s.ComfortZone()
			if ok && !adults && (end.m.Value < low || end.m.Value > high) {
				remarks = append(remarks, "outside the zone of comfort")
			}
			row.Remark = strings.Join(remarks, "; ")
			beyond = beyond || row.Remark != ""
			t.Rows = append(t.Rows, row)
		}
		if low, high, ok := s.ComfortZone(); ok {
			t.Zones = append(t.Zones, fmt.Sprintf("Zone of comfort on %s: %s to %s %% of the width. An outer limit with coefficients from memory (Shibata and others, Journal of Vision 11(8):11, 2011); %d arcmin are the working limit (Report ITU-R BT.2293-0, Table 9).",
				s.Name(), number.Signed(low, 2), number.Signed(high, 2), comfortArcmin))
		}
	}
	t.Jumps = r.jumps(c)
	if beyond {
		t.Caution = "Beyond these limits eyes strain or see double, those of children first. Have it confirmed by a qualified stereographer on a screen of the real size."
	}
	return t
}

// jumps lists the cuts within a clip whose depth is known and the clip that
// follows it.
func (r *report) jumps(c *clip) []jumpRow {
	var rows []jumpRow
	row := func(from, to string, before, after *record.Depths) jumpRow {
		near, far := after.Near.Value-before.Near.Value, after.Far.Value-before.Far.Value
		largest := near
		if math.Abs(far) > math.Abs(near) {
			largest = far
		}
		var angles []string
		for _, s := range r.Screens {
			angles = append(angles, number.Signed(s.Depth(largest, c.Header.EyeWidth).Arcmin, 0))
		}
		return jumpRow{From: from, To: to, Near: number.Signed(near, 2), Middle: number.Signed(after.Middle-before.Middle, 2), Far: number.Signed(far, 2), Largest: strings.Join(angles, " · ")}
	}
	for _, cut := range c.Header.Sync.Cuts {
		if cut.Before != nil && cut.After != nil {
			rows = append(rows, row(c.FrameLabel(cut.Frame-1), c.FrameLabel(cut.Frame), cut.Before, cut.After))
		}
	}
	for _, f := range r.follows {
		if f.From != c.name() {
			continue
		}
		next := row(f.FromLabel, f.ToLabel, &f.Before, &f.After)
		for _, other := range r.clips {
			if other.name() == f.To {
				next.Clip, next.Page = f.To, other.page("")
			}
		}
		rows = append(rows, next)
	}
	return rows
}

// whereabouts says where in the picture the nearest and the farthest things are, at
// the moments where they are most so.
func whereabouts(c *clip) string {
	nearest, farthest := -1, -1
	for i, m := range c.Moments {
		if m.Parallax == nil || !m.Values[metrics.NearParallax].OK() || !m.Values[metrics.FarParallax].OK() {
			continue
		}
		if nearest < 0 || m.Values[metrics.NearParallax].Value < c.Moments[nearest].Values[metrics.NearParallax].Value {
			nearest = i
		}
		if farthest < 0 || m.Values[metrics.FarParallax].Value > c.Moments[farthest].Values[metrics.FarParallax].Value {
			farthest = i
		}
	}
	if nearest < 0 {
		return ""
	}
	place := func(what string, m record.Moment, p depth.Position) string {
		return fmt.Sprintf("The %s things are at %s %% of the width and %s %% of the height from the top left, in frame %d.",
			what, number.Plain(p.X, 0), number.Plain(p.Y, 0), m.Frame)
	}
	n, f := c.Moments[nearest], c.Moments[farthest]
	return place("nearest", n, n.Parallax.Near) + " " + place("farthest", f, f.Parallax.Far)
}

// metres writes a distance; what is farther than a kilometre is as good as
// infinitely far away.
func metres(v float64) string {
	switch {
	case v > 1000:
		return "∞"
	case v >= 100:
		return number.Plain(v, 0) + " m"
	case v >= 10:
		return number.Plain(v, 1) + " m"
	}
	return number.Plain(v, 2) + " m"
}

// screens puts the screens into words.
func (r *report) screens() string {
	var all []string
	for _, s := range r.Screens {
		all = append(all, s.String())
	}
	if len(all) < 2 {
		return strings.Join(all, "")
	}
	last := len(all) - 1
	return strings.Join(all[:last], ", ") + " and " + all[last]
}
