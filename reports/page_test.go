package reports

import (
	"encoding/xml"
	"fmt"
	"html"
	"io"
	"math"
	"net/url"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/judge"
	"nightpair/qc/record"
)

// element is a start tag of a page, or the text behind it.
type element struct {
	name  string
	attrs map[string]string
	text  string
}

// parse reads a page as strict XML, which our pages are too: every tag is
// closed in order and every attribute quoted. It also checks that ids are
// unique.
func parse(t *testing.T, name, page string) []element {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	var all []element
	ids := map[string]bool{}
	for {
		token, err := d.Token()
		if err == io.EOF {
			return all
		}
		require.NoError(t, err, name)
		switch token := token.(type) {
		case xml.StartElement:
			e := element{name: token.Name.Local, attrs: map[string]string{}}
			for _, a := range token.Attr {
				require.NotContains(t, e.attrs, a.Name.Local, name)
				e.attrs[a.Name.Local] = a.Value
			}
			if id := e.attrs["id"]; id != "" {
				require.False(t, ids[id], "%s: id %s twice", name, id)
				ids[id] = true
			}
			all = append(all, e)
		case xml.CharData:
			if len(all) > 0 {
				all[len(all)-1].text += string(token)
			}
		}
	}
}

// writtenReport is the report of the invented night: its files, and its pages parsed.
type writtenReport struct {
	files map[string]string
	pages map[string][]element
}

var invented writtenReport

// written writes the invented night once for all tests.
func written(t *testing.T) (files map[string]string, pages map[string][]element) {
	t.Helper()
	if invented.files == nil {
		dir := t.TempDir()
		require.NoError(t, Write(dir, night(t)))
		r := writtenReport{files: tree(t, dir), pages: map[string][]element{}}
		for name, data := range r.files {
			if strings.HasSuffix(name, ".html") {
				r.pages[name] = parse(t, name, data)
			}
		}
		require.Equal(t, 13, len(r.pages), "a page per clip, the morning page and the card")
		invented = r
	}
	return invented.files, invented.pages
}

// tells checks that a page shows some text, without printing the page.
func tells(t *testing.T, page, want string) {
	t.Helper()
	require.True(t, strings.Contains(html.UnescapeString(page), want), "the page does not say %q", want)
}

func TestPagesAskTheNetworkForNothing(t *testing.T) {
	files, pages := written(t)
	for name, page := range pages {
		require.Empty(t, regexp.MustCompile(`(?i)https?:|url\(|@import|//[a-z]`).FindString(files[name]), name)
		policy := false
		for _, e := range page {
			require.NotContains(t, []string{"script", "link", "iframe", "object", "embed", "base", "form"}, e.name, name)
			for a := range e.attrs {
				require.False(t, strings.HasPrefix(a, "on"), "%s: attribute %s", name, a)
			}
			if e.attrs["http-equiv"] == "Content-Security-Policy" {
				policy = true
				require.Equal(t, "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' file:", e.attrs["content"])
			}
		}
		require.True(t, policy, name)
	}
}

func TestLinksLeadSomewhere(t *testing.T) {
	files, pages := written(t)
	reached := map[string]bool{}
	for name, page := range pages {
		for _, e := range page {
			ref := e.attrs["href"] + e.attrs["src"]
			if ref == "" {
				continue
			}
			u, err := url.Parse(ref)
			require.NoError(t, err, "%s: %s", name, ref)
			require.Empty(t, u.Scheme+u.Host, "%s: %s", name, ref)
			target := name
			if u.Path != "" {
				target = path.Join(path.Dir(name), u.Path)
			}
			require.Contains(t, files, target, "%s: %s", name, ref)
			reached[target] = true
			if u.Fragment != "" {
				found := false
				for _, e := range pages[target] {
					found = found || e.attrs["id"] == u.Fragment
				}
				require.True(t, found, "%s: no %s in %s", name, u.Fragment, target)
			}
		}
	}
	for name := range files {
		if strings.HasSuffix(name, ".html") || strings.HasSuffix(name, ".jpg") {
			require.True(t, reached[name], "nothing leads to %s", name)
		}
	}
}

func TestNamesCannotBecomeMarkup(t *testing.T) {
	_, pages := written(t)
	seen := 0
	for name, page := range pages {
		for _, e := range page {
			if strings.Contains(e.text, `<script>alert('x')</script>`) || strings.Contains(e.text, "<img src=x") {
				seen++
			}
			for _, r := range e.text + e.attrs["alt"] {
				require.False(t, r == '\u202e' || r < 0x20 && r != '\n' && r != '\t', "%s: %q in %q", name, r, e.text)
			}
		}
	}
	require.Positive(t, seen, "the name stands in the pages as text")
}

