package measure_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
	"nightpair/qc/judge"
	"nightpair/qc/measure"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

// Faults of the right eye in a part of a shot: drawn scenes are filmed once, and each fault is
// put into the right eye's frames as an editor's filters would.

// takeFrames and takeRate are those of the drawn takes, four seconds.
const (
	takeFrames = 96
	takeRate   = 24
)

// take is a scene that was filmed.
type take struct {
	name        string
	left, right []*picture.Frame
}

// film draws a scene from some time on, at 640 × 360 pixels with noise.
func film(t testing.TB, name string, from float64, shot synth.Shot) *take {
	t.Helper()
	s, ok := synth.Named(name)
	require.True(t, ok, name)
	shot.Scene, shot.Width, shot.Height, shot.Noise = s, 640, 360, 1.5
	k := &take{name: name, left: make([]*picture.Frame, takeFrames), right: make([]*picture.Frame, takeFrames)}
	for i := range takeFrames {
		at := from + float64(i)/takeRate
		k.left[i], k.right[i] = shot.Eye(synth.LeftEye, at), shot.Eye(synth.RightEye, at)
	}
	return k
}

// fault is what is wrong with the right eye in one frame.
type fault struct {
	offset, roll, zoom float64 // % of height, degrees, %
	exposure           float64 // stops
	softness           float64 // px of 1920
}

// scaled returns the fault at a share of its size.
func (f fault) scaled(by float64) fault {
	return fault{f.offset * by, f.roll * by, f.zoom * by, f.exposure * by, f.softness * by}
}

// faulty returns the frame with the fault put into it.
func faulty(f *picture.Frame, with fault) *picture.Frame {
	if with == (fault{}) {
		return f
	}
	out := *f
	out.Planes = slices.Clone(f.Planes)
	signal := f.Signal()
	gain := math.Pow(2, with.exposure/2.4) // BT.1886
	top := float64(int(1)<<f.Depth - 1)
	for k, p := range f.Planes {
		zero := float64(signal.Black)
		if k > 0 {
			zero = float64(int(1) << (f.Depth - 1))
		}
		wide := float64(p.Width) / float64(f.Planes[0].Width) // of a chroma sample
		q := picture.Plane{Width: p.Width, Height: p.Height, Stride: p.Width, Pix: make([]uint16, p.Width*p.Height)}
		angle := with.roll * math.Pi / 180
		sin, cos, scale := math.Sin(angle), math.Cos(angle), 1+with.zoom/100
		cx, cy := float64(p.Width-1)/2, float64(p.Height-1)/2
		down := with.offset / 100 * float64(p.Height)
		values := make([]float64, p.Width*p.Height)
		for y := range p.Height {
			for x := range p.Width {
				// Where what is shown here stood before.
				dx, dy := (float64(x)-cx)/wide, float64(y)-cy-down
				sx, sy := (cos*dx+sin*dy)/scale*wide+cx, (-sin*dx+cos*dy)/scale+cy
				values[y*p.Width+x] = cubicAt(p, sx, sy)
			}
		}
		if with.softness != 0 {
			sigma := with.softness * float64(f.Width()) / 1920
			values = gaussian(values, p.Width, p.Height, sigma*wide, sigma)
		}
		for i, v := range values {
			q.Pix[i] = uint16(min(max((v-zero)*gain+zero+0.5, 0), top))
		}
		out.Planes[k] = q
	}
	return &out
}

// cubicAt interpolates by cubic convolution (R. Keys, IEEE Trans. ASSP 29(6), 1981) and repeats
// the rim.
func cubicAt(p picture.Plane, x, y float64) float64 {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	weights := func(t float64) [4]float64 {
		return [4]float64{((-t+2)*t - 1) * t / 2, ((3*t-5)*t*t + 2) / 2, ((-3*t+4)*t + 1) * t / 2, (t - 1) * t * t / 2}
	}
	h, v := weights(x-float64(x0)), weights(y-float64(y0))
	sum := 0.0
	for j := range 4 {
		row := p.Row(min(max(y0-1+j, 0), p.Height-1))
		for i := range 4 {
			sum += v[j] * h[i] * float64(row[min(max(x0-1+i, 0), p.Width-1)])
		}
	}
	return sum
}

