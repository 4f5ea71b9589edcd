package reports

import (
	"html/template"
	"strconv"
	"time"

	"nightpair/metrics"
	"nightpair/qc/judge"
	"nightpair/qc/number"
	"nightpair/qc/record"
)

// clipPage is what the page of one clip shows.
type clipPage struct {
	clipRow
	Night, Screen, LimitSet string
	Place, Of               int // among the clips, worst first
	Before, After           template.URL
	Why                     string
	OneFile                 bool // that holds both eyes
	Stills                  []still
	Rivalry                 *rivalryMap
	Log                     bool // coded by a log curve
	Figures                 []figure
	Depth                   *depthTable
	Pull                    *pullTable
	Fix                     *fixPage
	Files                   []fact
	Facts                   []figure
	Setup                   []setting
	Plots                   []plot
	Unmeasured              []figure // metrics that have no value in this clip
	Notes                   []eyeNotes
	Columns                 []metrics.Metric
	Moments                 []momentRow
}

// fact is what the two files say of one thing.
type fact struct {
	Name, Left, Right string
	Differs           bool
}

type setting struct{ Name, Value, Remark string }

type eyeNotes struct {
	Eye   string
	Notes []record.Note
}

type momentRow struct {
	Frame          int
	Time, Timecode string
	Values         []figure
}

// clipPage lays out the page of the i-th worst clip.
func (r *report) clipPage(i int) clipPage {
	c := r.worst[i]
	h := c.Header
	p := clipPage{clipRow: r.row(c), Night: r.Title, Screen: r.screens(), LimitSet: r.LimitSet,
		Place: i + 1, Of: len(r.worst), Why: h.Clip.Why, OneFile: h.Clip.Packing.OneFile(), Stills: c.stills, Rivalry: c.rivalry(), Log: c.LogCurve(),
		Fix: r.fixPage(c), Files: facts(h), Columns: r.metrics}
	for _, f := range judge.Facts {
		p.Facts = append(p.Facts, c.figure(ofFact(f), f.Of(*c.Record)))
	}
	p.Here = true
	if i > 0 {
		p.Before = r.worst[i-1].page("")
	}
	if i+1 < len(r.worst) {
		p.After = r.worst[i+1].page("")
	}
	if c.failure() == "" {
		p.Figures = r.figures(c)
		p.Depth = r.depth(c)
		p.Pull = c.pull()
	}
	if c.hasSetup() {
		p.Setup = settings(c)
	}
	for _, m := range r.metrics {
		if ch, ok := newPlot(c, m, r.Limits); ok {
			p.Plots = append(p.Plots, ch)
		} else if median := c.median(m); len(c.Moments) > 0 && !median.OK() {
			p.Unmeasured = append(p.Unmeasured, figure{Title: judge.Label(m.Name), Missing: median.Missing})
		}
	}
	for _, n := range []eyeNotes{{"Left", c.Trailer.Left}, {"Right", c.Trailer.Right}} {
		if len(n.Notes) > 0 {
			p.Notes = append(p.Notes, n)
		}
	}
	for _, m := range c.Moments {
		row := momentRow{Frame: m.Frame, Time: clock(m.Time.Seconds(), 2), Timecode: m.Timecode}
		for _, metric := range r.metrics {
			v := m.Values[metric.Name]
			if !v.OK() {
				row.Values = append(row.Values, figure{Missing: orElse(v.Missing, "not measured")})
				continue
			}
			row.Values = append(row.Values, figure{Value: format(metric, v.Value), Uncertainty: uncertain(v.SE, metric.Decimals)})
		}
		p.Moments = append(p.Moments, row)
	}
	return p
}

// facts sets what the two files say of themselves side by side.
func facts(h record.Header) []fact {
	var all []fact
	add := func(name string, write func(record.Source) string) {
		f := fact{Name: name, Left: write(h.Left), Right: write(h.Right)}
		if f.Left == "" && f.Right == "" {
			return
		}
		f.Differs = f.Left != f.Right
		all = append(all, f)
	}
	all = append(all, fact{Name: "File", Left: h.Clip.Left, Right: h.Clip.Right})
	add("Codec", func(s record.Source) string { return s.Codec })
	add("Picture", func(s record.Source) string {
		if s.Width == 0 {
			return ""
		}
		return strconv.Itoa(s.Width) + " × " + strconv.Itoa(s.Height) + " px"
	})
	add("Shape of a pixel", func(s record.Source) string {
		if s.PixelAspect == 0 {
			return ""
		}
		return number.Cell(s.PixelAspect, 4) + " wide to 1 high"
	})
	add("Depth", func(s record.Source) string {
		if s.Depth == 0 {
			return ""
		}
		return number.Counted(s.Depth, "bit", "bits")
	})
	add("Colour", func(s record.Source) string { return s.Colour })
	add("Frames", func(s record.Source) string { return count(s.Frames) })
	add("Frames per second", func(s record.Source) string {
		if s.Rate() == 0 {
			return ""
		}
		rate := number.Cell(s.Rate(), 3)
		if s.RateDen != 1 {
			rate += " (" + strconv.Itoa(s.RateNum) + "/" + strconv.Itoa(s.RateDen) + ")"
		}
		if s.Variable {
			rate += ", varying"
		}
		return rate
	})
	add("Timecode of frame 0", func(s record.Source) string { return s.Timecode })
	add("Created", func(s record.Source) string {
		if s.Created.IsZero() {
			return ""
		}
		return s.Created.UTC().Format(time.DateTime) + " UTC"
	})
	if h.Left.Camera != "" || h.Right.Camera != "" {
		// Two cameras have two serial numbers: no difference to point at.
		all = append(all, fact{Name: "Camera", Left: h.Left.Camera, Right: h.Right.Camera})
	}
	return all
}

// settings tells what was found out before measuring.
func settings(c *clip) []setting {
	s := c.Header.Setup
	all := []setting{
		{Name: "Packing", Value: string(s.Packing)},
		{Name: "Orientation", Value: s.Orientation()},
		{Name: "Eye order", Value: string(s.Order)},
	}
	if s.Either {
		all[1].Remark = "The picture cannot tell which eye is turned."
	}
	switch s.Order {
	case record.Swapped:
		all[2].Remark = "The files are named the wrong way round. The figures are those of the exchanged eyes."
	case record.OrderUnknown:
		all[2].Remark = "Nothing tells for sure; the names were believed."
	}
	slip := setting{Name: "Slip", Value: "none"}
	if late := s.Late(); late > 0 {
		slip.Value = "right eye late by " + number.Counted(late, "frame", "frames")
	} else if late < 0 {
		slip.Value = "right eye early by " + number.Counted(-late, "frame", "frames")
	}
	return append(all, slip)
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}
