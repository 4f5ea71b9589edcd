package measure

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image/jpeg"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// drawn is a file that is drawn as it is read: a grey picture whose samples
// say which file, frame and place they are of.
type drawn struct {
	source  record.Source
	lost    map[int]error // frames that cannot be decoded
	resized map[int]bool  // frames that come at another size
	read    []int         // frames asked for
	closed  bool
	hang    bool // reads block until their context ends
}

func (d *drawn) Source() record.Source { return d.source }

func (d *drawn) Frame(ctx context.Context, index int) (*picture.Frame, error) {
	d.read = append(d.read, index)
	if d.hang {
		<-ctx.Done()
		return nil, ctx.Err()
	}
	if err := d.lost[index]; err != nil {
		return nil, err
	}
	if index < 0 || index >= d.source.Frames {
		return nil, io.EOF
	}
	width := d.source.Width
	if d.resized[index] {
		width /= 2
	}
	p := picture.Plane{Width: width, Height: d.source.Height, Stride: width}
	p.Pix = make([]uint16, p.Stride*p.Height)
	for y := range p.Height {
		for x := range p.Width {
			p.Row(y)[x] = uint16(4*x + y + index)
		}
	}
	return &picture.Frame{Planes: []picture.Plane{p}, Depth: 10, Index: index,
		PixelAspect: d.source.PixelAspect, Time: time.Duration(index) * 40 * time.Millisecond}, nil
}

func (d *drawn) Notes() []record.Note {
	return []record.Note{{Text: "drawn " + d.source.Path, Count: len(d.read)}}
}

func (d *drawn) Close() error {
	d.closed = true
	return nil
}

func newDrawn(path string, frames int) *drawn {
	return &drawn{source: record.Source{Path: path, Codec: "drawn", Width: 64, Height: 36, Frames: frames,
		RateNum: 25, RateDen: 1, Timecode: "10:00:00:00"}}
}

// folder opens drawn files by their paths.
type folder map[string]*drawn

func (f folder) open(ctx context.Context, path string) (Reader, error) {
	if d, ok := f[path]; ok {
		return d, nil
	}
	return nil, fmt.Errorf("open %s: no such file", path)
}

// probe measures the places of the pictures: the sample at the top left of
// each eye and their size.
var probe = []metrics.Metric{
	{Name: "left", Measure: func(p *metrics.Pair) stat.Measurement {
		return stat.Measured(float64(p.Left.Planes[0].Row(0)[0]), 0)
	}},
	{Name: "right", Measure: func(p *metrics.Pair) stat.Measurement {
		return stat.Measured(float64(p.Right.Planes[0].Row(0)[0]), 0)
	}},
	{Name: "aspect", Measure: func(p *metrics.Pair) stat.Measurement { return stat.Measured(p.Left.Aspect(), 0) }},
}

func separate(left, right string) record.Clip {
	return record.Clip{Name: "a", Left: left, Right: right, Packing: record.Separate}
}

func measured(t *testing.T, files folder, job Job) record.Record {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, measure(t.Context(), &out, job, files.open, probe))
	record, err := record.Read(&out)
	require.NoError(t, err)
	for _, file := range files {
		require.True(t, file.closed, file.source.Path)
	}
	return record
}

func values(m record.Moment) (left, right float64) {
	return m.Values["left"].Value, m.Values["right"].Value
}

