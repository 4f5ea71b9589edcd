package reports

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/number"
	"nightpair/qc/record"
)

//go:embed pages
var pageFiles embed.FS

// parsePages parses the templates. They are ours: a mistake in them panics.
func parsePages() *template.Template {
	style, err := pageFiles.ReadFile("pages/style.css")
	if err != nil {
		panic(err)
	}
	return template.Must(template.New("").Funcs(template.FuncMap{
		"style":       func() template.CSS { return template.CSS(style) },
		"mark":        func() string { return mark },
		"visible":     visible,
		"title":       judge.Label,
		"statusWord":  statusWord,
		"statusGlyph": statusGlyph,
		"short":       short,
		"triple":      newTriple,
	}).ParseFS(pageFiles, "pages/*.tmpl"))
}

// writePages writes the page of each clip, the crew's card and the morning page.
func (r *report) writePages(out *folder) error {
	pages := parsePages()
	for i, c := range r.worst {
		if err := writePage(out, pages, "clips/"+c.key+".html", "clip", r.clipPage(i)); err != nil {
			return err
		}
	}
	if err := writePage(out, pages, "rig.html", "rig", r.rigPage()); err != nil {
		return err
	}
	return writePage(out, pages, "index.html", "morning", r.morningPage())
}

func writePage(out *folder, pages *template.Template, name, tmpl string, data any) error {
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, tmpl, data); err != nil {
		panic(fmt.Sprintf("reports: %s: %v", name, err)) // a template that does not fit its data is our mistake
	}
	return out.write(name, b.Bytes())
}

// morningPage is what index.html shows.
type morningPage struct {
	Title, Screen, LimitSet string
	JudgingNotes            []string
	Lead                    string // how the night went, in a sentence
	Counts                  []statusCount
	Work                    []workList
	Day                     dayTable
	Targets                 []targetTable
	Groups                  []clipGroup
	Signs                   []sign
}

// dayTable is what is said of no single clip.
type dayTable struct {
	Findings []findingRow
	Here     bool // never: no plot of it is on the page
}

// sign explains a figure.
type sign struct{ Title, Doc, Unit string }

func (r *report) signs() []sign {
	var all []sign
	for _, m := range r.metrics {
		all = append(all, sign{judge.Label(m.Name), m.Doc, m.Unit})
	}
	for _, f := range judge.Facts {
		all = append(all, sign{judge.Label(f.Name), f.Doc, f.Unit})
	}
	return all
}

// statusCount is how many clips were judged so.
type statusCount struct {
	Status judge.Status
	Count  int
}

// clipGroup is the clips of one judgement.
type clipGroup struct {
	Status  judge.Status
	Heading string
	Clips   []clipRow
}

// clipRow is one clip on the morning page.
type clipRow struct {
	Name, Anchor string
	Page         template.URL
	Status       judge.Status
	Timecode     string
	Length       string
	Still        *still
	NoStill      string
	Failed       string
	Partly       []string // why there is less evidence than planned
	Findings     []findingRow
	Here         bool // the plots are on this page
	Figures      []figure
}

// figure is a measurement in words.
type figure struct {
	Title, Value, Uncertainty, Unit, Pixels string
	Missing                                 string
}

// findingRow is a finding in words.
type findingRow struct {
	Status                           judge.Status
	Metric, Title, Statistic         string
	Measured                         bool
	Value, Uncertainty, Unit, Pixels string
	Limit, Severity, Source          string
	Where, Mend, Detail              string
	Notes                            []string
	Plotted                          bool
}

func (r *report) morningPage() morningPage {
	p := morningPage{Title: r.Title, Screen: r.screens(), LimitSet: r.LimitSet, JudgingNotes: r.Notes,
		Work: r.workLists(), Targets: r.targetTables(), Signs: r.signs()}
	for _, f := range r.Day {
		p.Day.Findings = append(p.Day.Findings, r.dayRow(f))
	}
	for _, s := range judge.Statuses {
		g := clipGroup{Status: s, Heading: groupHeading(s)}
		for _, c := range r.worst {
			if c.verdict.Status == s {
				g.Clips = append(g.Clips, r.row(c))
			}
		}
		p.Counts = append(p.Counts, statusCount{Status: s, Count: len(g.Clips)})
		if len(g.Clips) > 0 {
			p.Groups = append(p.Groups, g)
		}
	}
	p.Lead = lead(p.Counts)
	return p
}

