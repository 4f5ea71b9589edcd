package reports

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

// hostile is a clip name with everything that must not reach a page, a path or
// a table unescaped.
const hostile = "Take \"7\" <script>alert('x')</script> & ré/zo\n\u202eend%2F"

// night invents a shooting day that has every kind of clip.
func night(t testing.TB) Results {
	t.Helper()
	limits := judge.Limits{
		limit("vertical_offset", judge.Median, -0.7, 0.7, judge.Warn, "Report ITU-R BT.2293-0, Table 8: detectable"),
		limit("vertical_offset", judge.Median, -1.5, 1.5, judge.Fail, "Report ITU-R BT.2293-0, Table 8: tolerable"),
		limit("vertical_offset", judge.Drift, -0.3, 0.3, judge.Warn, "the project's own choice"),
		limit("roll", judge.Median, -0.5, 0.5, judge.Warn, "Report ITU-R BT.2293-0, Table 8: detectable"),
		limit("roll", judge.Median, -1.1, 1.1, judge.Fail, "Report ITU-R BT.2293-0, Table 8: tolerable"),
		limit("zoom", judge.Median, -1.2, 1.2, judge.Warn, "Report ITU-R BT.2293-0, Table 8: detectable"),
		limit("zoom", judge.Median, -2.9, 2.9, judge.Fail, "Report ITU-R BT.2293-0, Table 8: tolerable"),
		limit("exposure", judge.Median, -0.5, 0.5, judge.Fail, "the project's own choice"),
		limit("near_parallax", judge.Lowest, -2.94, math.Inf(1), judge.Fail, "Report ITU-R BT.2293-0, Table 9: 60 arc minutes, seen from 3 picture heights"),
		limit("far_parallax", judge.Top, math.Inf(-1), 0.525, judge.Fail, "eyes 63 mm apart must not turn outwards"),
	}
	n := Results{
		Title:    "Mill by the river, day 12",
		Screens:  []screen.Screen{{Width: 12}},
		LimitSet: "viewer",
		Limits:   limits,
		Notes:    []string{"far_parallax is not held against 65 mm: that needs the width of the screen (--screen)"},
	}
	add := func(name string, status judge.Status, truth map[string]float64, edit func(*record.Record), findings ...judge.Finding) {
		rec := rec(t, name, truth)
		if edit != nil {
			edit(&rec)
		}
		for i := range findings {
			findings[i].Clip = name
			if findings[i].Unit == "" {
				m, _ := metrics.Lookup(findings[i].Limit.Metric)
				findings[i].Unit = m.Unit
			}
			findings[i].Extent = rec.Header.Extent(findings[i].Unit)
		}
		n.Records = append(n.Records, rec)
		n.Verdicts = append(n.Verdicts, judge.Verdict{Clip: name, Status: status, Findings: findings})
	}

	add("A003 weir, wide", judge.Passed, map[string]float64{"vertical_offset": 0.02, "near_parallax": -0.6, "far_parallax": 0.4}, func(rec *record.Record) {
		rec.Header.Planned, rec.Trailer.Short, rec.Trailer.Lost = 48, true, []int{17, 90}
	})
	add("A001 mill wheel", judge.Failed, map[string]float64{"vertical_offset": 1.83, "near_parallax": -0.8, "far_parallax": 0.42}, nil,
		judge.Finding{Status: judge.Failed, Limit: limits[1], Value: 1.832, SE: 0.012, Place: judge.Place{From: "10:04:11:00", To: "10:04:15:23", Worst: 60}, Mend: judge.Post, Realign: true,
			Detail: "The right eye's picture sits lower: shift it up by 19.8 px."})
	add("A002 mill wheel, closer", judge.Failed, map[string]float64{"vertical_offset": 0.9, "roll": 1.4, "zoom": 0.3, "near_parallax": -1.2, "far_parallax": 0.5}, nil,
		judge.Finding{Status: judge.Failed, Limit: limits[4], Value: 1.402, SE: 0.006, Place: judge.Place{From: "10:09:02:11", To: "10:09:07:05", Worst: 20}, Mend: judge.Post,
			Detail: "The right eye's picture is turned clockwise."},
		judge.Finding{Status: judge.Warned, Limit: limits[0], Value: 0.9, SE: 0.013, Place: judge.Place{Worst: 119}, Mend: judge.Post, Realign: true})
	add("A004 heron", judge.Failed, map[string]float64{"near_parallax": -4.8, "far_parallax": 2.9}, nil,
		judge.Finding{Status: judge.Failed, Limit: limits[8], Value: -4.83, SE: 0.02, Place: judge.Place{From: "10:31:00:00", To: "10:31:04:23", Worst: 70}, Mend: judge.Reshoot,
			Detail: "The depth is larger than the screen allows; no shift of the pictures can mend it."},
		judge.Finding{Status: judge.Failed, Limit: limits[9], Value: 2.91, SE: 0.02, Place: judge.Place{Worst: 70}, Mend: judge.Reshoot,
			Detail: "The eyes of viewers would have to turn outwards."})
	add("A005 miller, medium", judge.Warned, map[string]float64{"exposure": 0.46, "near_parallax": -0.9, "far_parallax": 0.31}, nil,
		judge.Finding{Status: judge.Warned, Limit: limits[7], Value: 0.46, SE: 0.03, Place: judge.Place{Worst: 35}, Mend: judge.Post,
			Detail: "It cannot be told from 0.5 stops."})
	add("A006 crane down", judge.Warned, map[string]float64{"vertical_offset": 0.2, "near_parallax": -0.9, "far_parallax": 0.31}, func(rec *record.Record) {
		for i := range rec.Moments {
			v := rec.Moments[i].Values["vertical_offset"]
			rec.Moments[i].Values["vertical_offset"] = stat.Measured(v.Value-0.4+0.8*float64(i)/23, v.SE)
		}
	}, judge.Finding{Status: judge.Warned, Limit: limits[2], Value: 0.81, SE: 0.05, Place: judge.Place{From: "10:44:00:00", To: "10:44:04:23", Worst: -1}, Mend: judge.Rig,
		Detail: "Something moved while the camera did."})
	add("A007 night, lantern", judge.Unmeasured, nil, func(rec *record.Record) {
		for i := range rec.Moments {
			if i%6 == 0 {
				continue
			}
			for name := range rec.Moments[i].Values {
				rec.Moments[i].Values[name] = stat.Missing("too few matched places")
			}
		}
	}, judge.Finding{Status: judge.Unmeasured, Limit: limits[1], Place: judge.Place{Worst: -1}, Detail: "4 of 24 moments show enough; 8 are needed."},
		judge.Finding{Status: judge.Unmeasured, Limit: limits[9], Place: judge.Place{Worst: -1}, Detail: "4 of 24 moments show enough; 8 are needed."})
	add("A008 card 2, truncated", judge.Unmeasured, nil, func(rec *record.Record) {
		rec.Moments, rec.Header.Setup = nil, record.Setup{}
		rec.Header.Right, rec.Header.EyeWidth, rec.Header.EyeHeight = record.Source{Path: rec.Header.Clip.Right}, 0, 0
		rec.Trailer.Failed = "open A008 card 2, truncated_R.mov: the file is truncated"
		rec.Trailer.Right = []record.Note{{Text: "moov atom not found", Count: 1}}
	})
	add("A009 orphan", judge.Unmeasured, nil, func(rec *record.Record) {
		clip := record.Clip{Name: "A009 orphan", Left: "/day12/A009 orphan_L.mov", Problem: "no right eye found"}
		*rec = record.Record{Header: record.Header{Clip: clip}, Trailer: record.Trailer{Done: true}}
	})
	add(hostile, judge.Failed, map[string]float64{"zoom": 3.4, "near_parallax": -0.2, "far_parallax": 0.3}, func(rec *record.Record) {
		rec.Header.Setup.Right, rec.Header.Setup.Order, rec.Header.Setup.Slip = picture.Flop, record.Swapped, -2
		rec.Header.Right.Timecode = "10:59:00;02"
		rec.Header.Right.Codec = "<b>prores</b>"
		rec.Trailer.Left = []record.Note{{Text: "</ul><script>", Count: 12}}
	}, judge.Finding{Status: judge.Failed, Limit: limits[6], Value: 3.4, SE: 0.002, Place: judge.Place{Worst: 5}, Mend: judge.Post, Detail: "Scale the right eye's picture by 0.967 <img src=x onerror=alert(1)>."},
		judge.Finding{Status: judge.Failed, Limit: limit("orientation", judge.Fact, 0, 0, judge.Fail, "common practice"), Value: 1, Place: judge.Place{Worst: -1}, Mend: judge.Post, Detail: "The right eye is mirrored."})
	add("A010 side by side", judge.Passed, map[string]float64{"near_parallax": -0.5, "far_parallax": 0.2}, func(rec *record.Record) {
		rec.Header.Clip.Packing, rec.Header.Setup.Packing = record.SideBySide, record.SideBySide
		rec.Header.Clip.Left = "/day12/A010 side by side.mp4"
		rec.Header.Clip.Right = rec.Header.Clip.Left
		rec.Header.Left.Timecode, rec.Header.Right.Timecode = "", ""
		rec.Header.Setup.Order = record.OrderUnknown
		for i := range rec.Moments {
			rec.Moments[i].Timecode = ""
		}
	})
	return n
}

