package reports

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"nightpair/metrics"
	"nightpair/qc/judge"
	"nightpair/qc/number"
)

// plot is a measurement over the time of a clip, ready to be drawn. Places
// are in the units of the drawing, which is PlotWidth × PlotHeight of them
// and small enough that its letters stay readable at the width of a phone.
type plot struct {
	Metric, Title, Unit, Summary string
	Width, Height                float64
	Left, Right, Top, Bottom     float64 // edges of the area of values
	XTicks, YTicks               []tick
	Bounds                       []plotBound
	Lines                        []string // one for each stretch without a gap, as points of a polyline
	Points                       []plotPoint
	Gaps                         []plotGap
	Missing                      string // why some moments have no value
	Limits                       string // in words
}

// What the drawing derives from its edges.
func (c plot) Span() float64     { return c.Right - c.Left }
func (c plot) YTextAt() float64  { return c.Left - 6 }
func (c plot) TickEnd() float64  { return c.Bottom + 4 }
func (c plot) XTextAt() float64  { return c.Bottom + 16 }
func (c plot) Overhang() float64 { return c.Width - c.Right }

type tick struct {
	At   string
	Text string
	Zero bool // the line of value zero
	Last bool // at the right edge
}

// plotBound is a limit: a line, and the area beyond it.
type plotBound struct {
	At, From, Extent string // the line; top and height of the area
	TextAt           string
	Text             string
	Severity         judge.Severity
}

type plotPoint struct{ X, Y, Low, High, Text string }

type plotGap struct{ X, Text string }

const (
	plotWidth  = 420
	plotHeight = 190
	plotLeft   = 46
	plotRight  = 8
	plotTop    = 12
	plotBottom = 24
)

// newPlot lays out the plot of a metric. It reports false where no moment
// has a value.
func newPlot(c *clip, m metrics.Metric, limits []judge.Limit) (plot, bool) {
	p := plot{Metric: m.Name, Title: judge.Label(m.Name), Unit: m.Unit,
		Width: plotWidth, Height: plotHeight,
		Left: plotLeft, Right: plotWidth - plotRight, Top: plotTop, Bottom: plotHeight - plotBottom}
	low, high := math.Inf(1), math.Inf(-1) // of the values with their bars
	minValue, maxValue := math.Inf(1), math.Inf(-1)
	measured := 0
	for _, moment := range c.Moments {
		if v := moment.Values[m.Name]; v.OK() {
			low, high = min(low, v.Value-2*v.SE), max(high, v.Value+2*v.SE)
			minValue, maxValue = min(minValue, v.Value), max(maxValue, v.Value)
			measured++
		}
	}
	if measured == 0 {
		return plot{}, false
	}
	bounds := boundsOf(m.Name, limits)
	p.Limits = limitLabel(m.Name, limits)
	y := newScale(low, high, m, bounds, p.Bottom, p.Top)
	duration := 0.0
	if n := len(c.Moments); n > 0 {
		duration = c.Moments[n-1].Time.Seconds()
	}
	if rate := c.Header.Left.Rate(); rate > 0 {
		duration = max(duration, float64(c.Header.Left.Frames)/rate)
	}
	if duration == 0 {
		duration = 1
	}
	x := func(seconds float64) float64 { return p.Left + seconds/duration*(p.Right-p.Left) }

	p.addBounds(bounds, y)
	step, decimals := timeStep(duration)
	for s := 0.0; s <= duration*(1+1e-9); s += step {
		p.XTicks = append(p.XTicks, tick{At: place(x(s)), Text: clock(s, decimals), Last: p.Right-x(s) < 12})
	}

	var line []string
	flush := func() {
		if len(line) > 1 {
			p.Lines = append(p.Lines, strings.Join(line, " "))
		}
		line = nil
	}
	reasons := map[string]int{}
	var order []string
	for _, moment := range c.Moments {
		v, px := moment.Values[m.Name], place(x(moment.Time.Seconds()))
		where := moment.Timecode
		if where == "" {
			where = clock(moment.Time.Seconds(), 2)
		}
		if !v.OK() {
			flush()
			reason := v.Missing
			if reason == "" {
				reason = "not measured"
			}
			if reasons[reason]++; reasons[reason] == 1 {
				order = append(order, reason)
			}
			p.Gaps = append(p.Gaps, plotGap{X: px, Text: where + ": " + reason})
			continue
		}
		py := place(y.at(v.Value))
		line = append(line, px+","+py)
		text := where + ": " + format(m, v.Value)
		if u := uncertain(v.SE, m.Decimals); u != "" {
			text += " ± " + u
		}
		p.Points = append(p.Points, plotPoint{X: px, Y: py,
			Low: place(y.at(v.Value - 2*v.SE)), High: place(y.at(v.Value + 2*v.SE)), Text: text + " " + m.Unit})
	}
	flush()

	p.Summary = fmt.Sprintf("%s over time: %s to %s %s in %s", p.Title, format(m, minValue), format(m, maxValue), m.Unit, number.Counted(measured, "moment", "moments"))
	if n := len(p.Gaps); n > 0 {
		p.Summary += fmt.Sprintf(", %d not measured", n)
		var why []string
		for _, r := range order {
			why = append(why, fmt.Sprintf("%s (%s)", r, number.Counted(reasons[r], "moment", "moments")))
		}
		p.Missing = strings.Join(why, "; ")
	}
	for _, b := range p.Bounds {
		p.Summary += ", " + b.Text
	}
	return p, true
}