func groupHeading(s judge.Status) string {
	switch s {
	case judge.Failed:
		return "Outside the limits, worst first"
	case judge.Unmeasured:
		return "Not measured"
	case judge.Warned:
		return "With warnings, worst first"
	default:
		return "Within all limits"
	}
}

// lead tells how the night went.
func lead(counts []statusCount) string {
	total := 0
	n := map[judge.Status]int{}
	for _, c := range counts {
		n[c.Status] = c.Count
		total += c.Count
	}
	if total == 0 {
		return "No clips were checked."
	}
	if n[judge.Passed] == total {
		if total == 1 {
			return "The one clip is within all limits."
		}
		return fmt.Sprintf("All %d clips are within all limits.", total)
	}
	var parts []string
	add := func(count int, one, many string) {
		switch {
		case count == 1:
			parts = append(parts, "1 "+one)
		case count > 1:
			parts = append(parts, fmt.Sprintf("%d %s", count, many))
		}
	}
	add(n[judge.Failed], "is outside the limits", "are outside the limits")
	add(n[judge.Unmeasured], "could not be measured", "could not be measured")
	add(n[judge.Warned], "has warnings", "have warnings")
	add(n[judge.Passed], "is clean", "are clean")
	last := len(parts) - 1
	sentence := parts[last]
	if last > 0 {
		sentence = strings.Join(parts[:last], ", ") + " and " + sentence
	}
	return "Of " + number.Counted(total, "clip", "clips") + ", " + sentence + "."
}

func (r *report) row(c *clip) clipRow {
	row := clipRow{Name: c.name(), Anchor: c.anchor(), Page: c.page("clips/"), Status: c.verdict.Status,
		Timecode: c.Header.Left.Timecode, Length: c.length(), Failed: c.failure(), Partly: c.partly(), NoStill: c.noStill}
	if len(c.stills) > 0 {
		row.Still = &c.stills[0]
	}
	for _, f := range c.verdict.Findings {
		row.Findings = append(row.Findings, r.findingRow(c, f))
	}
	if len(row.Findings) == 0 && row.Failed == "" {
		row.Figures = r.figures(c)
	}
	return row
}

// anchor is the clip's place on the morning page.
func (c *clip) anchor() string { return "clip-" + c.key }

// page is the address of the clip's page from a page beside the given folder.
func (c *clip) page(folder string) template.URL {
	return template.URL(folder + url.PathEscape(c.key+".html"))
}

// failure says why there are no figures; empty where there are.
func (c *clip) failure() string {
	if c.Header.Clip.Problem != "" {
		return c.Header.Clip.Problem
	}
	return c.Trailer.Failed
}

// partly says why the clip was not measured as planned; empty when it was.
func (c *clip) partly() []string {
	var all []string
	if c.Trailer.Short {
		all = append(all, fmt.Sprintf("The night ended early: %d of %s measured, spread over the whole clip.",
			len(c.Moments), number.Counted(c.Header.Planned, "planned moment was", "planned moments were")))
	}
	if n := len(c.Trailer.Lost); n > 0 {
		var frames []string
		for _, f := range c.Trailer.Lost {
			frames = append(frames, strconv.Itoa(f))
		}
		all = append(all, fmt.Sprintf("%s could not be read: %s.", number.Counted(n, "frame", "frames"), strings.Join(frames, ", ")))
	}
	return all
}

// length is how long the clip runs.
func (c *clip) length() string {
	s := c.Header.Left
	if s.Frames <= 0 {
		return ""
	}
	frames := number.Counted(s.Frames, "frame", "frames")
	if rate := s.Rate(); rate > 0 {
		return frames + ", " + span(float64(s.Frames)/rate)
	}
	return frames
}