func TestMeasureSeparateFiles(t *testing.T) {
	files := folder{"l": newDrawn("l", 240), "r": newDrawn("r", 250)}
	rec := measured(t, files, Job{Clip: separate("l", "r"), Fingerprint: "f"})

	h := rec.Header
	require.Equal(t, "f", h.Fingerprint)
	require.Equal(t, record.Setup{Packing: record.Separate, Order: record.OrderUnknown}, h.Setup)
	require.Equal(t, []int{64, 36, 24}, []int{h.EyeWidth, h.EyeHeight, h.Planned})
	require.Equal(t, files["l"].source, h.Left)
	require.Equal(t, files["r"].source, h.Right)

	require.Len(t, rec.Moments, 24)
	for i, m := range rec.Moments {
		require.Equal(t, 5+10*i, m.Frame, "the plan of the shorter file")
		left, right := values(m)
		require.Equal(t, float64(m.Frame), left)
		require.Equal(t, float64(m.Frame), right)
		require.Equal(t, time.Duration(m.Frame)*40*time.Millisecond, m.Time)
		require.Equal(t, record.Timecode("10:00:00:00", 25, 1, m.Frame), m.Timecode)
		for _, picture := range [][]byte{m.Left, m.Right} {
			decoded, err := jpeg.Decode(bytes.NewReader(picture))
			require.NoError(t, err)
			require.Equal(t, 384, decoded.Bounds().Dx())
			require.Equal(t, 216, decoded.Bounds().Dy())
		}
	}
	require.Equal(t, record.Trailer{Done: true, Left: []record.Note{{Text: "drawn l", Count: 24 + looks}}, Right: []record.Note{{Text: "drawn r", Count: 24 + looks}}}, rec.Trailer)
}

func TestMeasureWritesMomentsByPasses(t *testing.T) {
	files := folder{"l": newDrawn("l", 240), "r": newDrawn("r", 240)}
	measured(t, files, Job{Clip: separate("l", "r"), Plan: Plan{Samples: 6}})
	require.Equal(t, []int{30, 90, 150, 210}, files["l"].read[:looks], "the glance at how the eyes stand")
	require.Equal(t, []int{60, 140, 220, 20, 100, 180}, files["l"].read[looks:])
	require.Equal(t, files["l"].read, files["r"].read)
}

func TestMeasureUndoesTheContainersOrientation(t *testing.T) {
	files := folder{"l": newDrawn("l", 1), "r": newDrawn("r", 1)}
	files["r"].source.Orientation = picture.Turn
	record := measured(t, files, Job{Clip: separate("l", "r")})
	left, right := values(record.Moments[0])
	require.Equal(t, 0.0, left)
	require.Equal(t, 4*63.0+35, right, "the corner that was at the bottom right")
	require.Equal(t, "right turn", record.Header.Setup.Orientation())
}

func TestMeasurePackedFiles(t *testing.T) {
	const far = 4 * 32 // the sample where the right half begins
	tests := []struct {
		name          string
		packing       record.Packing // of the clip
		source        func(*record.Source)
		width, height int // of an eye
		left, right   float64
		aspect        float64
	}{
		{"side by side, squeezed", record.SideBySide, nil, 32, 36, 0, far, 2},
		{"side by side, whole", record.SideBySide, func(s *record.Source) { s.Width, s.Height = 64, 18 }, 32, 18, 0, far, 1},
		{"side by side, square eyes", record.SideBySide, func(s *record.Source) { s.Width, s.Height = 64, 32 }, 32, 32, 0, far, 1},
		{"top and bottom, squeezed", record.TopBottom, nil, 64, 18, 0, 18, 0.5},
		{"top and bottom, whole", record.TopBottom, func(s *record.Source) { s.Height = 72 }, 64, 36, 0, 36, 1},
		{"by its tag", "", func(s *record.Source) { s.Packing = record.SideBySide }, 32, 36, 0, far, 2},
		{"right eye first", "", func(s *record.Source) { s.Packing, s.Inverted = record.TopBottom, true }, 64, 18, 18, 0, 0.5},
		{"pixels told to be wide", record.SideBySide, func(s *record.Source) { s.PixelAspect = 2 }, 32, 36, 0, far, 2},
		{"second eye mirrored", record.SideBySide, func(s *record.Source) { s.MirroredEye = 2 }, 32, 36, 0, 4 * 63, 2},
		{"first eye mirrored", record.TopBottom, func(s *record.Source) { s.MirroredEye = 1 }, 64, 18, 17, 18, 0.5},
		{"first eye mirrored, right eye first", record.TopBottom, func(s *record.Source) { s.MirroredEye, s.Inverted = 1, true }, 64, 18, 18, 17, 0.5},
		{"turned as a whole", record.SideBySide, func(s *record.Source) { s.Orientation = picture.Flop }, 32, 36, 4 * 63, 4 * 31, 2},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			files := folder{"both": newDrawn("both", 1)}
			if tt.source != nil {
				tt.source(&files["both"].source)
			}
			record := measured(t, files, Job{Clip: record.Clip{Name: "a", Left: "both", Packing: tt.packing}})
			require.Empty(t, record.Trailer.Failed)
			h := record.Header
			require.Equal(t, []int{tt.width, tt.height}, []int{h.EyeWidth, h.EyeHeight})
			require.Equal(t, h.Left, h.Right)
			left, right := values(record.Moments[0])
			require.Equal(t, tt.left, left)
			require.Equal(t, tt.right, right)
			require.Equal(t, tt.aspect, record.Moments[0].Values["aspect"].Value)
			require.Equal(t, tt.aspect, h.PixelAspect)
			require.Empty(t, record.Trailer.Right, "one file's notes come once")
		})
	}
}

