package measure

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
	"nightpair/metrics/timing"
	"nightpair/qc/judge"
	"nightpair/qc/record"
)

// filmed is a file of one eye of a drawn scene, which can be scanned.
type filmed struct {
	source record.Source
	shot   synth.Shot
	eye    synth.Eye
	// instants holds, for each frame, which frame of the shot it shows.
	instants []int
	black    int // the frame that shows nothing, 0 for none
	frames   int // frames read in full
}

func (f *filmed) Source() record.Source { return f.source }
func (f *filmed) Notes() []record.Note  { return nil }
func (f *filmed) Close() error          { return nil }

func (f *filmed) read(index int, shot synth.Shot) (*picture.Frame, error) {
	if index < 0 || index >= len(f.instants) {
		return nil, io.EOF
	}
	frame := *rendered(shot, f.eye, f.instants[index])
	if f.black > 0 && index == f.black {
		w, h := frame.Width(), frame.Height()
		frame.Layout, frame.Planes = picture.Grey, []picture.Plane{{Width: w, Height: h, Stride: w, Pix: make([]uint16, w*h)}}
	}
	frame.Index, frame.Time = index, f.Time(index)
	return &frame, nil
}

var renderings sync.Map // view → *metrics.Frame

// rendered draws a view of a shot, once for all tests.
func rendered(shot synth.Shot, eye synth.Eye, instant int) *picture.Frame {
	type view struct {
		scene          string
		late, skew     float64
		width, instant int
		eye            synth.Eye
	}
	v := view{scene: shot.Scene.Name, width: shot.Width, instant: instant, eye: eye}
	if eye == synth.RightEye {
		v.late, v.skew = shot.Late, shot.Skew
	}
	if frame, ok := renderings.Load(v); ok {
		return frame.(*picture.Frame)
	}
	frame := shot.Eye(eye, float64(instant)/shot.Rate)
	renderings.Store(v, frame)
	return frame
}

// Time is even, unless the file says that it is not: then frames come when they
// were filmed.
func (f *filmed) Time(index int) time.Duration {
	if f.source.Variable {
		index = f.instants[index] - f.instants[0]
	}
	return time.Duration(float64(index) / f.shot.Rate * 1e9)
}

func (f *filmed) Frame(ctx context.Context, index int) (*picture.Frame, error) {
	f.frames++
	return f.read(index, f.shot)
}

func (f *filmed) Luma(ctx context.Context, index int) (*picture.Frame, error) {
	small := f.shot
	small.Width, small.Height = 64, 36
	return f.read(index, small)
}

func (f *filmed) Small(ctx context.Context, index int) (*picture.Reduced, error) {
	return reduced(f.Luma(ctx, index))
}

func reduced(frame *picture.Frame, err error) (*picture.Reduced, error) {
	if err != nil {
		return nil, err
	}
	return picture.Reduce(frame), nil
}

// shooting is the files of a drawn clip.
type shooting map[string]*filmed

func (s shooting) open(ctx context.Context, path string) (Reader, error) {
	if f, ok := s[path]; ok {
		return f, nil
	}
	return nil, fmt.Errorf("no file %s", path)
}

// shoot films frames of a scene; the right eye's file shows the same instants
// slip frames later.
func shoot(shot synth.Shot, frames, slip int) shooting {
	s := shooting{}
	for name, eye := range map[string]synth.Eye{"l": synth.LeftEye, "r": synth.RightEye} {
		f := &filmed{shot: shot, eye: eye}
		f.source = record.Source{Path: name, Width: shot.Width, Height: shot.Height, RateNum: int(shot.Rate), RateDen: 1, Frames: frames, PixelAspect: 1}
		for i := range frames {
			if eye == synth.RightEye {
				i -= slip
			}
			f.instants = append(f.instants, i)
		}
		s[name] = f
	}
	return s
}

func (f *filmed) without(frame int) {
	f.instants = append(f.instants[:frame], f.instants[frame+1:]...)
	f.source.Frames--
}

// timings are the metrics that take a whole clip, and one that takes moments.
func timings(t *testing.T) []metrics.Metric {
	list := []metrics.Metric{{Name: "index", Measure: func(p *metrics.Pair) stat.Measurement {
		return stat.Measured(float64(p.Right.Index-p.Left.Index), 0)
	}}}
	for _, name := range []string{"sync_offset", "readout_skew"} {
		m, ok := metrics.Lookup(name)
		require.True(t, ok)
		list = append(list, m)
	}
	return list
}