func TestPagesAreAccessible(t *testing.T) {
	_, pages := written(t)
	words := map[string]string{"fail": "fail", "warn": "warn", "pass": "pass", "unmeasured": "not measured"}
	glyphs := map[string]bool{}
	for name, page := range pages {
		require.Equal(t, "en", page[0].attrs["lang"], name)
		heading := 0
		for i, e := range page {
			switch {
			case e.name == "img":
				require.NotEmpty(t, e.attrs["alt"], name)
				require.NotEmpty(t, e.attrs["width"], name)
				require.NotEmpty(t, e.attrs["height"], name)
			case e.name == "svg":
				require.Equal(t, "img", e.attrs["role"], name)
				require.NotEmpty(t, e.attrs["aria-label"], name)
			case e.name == "th":
				require.Contains(t, []string{"row", "col"}, e.attrs["scope"], name)
			case e.name == "title":
				require.NotEmpty(t, strings.TrimSpace(e.text), name)
			case strings.HasPrefix(e.attrs["class"], "status "):
				status := strings.TrimPrefix(e.attrs["class"], "status ")
				require.Contains(t, words, status)
				glyph := page[i+1]
				require.Equal(t, "true", glyph.attrs["aria-hidden"])
				// The word follows the glyph's end tag.
				require.Equal(t, words[status], strings.TrimSpace(glyph.text[len(statusGlyph(judge.Status(status))):len(statusGlyph(judge.Status(status)))+len(words[status])]))
				glyphs[statusGlyph(judge.Status(status))] = true
			case regexp.MustCompile(`^h[1-6]$`).MatchString(e.name):
				level := int(e.name[1] - '0')
				require.LessOrEqual(t, level, heading+1, "%s: %s skips a level", name, e.name)
				heading = level
			}
		}
	}
	require.Len(t, glyphs, 4, "each judgement has a sign of its own")
}

// WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for text; relative luminance as
// defined there.
func TestColoursContrast(t *testing.T) {
	style, err := pageFiles.ReadFile("pages/style.css")
	require.NoError(t, err)
	light, dark, ok := strings.Cut(string(style), "prefers-color-scheme: dark")
	require.True(t, ok)
	for scheme, css := range map[string]string{"light": light, "dark": dark} {
		colours := map[string]float64{}
		for _, m := range regexp.MustCompile(`--([a-z]+): #([0-9a-f]{6})`).FindAllStringSubmatch(css, -1) {
			colours[m[1]] = luminance(t, m[2])
		}
		for _, ground := range []string{"paper", "well"} {
			for _, ink := range []string{"ink", "soft", "link", "fail", "unmeasured", "warn", "pass"} {
				l, d := colours[ground], colours[ink]
				ratio := (max(l, d) + 0.05) / (min(l, d) + 0.05)
				require.GreaterOrEqual(t, ratio, 4.5, "%s: %s on %s", scheme, ink, ground)
			}
		}
	}
}

func luminance(t *testing.T, hex string) float64 {
	var sum float64
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		require.NoError(t, err)
		v := float64(n) / 255
		if v <= 0.03928 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		sum += weight * v
	}
	return sum
}

func TestMorningPageTellsTheNight(t *testing.T) {
	files, _ := written(t)
	page := files["index.html"]
	for _, want := range []string{
		"Of 11 clips, 4 are outside the limits, 3 could not be measured, 2 have warnings and 2 are clean.",
		"a screen 12 m wide watched from 3 picture heights (20.2 m)", "<b>viewer</b>",
		"−4.83 ± 0.04", "−92.7", "at least −2.94", "Table 9: 60 arc minutes",
		"+0.900 to +1.832 % of picture height", "vertical offset drifts during the shot",
		"qualified stereographer", "on a screen of the real size", "children", "local rules",
		"no right eye found", "red glass before the left eye",
	} {
		tells(t, page, want)
	}
	require.Less(t, strings.Index(page, `id="fail"`), strings.Index(page, `id="unmeasured"`))
	require.Less(t, strings.Index(page, `id="unmeasured"`), strings.Index(page, `id="warn"`))
	require.Less(t, strings.Index(page, `id="warn"`), strings.Index(page, `id="pass"`))
}

func TestClipPageTellsTheClip(t *testing.T) {
	files, _ := written(t)
	clip := func(name string) string { return files["clips/"+record.Clip{Name: name}.Key()+".html"] }
	for name, wants := range map[string][]string{
		hostile: {"right flop", "swapped", "right eye late by 2 frames", "10:59:00;02", "≠ differs", "12 times",
			"+3.400 ± 0.004", "−2.9 to 2.9", "the matched places lie in one corner (2 moments)"},
		"A003 weir, wide":        {"The night ended early: 24 of 48 planned moments were measured", "2 frames could not be read: 17, 90."},
		"A009 orphan":            {"Could not be measured: no right eye found"},
		"A008 card 2, truncated": {"the file is truncated", "moov atom not found", "once"},
		"A010 side by side":      {"Both eyes", "side by side", "the names were believed"},
		"A007 night, lantern":    {"could not be judged", "4 of 24 moments show enough", "too few matched places (20 moments)"},
	} {
		require.NotEmpty(t, clip(name), name)
		for _, want := range wants {
			tells(t, clip(name), want)
		}
	}
}

// A night of many clips stays small enough to open at once.
func TestManyClips(t *testing.T) {
	few, small := night(t), flat(t, 16, 9, 128)
	n := Results{Screens: few.Screens, LimitSet: few.LimitSet, Limits: few.Limits}
	for i := range 200 {
		rec, v := few.Records[i%len(few.Records)], few.Verdicts[i%len(few.Verdicts)]
		rec.Header.Clip.Name = fmt.Sprintf("%s %03d", rec.Header.Clip.Name, i)
		rec.Moments = slices.Clone(rec.Moments[:min(1, len(rec.Moments))])
		for i := range rec.Moments {
			rec.Moments[i].Left, rec.Moments[i].Right = small, small
		}
		v.Clip = rec.Header.Clip.Name
		n.Records, n.Verdicts = append(n.Records, rec), append(n.Verdicts, v)
	}
	dir := t.TempDir()
	require.NoError(t, Write(dir, n))
	page := tree(t, dir)["index.html"]
	require.Equal(t, 200, strings.Count(page, `<article class="clip`))
	require.Less(t, len(page), 1<<20)
}