// gaussian blurs by so many pixels across and down. It is the discrete Gaussian of small binomial
// steps, whose variance is exact however small it is (T. Lindeberg, IEEE Trans. PAMI 12(3), 1990;
// from memory).
func gaussian(pix []float64, w, h int, across, down float64) []float64 {
	pass := func(src []float64, n, lines, step, stride int, variance float64) []float64 {
		rounds := int(math.Ceil(variance / 0.25))
		aside := variance / float64(2*rounds)
		for range rounds {
			dst := make([]float64, len(src))
			for l := range lines {
				at := func(i int) float64 { return src[l*stride+min(max(i, 0), n-1)*step] }
				for i := range n {
					dst[l*stride+i*step] = (1-2*aside)*at(i) + aside*(at(i-1)+at(i+1))
				}
			}
			src = dst
		}
		return src
	}
	return pass(pass(pix, w, h, 1, w, across*across), h, w, w, 1, down*down)
}

// eye reads the frames of one eye as a file would be read.
type eye struct {
	path   string
	frames []*picture.Frame
	faults func(i int) fault
	mutex  sync.Mutex
	made   map[int]*picture.Frame
}

func (e *eye) Source() record.Source {
	return record.Source{Path: e.path, Codec: "drawn", Width: 640, Height: 360, Depth: 10, PixelAspect: 1,
		Frames: len(e.frames), RateNum: takeRate, RateDen: 1, Timecode: "10:00:00:00"}
}

func (e *eye) Frame(_ context.Context, i int) (*picture.Frame, error) {
	if i < 0 || i >= len(e.frames) {
		return nil, io.EOF
	}
	e.mutex.Lock()
	defer e.mutex.Unlock()
	if e.made[i] == nil {
		f := *faulty(e.frames[i], e.faults(i))
		f.Index, f.Time = i, time.Duration(i)*time.Second/takeRate
		e.made[i] = &f
	}
	return e.made[i], nil
}

func (e *eye) Luma(ctx context.Context, i int) (*picture.Frame, error) { return e.Frame(ctx, i) }

func (e *eye) Small(ctx context.Context, i int) (*picture.Reduced, error) {
	f, err := e.Frame(ctx, i)
	if err != nil {
		return nil, err
	}
	return picture.Reduce(f), nil
}

func (e *eye) Notes() []record.Note { return nil }
func (e *eye) Close() error         { return nil }

// measured measures a take with faults in its right eye.
func (k *take) measured(t testing.TB, faults func(i int) fault) record.Record {
	t.Helper()
	none := func(int) fault { return fault{} }
	files := map[string]*eye{
		"left":  {path: "left", frames: k.left, faults: none, made: map[int]*picture.Frame{}},
		"right": {path: "right", frames: k.right, faults: faults, made: map[int]*picture.Frame{}},
	}
	open := func(_ context.Context, path string) (measure.Reader, error) { return files[path], nil }
	var out bytes.Buffer
	job := measure.Job{Clip: record.Clip{Name: k.name, Left: "left", Right: "right", Packing: record.Separate}}
	require.NoError(t, measure.Clip(t.Context(), &out, job, open))
	r, err := record.Read(&out)
	require.NoError(t, err)
	return r
}

// kind is a kind of fault with the metrics that may tell it.
type kind struct {
	name string
	put  func(size float64) fault
	told []string
}

var kinds = []kind{
	{metrics.VerticalOffset, func(v float64) fault { return fault{offset: v} }, []string{metrics.VerticalOffset, metrics.VerticalWorst}},
	{metrics.Roll, func(v float64) fault { return fault{roll: v} }, []string{metrics.Roll, metrics.VerticalWorst}},
	{metrics.Zoom, func(v float64) fault { return fault{zoom: v} }, []string{metrics.Zoom, metrics.VerticalWorst}},
	{metrics.Exposure, func(v float64) fault { return fault{exposure: v} }, []string{metrics.Exposure, metrics.ColourDifference}},
	{metrics.Softness, whateverSign(func(v float64) fault { return fault{softness: v} }), []string{metrics.Softness, metrics.SoftnessNear, metrics.SoftnessFar}},
}

// whateverSign makes a fault of the size whatever its sign: one eye can only be softer.
func whateverSign(put func(float64) fault) func(float64) fault {
	return func(v float64) fault { return put(math.Abs(v)) }
}