func (s shooting) measure(t *testing.T) record.Record {
	var out bytes.Buffer
	require.NoError(t, measure(t.Context(), &out, Job{Clip: separate("l", "r"), Plan: Plan{Samples: 3}}, s.open, timings(t)))
	record, err := record.Read(&out)
	require.NoError(t, err)
	require.Empty(t, record.Trailer.Failed)
	return record
}

func crowd(t *testing.T) synth.Shot {
	scene, ok := synth.Named("crowd")
	require.True(t, ok)
	return synth.Shot{Scene: scene, Width: 256, Height: 144, Rate: 24, Noise: 0.5}
}

// A right eye that is 6.7 frames late, and a frame that the right eye's
// file lacks from its 200th on.
func TestMeasureFindsTimingBeforeAllElse(t *testing.T) {
	shot := crowd(t)
	shot.Late = 6.7
	files := shoot(shot, 264, 0)
	files["r"].without(200)
	rec := files.measure(t)

	sync := rec.Header.Sync
	require.Equal(t, 264, sync.Scanned)
	require.True(t, sync.Pictures.OK(), sync.Pictures.Missing)
	require.InDelta(t, 6.7, sync.Pictures.Value, 0.25, "7 frames late, 0.3 of one early")
	require.Equal(t, "a file has no timecode", sync.Timecode.Missing)
	require.Equal(t, 7, rec.Header.Setup.Slip)
	require.Equal(t, []timing.FrameFault{{Right: true, Kind: timing.Dropped, Frame: 200, Within: sync.Faults[0].Within, Count: 1, Step: -1, StepKnown: true}}, sync.Faults)
	require.LessOrEqual(t, sync.Faults[0].Within, 3)
	require.Equal(t, 7, sync.SlipAt(180))
	require.Equal(t, 6, sync.SlipAt(200))

	late := judge.Median.Of(rec, "sync_offset")
	require.True(t, late.OK(), late.Missing)
	require.InDelta(t, -0.3, late.Value, 0.05)
	require.LessOrEqual(t, math.Abs(late.Value+0.3), 3*late.SE)
	require.True(t, judge.Median.Of(rec, "readout_skew").OK())
	require.InDelta(t, 0, judge.Median.Of(rec, "readout_skew").Value, 0.1)
	for _, m := range rec.Moments {
		slip := 7.0
		if m.Frame >= 193 {
			slip = 6
		}
		if !nearByNumber(sync, m.Frame) {
			require.Equal(t, slip, m.Values["index"].Value, "moments are measured in step, frame %d", m.Frame)
		}
		require.NotContains(t, m.Values, "sync_offset")
	}
	require.Greater(t, rec.Moments[len(rec.Moments)-1].Frame, 200)

	v := judge.Clips([]record.Record{rec}, []judge.Limit{
		{Metric: "sync_offset", Statistic: judge.Median, Low: -0.1, High: 0.1, Severity: judge.Fail},
		{Metric: "dropped_frames", Statistic: judge.Fact, Low: math.Inf(-1), Severity: judge.Fail},
		{Metric: "repeated_frames", Statistic: judge.Fact, Low: math.Inf(-1), Severity: judge.Fail},
	})[0]
	require.Equal(t, judge.Failed, v.Status)
	found := map[string]judge.Finding{}
	for _, f := range v.Findings {
		found[f.Limit.Metric] = f
	}
	require.Len(t, found, 3, "slip, sync offset, dropped frames")
	require.Equal(t, judge.Post, found["slip"].Mend)
	require.Equal(t, 7.0, found["slip"].Value)
	require.Equal(t, "The right eye is 7 frames late. Slip it 7 frames earlier in post.", found["slip"].Detail)
	require.Equal(t, 7, judge.Correct(rec, nil).Slip, "frames by which to play it earlier")
	require.Contains(t, found["sync_offset"].Detail, "The right eye is early by 0.3")
	require.Equal(t, judge.Reshoot, found["sync_offset"].Mend)
	require.Equal(t, 193, found["dropped_frames"].Worst)
	require.Contains(t, found["dropped_frames"].Detail, "The right eye dropped 1 frame.")
	require.Len(t, found["dropped_frames"].Notes, 1)
	require.Contains(t, found["dropped_frames"].Notes[0], "The right eye dropped 1 frame before frame 200")
	require.Contains(t, found["dropped_frames"].Notes[0], "from there on the right eye is 1 frame further ahead")
}