func TestMeasureUndoesASlipAndAnExchange(t *testing.T) {
	files := folder{"l": newDrawn("l", 100), "r": newDrawn("r", 100)}
	f, err := openFootage(t.Context(), separate("l", "r"), files.open)
	require.NoError(t, err)
	defer f.close()
	f.setup = record.Setup{Packing: record.Separate, Slip: 7}
	first, count := f.overlap()
	require.Equal(t, []int{0, 93}, []int{first, count})
	f.setup.Slip = -7
	f.setup.Order = record.Swapped
	first, count = f.overlap()
	require.Equal(t, []int{7, 93}, []int{first, count})
	now := <-f.read(t.Context(), []int{20})
	require.Equal(t, []int{20, 13, 20}, []int{now.frame, now.left.Index, now.right.Index})
}

func TestMeasureLosesOnlyTheMoment(t *testing.T) {
	files := folder{"l": newDrawn("l", 240), "r": newDrawn("r", 240)}
	files["l"].lost = map[int]error{25: errors.New("bad packet")}
	files["r"].lost = map[int]error{25: errors.New("bad packet"), 45: io.EOF}
	files["r"].resized = map[int]bool{65: true}
	rec := measured(t, files, Job{Clip: separate("l", "r")})
	require.Empty(t, rec.Trailer.Failed)
	require.Len(t, rec.Moments, 21)
	require.ElementsMatch(t, []int{25, 45, 65}, rec.Trailer.Lost)
	require.Equal(t, []record.Note{{Text: "drawn l", Count: 24 + looks}, {Text: "frame 25: bad packet", Count: 1}}, rec.Trailer.Left)
	require.Equal(t, []record.Note{
		{Text: "drawn r", Count: 24 + looks},
		{Text: "frame 45: past the end of the file", Count: 1},
		{Text: "frame 25: bad packet", Count: 1},
		{Text: "frame 65: a picture of 32×36 pixels among pictures of 64×36", Count: 1},
	}, rec.Trailer.Right)
}

func TestMeasureTellsOnceWhatIsWrongWithOneFile(t *testing.T) {
	files := folder{"both": newDrawn("both", 24)}
	files["both"].lost = map[int]error{5: errors.New("bad packet")}
	files["both"].resized = map[int]bool{7: true}
	record := measured(t, files, Job{Clip: record.Clip{Left: "both", Packing: record.SideBySide}})
	require.ElementsMatch(t, []int{5, 7}, record.Trailer.Lost)
	require.Len(t, record.Trailer.Left, 3)
	require.Empty(t, record.Trailer.Right)
}