// columns stand in for metrics.All, so that these tests hold the contract fast
// and not the list.
var columns = []metrics.Metric{
	{Name: "vertical_offset", Unit: "% of picture height", Decimals: 3, Swap: metrics.SwapNegate},
	{Name: "near_parallax", Unit: "% of picture width", Decimals: 2, Ideal: math.NaN(), Swap: metrics.SwapPartner},
	{Name: "far_parallax", Unit: "% of picture width", Decimals: 2, Ideal: math.NaN(), Swap: metrics.SwapPartner},
}

func limit(metric string, s *judge.Statistic, low, high float64, severity judge.Severity, source string) judge.Limit {
	return judge.Limit{Metric: metric, Statistic: s, Low: low, High: high, Severity: severity, Source: source}
}

// rec invents a measured clip of 5 seconds around the given values.
func rec(t testing.TB, name string, truth map[string]float64) record.Record {
	const frames, moments = 120, 24
	source := record.Source{Path: "/day12/" + name + "_L.mov", Codec: "prores", Width: 1920, Height: 1080, Depth: 10, PixelAspect: 1,
		Frames: frames, RateNum: 24000, RateDen: 1001, Timecode: "10:04:11:00", Created: time.Date(2031, 3, 4, 9, 4, 11, 0, time.UTC),
		Camera: "left body 0417", Colour: "BT.709, narrow range"}
	right := source
	right.Path, right.Camera = "/day12/"+name+"_R.mov", "right body 0418"
	rec := record.Record{
		Header: record.Header{Clip: record.Clip{Name: name, Left: source.Path, Right: right.Path, Packing: record.Separate, Why: "names end in _L and _R"},
			Left: source, Right: right, Setup: record.Setup{Packing: record.Separate, Order: record.AsNamed}, EyeWidth: 1920, EyeHeight: 1080, Planned: moments},
		Trailer: record.Trailer{Done: true},
	}
	rng := rand.New(rand.NewPCG(1, uint64(len(name))))
	left, rightPicture := scene(t, 0), scene(t, int(truth["near_parallax"]/100*480))
	for i := range moments {
		frame := i * frames / moments
		m := record.Moment{Frame: frame, Time: time.Duration(frame) * 1001 * time.Second / 24000,
			Timecode: fmt.Sprintf("10:04:%02d:%02d", 11+frame/24, frame%24), Values: map[string]stat.Measurement{},
			Left: left, Right: rightPicture}
		for _, metric := range metrics.All {
			se := 1.5 * math.Pow(10, 1-float64(metric.Decimals)) * (0.7 + rng.Float64())
			v := truth[metric.Name] + se*rng.NormFloat64()
			if metric.Swap == metrics.SwapKeep {
				v = math.Abs(v)
			}
			m.Values[metric.Name] = stat.Measured(v, se)
		}
		if i == 9 || i == 10 {
			m.Values["keystone"] = stat.Missing("the matched places lie in one corner")
		}
		rec.Moments = append(rec.Moments, m)
	}
	return rec
}

var scenes = map[int][]byte{}

// scene draws a picture of a wall and a post in front of it, the post moved by
// shift, as the right eye sees it where shift is negative.
func scene(t testing.TB, shift int) []byte {
	if data, ok := scenes[shift]; ok {
		return data
	}
	const w, h = 480, 270
	p := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{R: uint8(90 + y/3), G: uint8(110 + y/4), B: uint8(150 - y/3), A: 255}
			if y > 160 {
				c = color.RGBA{R: 96, G: uint8(100 + (x/13+y/9)%2*14), B: 70, A: 255}
			}
			if x := x - shift; x > 200 && x < 252 && y > 60 && y < 236 {
				c = color.RGBA{R: uint8(200 - (x-200)*2), G: uint8(150 - (x-200)*2), B: 92, A: 255}
			}
			p.SetRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, p, nil))
	scenes[shift] = b.Bytes()
	return b.Bytes()
}