// A delay of half a frame leaves it open which of two slips it is; the bursts tell.
func TestBurstsTellARoughSlip(t *testing.T) {
	shot := handHeld(t, "yard")
	shot.Late = 0.5
	record := shoot(shot, 50, 0).measure(t)
	sync := record.Header.Sync
	require.True(t, sync.Rough.OK(), "%v", sync)
	require.InDelta(t, 0.5, sync.Rough.Value, 0.4)
	require.True(t, sync.Pictures.OK())
	require.InDelta(t, 0.5, sync.Pictures.Value, 0.05)
	require.InDelta(t, 0.5, float64(record.Header.Setup.Slip)+judge.Median.Of(record, "sync_offset").Value, 0.05)
}

// Where nothing moves, nothing is said of the timing; then the timecode decides.
func TestMeasureTakesTheTimecodeWherePicturesAreStill(t *testing.T) {
	shot := crowd(t)
	world := shot.Scene.World(0)
	shot.Scene.World, shot.Scene.Name = func(float64) synth.World { return world }, "still"
	files := shoot(shot, 150, 0)
	files["l"].source.Timecode, files["r"].source.Timecode = "10:00:00:05", "10:00:00:02"
	record := files.measure(t)
	sync := record.Header.Sync
	require.Contains(t, sync.Pictures.Missing, "not observable")
	require.Equal(t, stat.Measured(3, 0), sync.Timecode)
	require.Equal(t, 3, record.Header.Setup.Slip)
	require.Empty(t, sync.Faults)
	require.Equal(t, "not observable: too little vertical motion", judge.Median.Of(record, "sync_offset").Missing)
	require.Equal(t, 3, files["l"].frames-looks, "no burst is decoded where nothing moves")
}

// listening is a file with sound.
type listening struct {
	*filmed
	sound []float32
}

func (l *listening) Sound(ctx context.Context, length time.Duration) ([]float32, int, error) {
	return l.sound, 48000, nil
}

// Sound comes before the timecode: 48 kHz at 24 frames are 2000 samples a frame.
func TestSlipBySound(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	noise := make([]float32, 200000)
	for i := range noise {
		noise[i] = float32(rng.NormFloat64())
	}
	files := shoot(crowd(t), 100, 0)
	left := &listening{files["l"], noise[20000:]}
	right := &listening{files["r"], noise[20000-3*2000+137:]} // hears the same almost three frames later
	f := &footage{left: left, right: right}
	m := f.slipBySound(t.Context())
	require.True(t, m.OK(), m.Missing)
	require.InDelta(t, 3-137.0/2000, m.Value, 1e-3)
	require.Equal(t, "no sound", (&footage{left: files["l"], right: files["r"]}).slipBySound(t.Context()).Missing)
}