func TestMeasureFails(t *testing.T) {
	tests := []struct {
		name  string
		clip  record.Clip
		files func(folder)
		says  string
	}{
		{"no left file", separate("?", "r"), nil, "open ?: no such file"},
		{"no right file", separate("l", "?"), nil, "open ?: no such file"},
		{"neither file", separate("?", "!"), nil, "open ?: no such file; open !: no such file"},
		{"no packed file", record.Clip{Left: "?", Packing: record.SideBySide}, nil, "open ?: no such file"},
		{"different sizes", separate("l", "r"), func(f folder) { f["r"].source.Width = 32 },
			"the eyes differ in size: left 64×36, right 32×36 pixels"},
		{"no frames", separate("l", "r"), func(f folder) { f["r"].source.Frames = 0 }, "no frame that both eyes have"},
		{"unpacked single file", record.Clip{Left: "l"}, nil, "nothing says how it holds them"},
		{"a packing that is none of ours", record.Clip{Left: "l", Packing: "laced"}, nil, `"laced"`},
		{"too small to be packed", record.Clip{Left: "l", Packing: record.TopBottom}, func(f folder) { f["l"].source.Height = 1 }, "too small"},
		{"two packed files", record.Clip{Left: "l", Right: "r", Packing: record.TopBottom}, nil, "two files cannot both be top and bottom"},
		{"too many lost", separate("l", "r"), func(f folder) {
			f["r"].lost = map[int]error{}
			for i := range 50 {
				f["r"].lost[i] = errors.New("bad packet")
			}
		}, "only 12 of 24 moments could be read: bad packet"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			files := folder{"l": newDrawn("l", 100), "r": newDrawn("r", 100)}
			if tt.files != nil {
				tt.files(files)
			}
			var out bytes.Buffer
			require.NoError(t, measure(t.Context(), &out, Job{Clip: tt.clip}, files.open, probe))
			record, err := record.Read(&out)
			require.NoError(t, err)
			require.Contains(t, record.Trailer.Failed, tt.says)
			require.Equal(t, tt.clip, record.Header.Clip)
			for name, file := range files {
				opened := name == tt.clip.Left || name == tt.clip.Right
				require.Equal(t, opened, file.closed, name)
			}
		})
	}
}

func TestMeasureEndsWithThePassWhenTheNightEnds(t *testing.T) {
	files := folder{"l": newDrawn("l", 240), "r": newDrawn("r", 240)}
	record := measured(t, files, Job{Clip: separate("l", "r"), Until: time.Now().Add(-time.Hour)})
	require.Len(t, record.Moments, 3, "the first pass")
	require.True(t, record.Trailer.Short)
	require.Empty(t, record.Trailer.Failed)

	files = folder{"l": newDrawn("l", 3), "r": newDrawn("r", 3)}
	record = measured(t, files, Job{Clip: separate("l", "r"), Until: time.Now().Add(-time.Hour)})
	require.False(t, record.Trailer.Short, "one pass is all of it")

	files = folder{"l": newDrawn("l", 240), "r": newDrawn("r", 240)}
	record = measured(t, files, Job{Clip: separate("l", "r"), Until: time.Now().Add(time.Hour)})
	require.Len(t, record.Moments, 24)
	require.False(t, record.Trailer.Short)
}

func TestMeasureStopsWithItsContext(t *testing.T) {
	files := folder{"l": newDrawn("l", 240), "r": newDrawn("r", 240)}
	files["r"].hang = true
	ctx, cancel := context.WithCancel(t.Context())
	var out bytes.Buffer
	done := make(chan error)
	go func() { done <- measure(ctx, &out, Job{Clip: separate("l", "r")}, files.open, probe) }()
	cancel()
	require.ErrorIs(t, <-done, context.Canceled)
	require.True(t, files["l"].closed)
	require.True(t, files["r"].closed)
	_, err := record.Read(&out)
	require.ErrorIs(t, err, record.ErrTruncated)
}

// fullAfter takes so many lines and then is full.
type fullAfter int

var errFull = errors.New("full")

func (f *fullAfter) Write(p []byte) (int, error) {
	if *f == 0 {
		return 0, errFull
	}
	*f--
	return len(p), nil
}

func TestMeasureStopsWhenNobodyTakesTheRecord(t *testing.T) {
	for lines := range 5 {
		files := folder{"l": newDrawn("l", 3), "r": newDrawn("r", 3)}
		w := fullAfter(lines)
		err := measure(t.Context(), &w, Job{Clip: separate("l", "r")}, files.open, probe)
		require.ErrorIs(t, err, errFull, "after %d lines", lines)
	}
}

// The same clip gives the same bytes, whichever eye is decoded first.
func TestMeasureIsRepeatable(t *testing.T) {
	run := func() string {
		files := folder{"l": newDrawn("l", 50), "r": newDrawn("r", 50)}
		var out strings.Builder
		require.NoError(t, measure(t.Context(), &out, Job{Clip: separate("l", "r")}, files.open, probe))
		return out.String()
	}
	first := run()
	for range 5 {
		require.Equal(t, first, run())
	}
}