// shape is how a fault comes and goes: its share of the full size in a frame, from an onset on.
type shape struct {
	name  string
	lasts int // frames; 0 to the end
	share func(since int) float64
}

var shapes = []shape{
	{"step", 0, func(since int) float64 { return 1 }},
	{"ramp", 0, func(since int) float64 { return min(float64(since)/(1.5*takeRate), 1) }},
	{"jolt of a second", takeRate, func(since int) float64 { return 1 }},
	{"blip of half a second", takeRate / 2, func(since int) float64 { return 1 }},
}

// warnLimit is the limit to warn on a stretch of a metric.
func warnLimit(t testing.TB, limits []judge.Limit, metric string) float64 {
	for _, l := range limits {
		if l.Metric == metric && l.Statistic == judge.Stretch && l.Severity == judge.Warn {
			return l.High
		}
	}
	t.Fatalf("no limit on stretches of %s", metric)
	return 0
}

// TestFaultsInAPartOfAShot puts faults into a part of drawn takes: at one and a half times the
// limits to warn of both sets they are to be told, at twice the limits none may pass.
func TestFaultsInAPartOfAShot(t *testing.T) {
	sets := map[string][]judge.Limit{}
	for _, set := range judge.LimitSets {
		sets[set.Name], _ = set.Limits().On(screen.Screen{})
	}
	scenes, perScene := []string{"street"}, 2
	if synth.LongSweeps() {
		scenes, perScene = nil, 12
		for _, s := range synth.Scenes {
			scenes = append(scenes, s.Name)
		}
	}
	rng := rand.New(rand.NewPCG(18, 2))
	type tally struct{ told, all int }
	tallies := map[string]*tally{}
	count := func(told bool, keys ...string) {
		for _, key := range keys {
			if tallies[key] == nil {
				tallies[key] = &tally{}
			}
			tallies[key].all++
			if told {
				tallies[key].told++
			}
		}
	}
	turn := 0
	for _, name := range scenes {
		k := film(t, name, 0.5, synth.Shot{})
		clean := k.measured(t, func(int) fault { return fault{} })
		for set, limits := range sets {
			v := judge.Clips([]record.Record{clean}, limits)[0]
			for _, f := range v.Findings {
				t.Logf("%s is clean: %s %s: %s", name, set, f.Status, f.Detail)
			}
		}
		for range perScene {
			kind, shape := kinds[turn%len(kinds)], shapes[turn/len(kinds)%len(shapes)]
			turn++
			set := judge.LimitSets[rng.IntN(2)].Name
			if kind.name == metrics.Softness {
				set = "viewer" // the limits of the rig are a sixth of a pixel here, less than noise leaves
			}
			times := []float64{1.5, 2}[rng.IntN(2)]
			size := times * warnLimit(t, sets[set], kind.name)
			if rng.IntN(2) == 0 {
				size = -size
			}
			last := takeFrames - max(shape.lasts, takeRate)
			onset := last * (1 + rng.IntN(5)) / 6
			r := k.measured(t, func(i int) fault {
				since := i - onset
				if since < 0 || shape.lasts > 0 && since >= shape.lasts {
					return fault{}
				}
				return kind.put(size).scaled(shape.share(since))
			})
			v := judge.Clips([]record.Record{r}, sets[set])[0]
			told := slices.ContainsFunc(v.Findings, func(f judge.Finding) bool {
				return slices.Contains(kind.told, f.Limit.Metric) && f.Status != judge.Unmeasured
			})
			count(told, kind.name, shape.name, set, fmt.Sprintf("%.1f times", times), "all")
			if !told {
				t.Logf("%s: not told: %s %.3f as a %s from frame %d by %s: %s %s", name, kind.name, size, shape.name, onset, set, v.Status, details(v))
			}
			if times == 2 && v.Status == judge.Passed {
				t.Errorf("%s: passed: %s %.3f as a %s from frame %d by %s", name, kind.name, size, shape.name, onset, set)
			}
		}
	}
	for key, n := range tallies {
		t.Logf("%s: %d of %d told", key, n.told, n.all)
	}
	require.GreaterOrEqual(t, float64(tallies["all"].told), 0.95*float64(tallies["all"].all))
}

func details(v judge.Verdict) string {
	var all []string
	for _, f := range v.Findings {
		all = append(all, f.Detail)
	}
	return strings.Join(all, " | ")
}