// A phone leaves out a frame now and then and says so by its time stamps: frames are
// paired by these, and what lacks is told by them.
func TestMeasureFramesOfVariableRateByTheirTimes(t *testing.T) {
	shot := crowd(t)
	shot.Late = 0.3
	files := shoot(shot, 200, 0)
	left := files["l"]
	left.instants = slices.DeleteFunc(left.instants, func(i int) bool { return i%7 == 3 })
	left.source.Frames, left.source.Variable = len(left.instants), true
	left.source.RateNum, left.source.RateDen = 24*6, 7
	for i := range files["r"].instants {
		files["r"].instants[i] -= 7 // it shows the same instants 7 frames, or 6 of the left one's, later
	}
	files["r"].instants[100] = files["r"].instants[99]
	left.black = 50
	var out bytes.Buffer
	apart := metrics.Metric{Name: "apart", Measure: func(p *metrics.Pair) stat.Measurement {
		return stat.Measured((p.Right.Time-p.Left.Time).Seconds()*24, 0)
	}}
	require.NoError(t, measure(t.Context(), &out, Job{Clip: separate("l", "r"), Plan: Plan{Samples: 12}}, files.open, append(timings(t)[1:], apart)))
	record, err := record.Read(&out)
	require.NoError(t, err)
	require.Equal(t, 6, record.Header.Setup.Slip)
	require.Len(t, record.Moments, 12)
	for _, m := range record.Moments {
		require.InDelta(t, 7, m.Values["apart"].Value, 0.51, "frame %d", m.Frame)
	}
	late := judge.Median.Of(record, "sync_offset")
	require.True(t, late.OK(), late.Missing)
	require.InDelta(t, 0.3, late.Value, 0.05)
	require.LessOrEqual(t, math.Abs(late.Value-0.3), 3*late.SE)
	fact, _ := judge.LookupFact("dropped_frames")
	require.Equal(t, 27.0, fact.Of(record).Value, "every seventh of those within the right eye's 193")
	others := map[timing.FaultKind]timing.FrameFault{}
	for _, h := range record.Header.Sync.Faults {
		if h.Kind != timing.Dropped {
			others[h.Kind] = h
			continue
		}
		require.False(t, h.Right)
		require.Equal(t, 1, left.instants[h.Frame-1]%7-1, "frame %d", h.Frame)
		require.Equal(t, left.Time(h.Frame), h.At)
	}
	fact, _ = judge.LookupFact("repeated_frames")
	require.Equal(t, 1.0, fact.Of(record).Value, fact.Of(record).Missing)
	require.True(t, others[timing.Repeated].Right)
	require.Equal(t, 100, others[timing.Repeated].Frame)
	fact, _ = judge.LookupFact("black_frames")
	require.Equal(t, 1.0, fact.Of(record).Value, fact.Of(record).Missing)
	require.False(t, others[timing.Black].Right)
	require.Equal(t, 50, others[timing.Black].Frame)
	require.InDelta(t, 2.417, others[timing.Black].At.Seconds(), 0.001)
}

// stamped is a file whose frames come when its stamps say.
type stamped struct {
	*filmed
	stamps []int // milliseconds
}

func (s *stamped) Time(i int) time.Duration { return time.Duration(s.stamps[i]) * time.Millisecond }

// What lacks by time stamps is what the other eye has more, whatever the eyes' phase is;
// what both lack, and a pace that changes by and by, are none of it.
func TestGaps(t *testing.T) {
	file := func(stamps ...int) *stamped {
		return &stamped{&filmed{source: record.Source{RateNum: 25, RateDen: 1, Frames: len(stamps), Variable: true}}, stamps}
	}
	tests := map[string]struct {
		left, right *stamped
		slip        int
		want        []timing.FrameFault
	}{
		"none":            {left: file(0, 40, 81, 119, 160), right: file(0, 41, 80, 120, 161)},
		"left":            {left: file(0, 40, 80, 160, 200), right: file(0, 40, 80, 120, 160, 200), want: []timing.FrameFault{{Kind: timing.Dropped, Frame: 3, Count: 1, StepKnown: true, At: 160 * time.Millisecond}}},
		"left, off phase": {left: file(0, 40, 80, 160, 200), right: file(20, 60, 100, 140, 180, 220), want: []timing.FrameFault{{Kind: timing.Dropped, Frame: 3, Count: 1, StepKnown: true, At: 160 * time.Millisecond}}},
		"both":            {left: file(0, 40, 80, 160, 200), right: file(0, 40, 80, 160, 200)},
		"two of right":    {left: file(0, 40, 80, 120, 160, 200), right: file(0, 40, 160, 200), want: []timing.FrameFault{{Right: true, Kind: timing.Dropped, Frame: 2, Count: 2, StepKnown: true, At: 160 * time.Millisecond}}},
		"right, later":    {left: file(0, 40, 80, 120, 160, 200), right: file(0, 40, 80, 120, 200, 240, 280), slip: 2, want: []timing.FrameFault{{Right: true, Kind: timing.Dropped, Frame: 4, Count: 1, StepKnown: true, At: 120 * time.Millisecond}}},
		"slower":          {left: file(0, 40, 80, 130, 185, 240), right: file(0, 40, 80, 120, 160, 200, 240)},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			f := &footage{left: test.left, right: test.right}
			f.setup.Slip = test.slip
			require.Equal(t, test.want, f.align(nil, record.Sync{}).Faults)
		})
	}
}