// addBounds draws the limits that are in sight, and the marks of the value axis.
func (p *plot) addBounds(bounds []plotLimit, y scale) {
	for _, b := range bounds {
		if b.value < y.low || b.value > y.high {
			continue
		}
		at := y.at(b.value)
		d := plotBound{At: place(at), Severity: b.severity, Text: string(b.severity) + " " + bound(b.value)}
		if b.upper {
			d.From, d.Extent, d.TextAt = place(p.Top), place(at-p.Top), place(at-3)
			if at-p.Top < 12 { // no room above the line
				d.TextAt = place(at + 10)
			}
		} else {
			d.From, d.Extent, d.TextAt = place(at), place(p.Bottom-at), place(at+10)
			if p.Bottom-at < 12 {
				d.TextAt = place(at - 3)
			}
		}
		p.Bounds = append(p.Bounds, d)
	}
	for _, v := range y.ticks() {
		p.YTicks = append(p.YTicks, tick{At: place(y.at(v)), Text: number.Plain(v, y.decimals()), Zero: math.Abs(v) < y.step/2})
	}
}

// place writes a place in a drawing; a tenth of a unit is finer than a pixel.
func place(v float64) string { return number.Cell(v, 1) }

// limitLabel tells the limits on single values, which the plot leaves
// out where they are far off.
func limitLabel(metric string, limits []judge.Limit) string {
	var labels []string
	for _, l := range limits {
		if l.Metric != metric || !l.Statistic.Level {
			continue
		}
		w := outside(l)
		if w == "" {
			continue
		}
		if w = string(l.Severity) + " " + w; !slices.Contains(labels, w) {
			labels = append(labels, w)
		}
	}
	return strings.Join(labels, ", ")
}

type plotLimit struct {
	value    float64
	upper    bool
	severity judge.Severity
}

// boundsOf lists the bounds on single values of a metric. Bounds on a drift
// say nothing about a value.
func boundsOf(metric string, limits []judge.Limit) []plotLimit {
	var bounds []plotLimit
	add := func(b plotLimit) {
		if open(b.value) {
			return
		}
		if !slices.Contains(bounds, b) {
			bounds = append(bounds, b)
		}
	}
	for _, l := range limits {
		if l.Metric != metric || !l.Statistic.Level {
			continue
		}
		add(plotLimit{value: l.High, upper: true, severity: l.Severity})
		add(plotLimit{value: l.Low, severity: l.Severity})
	}
	return bounds
}

// scale maps values to places between bottom and top.
type scale struct {
	low, high, step float64
	bottom, top     float64
}

// maxTicks is how many marks fit on the value axis.
const maxTicks = 7

// newScale takes in the values and, on each side, the nearest limit, so that a
// glance tells how far off it is; the limits beyond only when a value comes
// near them.
func newScale(low, high float64, m metrics.Metric, bounds []plotLimit, bottom, top float64) scale {
	if !math.IsNaN(m.Ideal) {
		low, high = min(low, m.Ideal), max(high, m.Ideal)
	}
	// Noise in the last decimal worth showing must not fill the plot.
	if minSpan := 4 * math.Pow(10, -float64(m.Decimals)); high-low < minSpan {
		middle := (low + high) / 2
		low, high = middle-minSpan/2, middle+minSpan/2
	}
	below, above := math.Inf(-1), math.Inf(1)
	for _, b := range bounds {
		if b.upper && b.value >= high {
			above = min(above, b.value)
		}
		if !b.upper && b.value <= low {
			below = max(below, b.value)
		}
	}
	for _, b := range bounds { // those that the values have passed
		if b.upper && b.value < low {
			low = b.value
		}
		if !b.upper && b.value > high {
			high = b.value
		}
	}
	// A limit many times as far as the values reach would press them flat.
	const reach = 15
	span := high - low
	if above-high <= reach*span {
		high = above
	}
	if low-below <= reach*span {
		low = below
	}
	margin := 0.08 * (high - low)
	s := scale{low: low - margin, high: high + margin, bottom: bottom, top: top}
	s.step = roundStep((s.high - s.low) / maxTicks)
	return s
}

func (s scale) at(v float64) float64 {
	return s.bottom + (v-s.low)/(s.high-s.low)*(s.top-s.bottom)
}

func (s scale) ticks() []float64 {
	var at []float64
	for i := math.Ceil(s.low / s.step); i*s.step <= s.high; i++ {
		at = append(at, i*s.step)
	}
	return at
}

// decimals is how many the ticks need.
func (s scale) decimals() int {
	return max(0, int(math.Ceil(-math.Log10(s.step)-1e-9)))
}

// roundStep gives the smallest of 1, 2, 5 times a power of ten that is not
// below v.
func roundStep(v float64) float64 {
	p, _ := strconv.ParseFloat(fmt.Sprintf("1e%d", int(math.Floor(math.Log10(v)))), 64)
	for _, f := range []float64{1, 2, 5} {
		if f*p >= v*(1-1e-9) {
			return f * p
		}
	}
	return 10 * p
}

// timeStep gives the distance of the marks on the time axis, in seconds, and
// how many decimals they need.
func timeStep(duration float64) (seconds float64, decimals int) {
	const marks = 6 // as many as fit beside one another
	for _, s := range []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800} {
		if duration/s <= marks {
			if s < 1 {
				return s, 1
			}
			return s, 0
		}
	}
	return 3600 * math.Ceil(duration/3600/marks), 0
}
