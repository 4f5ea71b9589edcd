package reports

import (
	"bytes"
	"encoding/csv"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/coarse"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/record"
)

func table(t *testing.T, n Results, rows func(*report, *csvWriter)) string {
	t.Helper()
	r, err := newReport(n, columns)
	require.NoError(t, err)
	var b bytes.Buffer
	rows(r, &csvWriter{dst: &b})
	return b.String()
}

// oneMoment is a record with a single moment, whose values are therefore the
// clip's medians.
func oneMoment(name string, values map[string]stat.Measurement) record.Record {
	return record.Record{
		Header: record.Header{
			Clip:  record.Clip{Name: name, Left: "/d/" + name + "_L.mov", Right: "/d/" + name + "_R.mov", Packing: record.Separate},
			Left:  record.Source{Frames: 48, RateNum: 24000, RateDen: 1001, Timecode: "01:00:00:00", Width: 1998, Height: 1080},
			Setup: record.Setup{Packing: record.Separate, Order: record.AsNamed}, EyeWidth: 1998, EyeHeight: 1080, Planned: 1,
		},
		Moments: []record.Moment{{Frame: 24, Time: 1001 * time.Millisecond, Timecode: "01:00:01:00", Values: values}},
		Trailer: record.Trailer{Done: true},
	}
}

// The wanted texts are the contract of the file formats, written out.
func TestClipsTable(t *testing.T) {
	turned := oneMoment("b", map[string]stat.Measurement{
		"vertical_offset": stat.Measured(0.123456789, 0.0000012),
		"near_parallax":   stat.Missing("too few matched places"),
		"far_parallax":    stat.Measured(-0.00001, 0.25),
	})
	turned.Header.Setup = record.Setup{Packing: record.Separate, Right: picture.Flip, Either: true, Order: record.OrderUnknown}
	failed := record.Record{
		Header:  record.Header{Clip: record.Clip{Name: `a "quoted", name`, Left: "/d/a\nb.mov", Packing: record.SideBySide}},
		Trailer: record.Trailer{Done: true, Failed: "no moov atom"},
	}
	turned.Every = &coarse.Series{}
	turned.Every.Add(coarse.Reading{Places: 50})
	turned.Every.Add(coarse.Reading{})
	n := Results{
		Records:  []record.Record{turned, failed},
		Verdicts: []judge.Verdict{{Clip: failed.Header.Clip.Name, Status: judge.Unmeasured}, {Clip: "b", Status: judge.Passed}},
	}
	got := table(t, n, (*report).clipRows)
	require.Equal(t, "clip,verdict,left,right,packing,orientation,eye_order,timecode,frames,fps,width,height,moments,"+
		"vertical_offset,vertical_offset_se,near_parallax,near_parallax_se,far_parallax,far_parallax_se,"+
		"vertical_offset_px,near_parallax_px,far_parallax_px,seen\r\n"+
		"\"a \"\"quoted\"\", name\",unmeasured,\"/d/a\nb.mov\",,side by side,,,,,,,,0,,,,,,,,,,\r\n"+
		"b,pass,/d/b_L.mov,/d/b_R.mov,separate,either flip,unknown,01:00:00:00,48,23.976024,1998,1080,1,"+
		"0.12346,0.0000012,,,0,0.25,1.333,,0,0.5\r\n", got)
}