// figures are the medians of all metrics.
func (r *report) figures(c *clip) []figure {
	var all []figure
	for _, m := range r.metrics {
		all = append(all, c.figure(m, c.median(m)))
	}
	return all
}

func (c *clip) figure(m metrics.Metric, v stat.Measurement) figure {
	if !v.OK() {
		return figure{Title: judge.Label(m.Name), Missing: v.Missing}
	}
	return figure{Title: judge.Label(m.Name), Value: format(m, v.Value), Uncertainty: uncertain(v.SE, m.Decimals),
		Unit: m.Unit, Pixels: c.inPixels(m, v.Value)}
}

// median is what stands for a metric over the whole clip.
func (c *clip) median(m metrics.Metric) stat.Measurement {
	return judge.Median.Of(*c.Record, m.Name)
}

// inPixels writes a percentage of a picture's width or height in pixels of
// one eye's picture; empty for other units.
func (c *clip) inPixels(m metrics.Metric, v float64) string {
	whole := c.Header.Extent(m.Unit)
	if whole == 0 {
		return ""
	}
	return pixels(m, v/100*float64(whole))
}

func pixels(m metrics.Metric, v float64) string {
	m.Decimals = 1
	return format(m, v) + "\u00a0px"
}

// dayRow is a finding about the day in words.
func (r *report) dayRow(f judge.Finding) findingRow {
	row := findingRow{Status: f.Status, Metric: f.Limit.Metric, Title: judge.Label(f.Limit.Metric),
		Unit: f.Unit, Measured: f.Status != judge.Unmeasured,
		Limit: within(f.Limit), Source: source(f.Limit), Severity: string(f.Limit.Severity),
		Mend: mendPhrase(f.Mend), Detail: f.Detail, Notes: f.Notes, Where: where(f)}
	if f.Limit.Statistic != nil {
		row.Statistic = f.Limit.Statistic.Label
	}
	m, _ := r.lookup(f.Limit.Metric)
	if row.Measured {
		row.Value, row.Uncertainty = format(m, f.Value), uncertain(f.SE, m.Decimals)
	}
	if px, ok := f.Pixels(); ok {
		row.Pixels = pixels(m, px)
	}
	return row
}

// findingRow is a finding about a clip in words.
func (r *report) findingRow(c *clip, f judge.Finding) findingRow {
	row := r.dayRow(f)
	m, known := r.lookup(f.Limit.Metric)
	row.Plotted = known && c.plotted(m)
	return row
}

// source says who a limit is by, and how it was written where that took a screen.
func source(l judge.Limit) string {
	if l.Written == "" {
		return l.Source
	}
	return l.Written + ": " + l.Source
}

// plotted reports whether the clip has a plot of the metric.
func (c *clip) plotted(m metrics.Metric) bool {
	return slices.ContainsFunc(c.Moments, func(moment record.Moment) bool { return moment.Values[m.Name].OK() })
}

// where says from when to when a finding holds.
func where(f judge.Finding) string {
	switch {
	case f.From == "":
		return f.To
	case f.To == "" || f.To == f.From:
		return f.From
	default:
		return f.From + " to " + f.To
	}
}

// lookup finds how the values of a metric, or of a fact, are written. It
// reports false where the name is no metric's.
func (r *report) lookup(name string) (metrics.Metric, bool) {
	i := slices.IndexFunc(r.metrics, func(m metrics.Metric) bool { return m.Name == name })
	if i >= 0 {
		return r.metrics[i], true
	}
	if f, ok := judge.LookupFact(name); ok {
		return ofFact(f), false
	}
	return metrics.Metric{Name: name}, false
}

// ofFact gives a fact the form of a metric. Facts are differences, whose sign
// says which eye has more.
func ofFact(f judge.ClipFact) metrics.Metric {
	return metrics.Metric{Name: f.Name, Unit: f.Unit, Doc: f.Doc, Decimals: f.Decimals, Swap: metrics.SwapNegate}
}
