package record

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

func sampleRecord() Record {
	return Record{
		Header: Header{
			Fingerprint: "0123",
			Clip:        Clip{Name: "day/A001", Left: "A001_L.mov", Right: "A001_R.mov", Packing: Separate, Why: "suffix"},
			Left:        Source{Path: "A001_L.mov", Codec: "prores", Width: 960, Height: 540, Frames: 96, RateNum: 24, RateDen: 1},
			Right:       Source{Path: "A001_R.mov", Codec: "prores", Width: 960, Height: 540, Frames: 97, RateNum: 24, RateDen: 1},
			Setup:       Setup{Packing: Separate, Right: picture.Flop, Order: OrderUnknown},
			EyeWidth:    960,
			EyeHeight:   540,
			Planned:     2,
		},
		Moments: []Moment{
			{Frame: 24, Time: time.Second, Timecode: "01:00:00:00", Values: map[string]stat.Measurement{
				"roll": stat.Measured(-0.25, 0.01), "zoom": stat.Missing("nothing to match"),
			}, Left: []byte{1, 2}, Right: []byte{3}},
			{Frame: 72, Time: 3 * time.Second, Values: map[string]stat.Measurement{"roll": stat.Measured(0, 0)}},
		},
		Trailer: Trailer{Done: true, Lost: []int{5}, Left: []Note{{Text: "concealed", Count: 3}}},
	}
}

func written(t testing.TB, r Record) string {
	t.Helper()
	var b bytes.Buffer
	n, err := r.WriteTo(&b)
	require.NoError(t, err)
	require.Equal(t, int64(b.Len()), n)
	return b.String()
}

func TestRecordThereAndBack(t *testing.T) {
	want := sampleRecord()
	got, err := Read(strings.NewReader(written(t, want)))
	require.NoError(t, err)
	require.Equal(t, want, got)
}

func TestRecordMomentsComeInOrderOfFrames(t *testing.T) {
	r := sampleRecord()
	r.Moments[0], r.Moments[1] = r.Moments[1], r.Moments[0]
	got, err := Read(strings.NewReader(written(t, r)))
	require.NoError(t, err)
	require.Equal(t, sampleRecord(), got)
}

// Whatever prefix of a record reaches the disk, it is never taken for whole
// and never loses a line that was whole.
func TestRecordCutAnywhere(t *testing.T) {
	text := written(t, sampleRecord())
	for n := range len(text) {
		got, err := Read(strings.NewReader(text[:n]))
		require.ErrorIs(t, err, ErrTruncated, "%d bytes", n)
		lines := strings.Count(text[:n], "\n")
		require.Len(t, got.Moments, max(0, min(lines-1, 2)))
	}
}

func TestRecordRefusesGarbage(t *testing.T) {
	lines := strings.SplitAfter(strings.TrimSuffix(written(t, sampleRecord()), "\n"), "\n")
	lines[len(lines)-1] += "\n"
	header, first, trailer := lines[0], lines[1], lines[3]
	tests := []struct {
		name, text, says string
	}{
		{"not JSON", "<html>\n", "line 1"},
		{"an array", "[]\n", "line 1: not a JSON object"},
		{"an empty line", header + "\n" + trailer, "line 2: not a JSON object"},
		{"a moment first", first + trailer, "line 1"},
		{"unknown field", header + `{"frame":1,"colour":2}` + "\n" + trailer, "colour"},
		{"two objects on a line", header + `{"frame":1} {"frame":2}` + "\n" + trailer, "something follows the object"},
		{"two headers", header + header + trailer, "line 2"},
		{"twice the same moment", header + first + first + trailer, "two moments at frame 24"},
		{"a moment before the clip", header + `{"frame":-1,"time":0,"values":{}}` + "\n" + trailer, "frame -1"},
		{"two trailers", header + trailer + trailer, "line 3: something follows the trailer"},
		{"a trailer that is not done", header + `{"done":false}` + "\n", "not done"},
		{"a negative uncertainty", header + `{"frame":1,"time":0,"values":{"roll":{"value":1,"se":-1}}}` + "\n" + trailer, "negative"},
		{"a picture without size", `{"fingerprint":""}` + "\n" + `{"done":true}` + "\n", "0×0"},
		{"an unheard-of orientation", strings.Replace(header, `"left_orientation":0`, `"left_orientation":4`, 1) + trailer, "orientation 4"},
		{"no end to a line", header + strings.Repeat("x", maxLine+1<<20), "line 2: longer"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Read(strings.NewReader(tt.text))
			require.ErrorContains(t, err, tt.says)
			require.NotErrorIs(t, err, ErrTruncated)
		})
	}
}

func TestFailedRecordNeedsNoPicture(t *testing.T) {
	r := Record{Header: Header{Clip: Clip{Name: "x"}}, Trailer: Trailer{Done: true, Failed: "no such file"}}
	got, err := Read(strings.NewReader(written(t, r)))
	require.NoError(t, err)
	require.Equal(t, "no such file", got.Trailer.Failed)
}

func FuzzReadRecord(f *testing.F) {
	whole := written(f, sampleRecord())
	f.Add([]byte(whole))
	f.Add([]byte(whole[:len(whole)/2]))
	f.Add([]byte(strings.ReplaceAll(whole, "24", "1e400")))
	f.Add([]byte(`{"fingerprint":""}` + "\n" + `{"done":true,"failed":"x"}` + "\n"))
	f.Add([]byte("{}\n{}\n{\"done\":true}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := Read(bytes.NewReader(data))
		if err != nil {
			if !errors.Is(err, ErrTruncated) {
				require.Equal(t, Record{}, r, "nothing comes from garbage")
			}
			return
		}
		again, err := Read(strings.NewReader(written(t, r)))
		require.NoError(t, err)
		require.Equal(t, written(t, r), written(t, again))
	})
}

// What every frame showed of the timing takes the place of what runs did, and stays so when the
// record is written again.
func TestWatchedTakesThePlaceOfRuns(t *testing.T) {
	fault := timing.FrameFault{Right: true, Kind: timing.Dropped, Frame: 900, Count: 1, Step: -1, StepKnown: true}
	r := Record{
		Header: Header{EyeWidth: 16, EyeHeight: 9, Sync: Sync{Scanned: 1500, Runs: []timing.Stretch{{From: 0, To: 250}}}},
		Trailer: Trailer{Done: true, Watched: &Watched{
			Scanned: 2600, Start: 2, Faults: []timing.FrameFault{fault}, Cuts: []Cut{{Frame: 1200}}}},
	}
	r.Header.Left.Frames, r.Header.Right.Frames = 2600, 2600
	require.False(t, r.Looked(300, 310))
	for range 2 {
		var text bytes.Buffer
		_, err := r.WriteTo(&text)
		require.NoError(t, err)
		r, err = Read(&text)
		require.NoError(t, err)
		require.True(t, r.Looked(300, 310))
		require.Equal(t, 2600, r.Header.Sync.Scanned)
		require.Equal(t, []timing.FrameFault{fault}, r.Header.Sync.Faults)
		require.Equal(t, 1, r.Header.Sync.SlipAt(1000))
		require.Equal(t, []Cut{{Frame: 1200}}, r.Header.Sync.Cuts)
	}
}