// What shows the same as the frame before it is a repeat where it comes in its time, and
// none where it follows at once.
func TestPairedFrameFaults(t *testing.T) {
	const frames, at = 40, 20
	seen := func(milliseconds int) *picture.Signature {
		const w, h = 320, 180
		pix := make([]uint16, w*h)
		for i := range pix {
			x, y := float64(i%w), float64(i/w)
			pix[i] = uint16(120 + 50*math.Sin((x+float64(milliseconds)/10)/15) + 40*math.Sin((y+x)/20))
		}
		f := picture.Frame{Layout: picture.Grey, Depth: 8, Planes: []picture.Plane{{Width: w, Height: h, Stride: w, Pix: pix}}}
		return f.Signature()
	}
	for name, c := range map[string]struct {
		after int // milliseconds from frame 19 to frame 20
		want  []timing.FrameFault
	}{
		"in its time": {41, []timing.FrameFault{{Kind: timing.Repeated, Frame: at, Count: 1, StepKnown: true, At: (19*40 + 41) * time.Millisecond}}},
		"at once":     {5, nil},
	} {
		t.Run(name, func(t *testing.T) {
			of := &stamped{&filmed{source: record.Source{RateNum: 25, RateDen: 1, Frames: frames, Variable: true}}, nil}
			other := &stamped{of.filmed, nil}
			s := &scan{}
			for i := range frames {
				stamp, instant := 40*i, 40*i
				if i == at {
					stamp, instant = 40*(at-1)+c.after, 40*(at-1)
				}
				of.stamps, other.stamps = append(of.stamps, stamp), append(other.stamps, 40*i)
				s.left, s.right = append(s.left, seen(instant)), append(s.right, seen(40*i))
			}
			if c.after < 40 { // so that the other eye moves there, too
				other.stamps[at] = of.stamps[at]
			}
			require.Equal(t, c.want, s.pairedFrameFaults(of, other, 0, false))
		})
	}
}

// Timecodes that disagree with the pictures are a finding.
func TestMeasureBelievesThePicturesBeforeTheTimecode(t *testing.T) {
	files := shoot(crowd(t), 150, -4)
	files["l"].source.Timecode, files["r"].source.Timecode = "10:00:00:00", "10:00:00:00"
	record := files.measure(t)
	require.Equal(t, -4, record.Header.Setup.Slip)
	fact, ok := judge.LookupFact("timecode_difference")
	require.True(t, ok)
	require.Equal(t, -4.0, fact.Of(record).Value)
}

func TestLongClipsAreScannedInRuns(t *testing.T) {
	require.Equal(t, [][2]int{{0, 1500}}, record.ScannedRuns(1500))
	runs := record.ScannedRuns(9000)
	require.Len(t, runs, 6)
	require.Equal(t, [2]int{0, 250}, runs[0])
	require.Equal(t, [2]int{8750, 9000}, runs[5])
	total := 0
	for i, r := range runs {
		total += r[1] - r[0]
		require.True(t, i == 0 || r[0] >= runs[i-1][1])
	}
	require.Equal(t, record.ScanFrames, total)
}

func TestUnscannedClipsSaySo(t *testing.T) {
	files := folder{"l": newDrawn("l", 60), "r": newDrawn("r", 60)}
	rec := measured(t, files, Job{Clip: separate("l", "r"), Plan: Plan{Samples: 2}})
	require.Zero(t, rec.Header.Sync.Scanned)
	require.Equal(t, record.NotScanned, rec.Header.Sync.Pictures.Missing)
	for _, name := range []string{"dropped_frames", "repeated_frames", "black_frames", "clock_drift"} {
		fact, ok := judge.LookupFact(name)
		require.True(t, ok)
		require.Equal(t, record.NotScanned, fact.Of(rec).Missing, name)
	}

	drawn := shoot(crowd(t), 100, 0)
	f := &footage{left: drawn["l"], right: drawn["r"]}
	found, seen, err := f.sync(t.Context(), time.Now().Add(-time.Second))
	require.NoError(t, err)
	require.Nil(t, seen, "the night is over")
	require.Zero(t, found.Scanned)
}