func TestFindingsTable(t *testing.T) {
	offset := limit("vertical_offset", judge.Median, -1.5, 1.5, judge.Fail, "somebody")
	n := Results{Records: []record.Record{oneMoment("b", nil), oneMoment("a", nil)}, Verdicts: []judge.Verdict{
		{Clip: "a", Status: judge.Failed, Findings: []judge.Finding{
			{Clip: "a", Status: judge.Failed, Limit: offset, Unit: "% of picture height", Value: -1.8123456, SE: 0.01, Place: judge.Place{From: "01:00:00:00", To: "01:00:01:23", FrameFrom: 0, FrameTo: 47, Worst: 0}, Extent: 1080, Mend: judge.Post, Detail: "low, by 19 px"},
			{Clip: "a", Status: judge.Warned, Limit: limit("far_parallax", judge.Top, math.Inf(-1), 0.525, judge.Warn, ""), Unit: "% of picture width", Value: 0.52, SE: 0.01, Place: judge.Place{Worst: 24}, Mend: judge.Reshoot},
		}},
		{Clip: "b", Status: judge.Failed, Findings: []judge.Finding{
			{Clip: "b", Status: judge.Failed, Limit: offset, Unit: "% of picture height", Value: 3, SE: 0.01, Place: judge.Place{Worst: 24}, Mend: judge.Rig},
			{Clip: "b", Status: judge.Unmeasured, Limit: offset, Unit: "% of picture height", Value: 99, SE: 99, Place: judge.Place{Worst: -1}},
			{Clip: "b", Status: judge.Unmeasured, Limit: limit("near_parallax", judge.Lowest, -2, 1, judge.Fail, ""), Place: judge.Place{Worst: -1}},
			{Clip: "b", Status: judge.Failed, Limit: limit("orientation", judge.Fact, math.Inf(-1), math.Inf(1), judge.Fail, ""), Value: 1, Place: judge.Place{Worst: -1}},
		}},
	}, Day: []judge.Finding{
		{Clips: []string{"a", "b"}, Status: judge.Warned, Limit: limit("far_parallax", judge.Next, -2, 2, judge.Warn, "us"), Unit: "% of picture width", Value: 3, SE: 0.1, Extent: 2000,
			Place: judge.Place{From: "01:00:01:23", To: "01:00:00:00", FrameFrom: 47, Worst: -1}, Mend: judge.Post, Detail: "From a to b it would jump."},
	}}
	got := table(t, n, (*report).findingRows)
	require.Equal(t, "clip,status,metric,value,se,unit,limit,timecode_from,timecode_to,frame_worst,mend,detail,statistic,low,high,pixels,frame_from,frame_to,source\r\n"+
		"b,fail,vertical_offset,3,0.01,% of picture height,1.5,,,24,rig,,median,-1.5,1.5,,,,somebody\r\n"+
		"a,fail,vertical_offset,-1.81235,0.01,% of picture height,-1.5,01:00:00:00,01:00:01:23,0,post,\"low, by 19 px\",median,-1.5,1.5,-19.573,0,47,somebody\r\n"+
		"b,fail,orientation,1,0,,,,,,,,fact,,,,,,\r\n"+
		"b,unmeasured,vertical_offset,,,% of picture height,1.5,,,,,,median,-1.5,1.5,,,,somebody\r\n"+
		"b,unmeasured,near_parallax,,,,,,,,,,lowest,-2,1,,,,\r\n"+
		",warn,far_parallax,3,0.1,% of picture width,2,01:00:01:23,01:00:00:00,,post,From a to b it would jump.,next,-2,2,60,47,0,us\r\n"+
		"a,warn,far_parallax,0.52,0.01,% of picture width,0.525,,,24,reshoot,,highest,,0.525,,,,\r\n", got)

	// What is about the day is somebody's work too, with the clips that it lies between.
	r, err := newReport(n, columns)
	require.NoError(t, err)
	work := r.workOnClips(judge.Post)
	require.Equal(t, workItem{Fault: "far parallax would jump from clip to clip", Range: "+3.00 % of picture width", Clips: []workClip{{"a", "clips/a.html"}, {"b", "clips/b.html"}}}, work[len(work)-1])
	page := r.morningPage()
	require.Len(t, page.Day.Findings, 1)
	require.Equal(t, "us", page.Day.Findings[0].Source)
	require.Equal(t, "−2 to 2", page.Day.Findings[0].Limit)
}

func TestSamplesTable(t *testing.T) {
	a := oneMoment("a", map[string]stat.Measurement{
		"vertical_offset": stat.Measured(-0.5, 0.004),
		"far_parallax":    stat.Missing("flat"),
	})
	a.Moments = append(a.Moments, record.Moment{Frame: 36, Time: 1501500 * time.Microsecond})
	n := Results{Records: []record.Record{a}, Verdicts: []judge.Verdict{{Clip: "a", Status: judge.Passed}}}
	got := table(t, n, (*report).sampleRows)
	require.Equal(t, "clip,frame,time,timecode,vertical_offset,vertical_offset_se,near_parallax,near_parallax_se,far_parallax,far_parallax_se\r\n"+
		"a,24,1.001,01:00:01:00,-0.5,0.004,,,,\r\n"+
		"a,36,1.5015,,,,,,,\r\n", got)
}

// RFC 4180, section 2: a line break, a comma or a quote inside a field is kept,
// and rows end in CR LF.
func TestCSVKeepsWhatFieldsHold(t *testing.T) {
	fields := []string{"plain", "", `"`, "a,b", "two\nlines", "bare\rreturn", " space ", "-1", "é\u202e"}
	var b bytes.Buffer
	w := &csvWriter{dst: &b}
	w.row(append([]string(nil), fields...))
	w.row([]string{"broken \xff UTF-8", "x"})
	require.Equal(t, "plain,,\"\"\"\",\"a,b\",\"two\nlines\",\"bare\rreturn\",\" space \",-1,é\u202e\r\nbroken \uFFFD UTF-8,x\r\n", b.String())

	r := csv.NewReader(strings.NewReader(b.String()))
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Equal(t, fields, rows[0])
}
