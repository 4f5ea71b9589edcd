package metrics_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"text/tabwriter"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// sizes is how many sizes of each fault are drawn.
const sizes = 5

// fault is what is put into a rig. What is done to the picture as a whole is put in
// together: its terms stay exactly what they are. Errors of the camera change each
// other's terms in second order, so each is drawn on its own.
type fault struct {
	name string
	put  func(rig *synth.Rig, size int)
}

var faults = []fault{
	{"picture", func(rig *synth.Rig, size int) {
		rig.Picture = synth.PictureError{
			Shift: [sizes]float64{0.2, -0.7, 1.5, -3, 6}[size],
			Roll:  [sizes]float64{-0.1, 0.5, 1.1, -2.5, 5}[size],
			Zoom:  [sizes]float64{0.2, 1.2, -2.9, -5, 8}[size],
		}
	}},
	{"pan", func(rig *synth.Rig, size int) { rig.Camera.Pan = [sizes]float64{0.1, -0.3, 0.6, -1, 1.5}[size] }},
	{"tilt", func(rig *synth.Rig, size int) { rig.Camera.Tilt = [sizes]float64{0.1, -0.3, 0.6, -1, 1.5}[size] }},
	{"height", func(rig *synth.Rig, size int) {
		rig.Camera.Height = [sizes]float64{0.02, -0.04, 0.06, -0.08, 0.1}[size]
	}},
}

// term is one figure of the geometry, with what the accuracy table says of it.
type term struct {
	metric string
	fault  string // where its rows are from
	unit   string // of the table
	// scale takes a figure to the table's unit; relative says that it is per cent of
	// the truth instead.
	scale    float64
	relative bool
	truth    func(synth.Injected) float64
	recipe   func(c map[string]float64) float64 // from the recipe's coefficients
	// hidden lists scenes that do not show it: what is all at one depth, or at a
	// depth that follows the picture's height, fits as well with another camera
	// height, tilt or lens, and where all is at one parallax, lenses that bend the
	// picture look like toe-in. There the truth need only lie within three standard
	// errors.
	hidden []string
	limit  float64 // what is wanted of the worst case
	held   holding
}

// holding is what the engine is known to hold: what was measured, with a tenth in hand.
// It falls short of what is wanted, as the table says; what is worse yet is a
// regression. Better figures should be written down here.
type holding struct {
	worst  float64 // case, in the table's unit
	beyond int     // readings of the rows that are off by more than the limit
	within float64 // share of all readings within two standard errors
}

const aspect = 16.0 / 9

// dark is the scene of dark walls and few lamps, whose noise leaves less to see than what
// is wanted; in all others every reading holds it.
const dark = "night"

// lostHeld is how many of some 1800 readings are off by more than four standard errors,
// where calibrated ones would be off once in 16000.
const lostHeld = 0

var terms = []term{
	{
		metric: "vertical_offset", fault: "picture", unit: "px of 1080", scale: 10.8,
		truth:  func(in synth.Injected) float64 { return in.VerticalOffset },
		recipe: func(c map[string]float64) float64 { return 100 * c["offset"] },
		hidden: []string{"landscape", "ground"}, limit: 0.03, held: holding{0.022, 0, 0.975},
	},
	{
		metric: "roll", fault: "picture", unit: "°", scale: 1,
		truth:  func(in synth.Injected) float64 { return in.Roll },
		recipe: func(c map[string]float64) float64 { return math.Atan(c["roll"]) * 180 / math.Pi },
		limit:  0.005, held: holding{0.003, 0, 0.975},
	},
	{
		metric: "zoom", fault: "picture", unit: "%", scale: 1,
		truth:  func(in synth.Injected) float64 { return in.Zoom },
		recipe: func(c map[string]float64) float64 { return 100 * ((1+c["zoom"])*math.Cos(math.Atan(c["roll"])) - 1) },
		hidden: []string{"landscape", "ground"}, limit: 0.01, held: holding{0.028, 2, 0.975},
	},
	{
		metric: "keystone", fault: "pan", unit: "% of height", scale: 1,
		truth:  func(in synth.Injected) float64 { return in.Keystone },
		recipe: func(c map[string]float64) float64 { return 100 * aspect / 4 * c["keystone"] },
		hidden: []string{"target", "landscape"}, limit: 0.02, held: holding{0.055, 1, 0.975},
	},
	{
		// The issue names no limit for it: the project's own choice, that of keystone.
		metric: "tilt_keystone", fault: "tilt", unit: "% of height", scale: 1,
		truth:  func(in synth.Injected) float64 { return in.TiltKeystone },
		recipe: func(c map[string]float64) float64 { return 100 / 4.0 * c["tilt"] },
		hidden: []string{"ground"}, limit: 0.02, held: holding{0.014, 0, 0.975},
	},
	{
		metric: "height_step", fault: "height", unit: "% of itself", relative: true,
		truth:  func(in synth.Injected) float64 { return in.HeightStep },
		recipe: func(c map[string]float64) float64 { return aspect * c["height"] },
		hidden: []string{"target", "landscape", "ground"}, limit: 5, held: holding{9.6, 3, 0.975},
	},
}

// put returns the fault of the term's rows.
func (t *term) put() fault {
	return faults[slices.IndexFunc(faults, func(f fault) bool { return f.name == t.fault })]
}

// off returns a figure's error in the table's unit.
func (t *term) off(value, truth float64) float64 {
	if t.relative {
		return 100 * (value - truth) / math.Abs(truth)
	}
	return t.scale * (value - truth)
}

// bound returns the term's bound, in the table's unit, of those of the coefficients.
func (t *term) bound(bounds map[string]float64, in synth.Injected) float64 {
	truth := t.truth(in)
	return math.Abs(t.off(truth+t.recipe(bounds), truth))
}

// take is a drawn pair: a scene, a fault, one of its sizes.
type take struct {
	scene synth.Scene
	fault fault
	size  int
}

func (k take) String() string { return fmt.Sprintf("%s, %s %d", k.scene.Name, k.fault.name, k.size) }

func (k take) shot() (shot synth.Shot, seconds float64) {
	shot = synth.Shot{Scene: k.scene, Width: 1920, Height: 1080, Noise: 1.5, Seed: uint64(k.size + 1)}
	if k.fault.put != nil {
		k.fault.put(&shot.Rig, k.size)
	}
	return shot, 0.3 * float64(k.size)
}

func (k take) truth() *synth.Truth {
	shot, seconds := k.shot()
	return shot.Truth(seconds)
}

// files names the two pictures of a take in a folder. Faults of the rig change the
// right eye alone.
func (k take) files(folder string) (left, right string) {
	return filepath.Join(folder, fmt.Sprintf("%s-%d-left.pgm", k.scene.Name, k.size)),
		filepath.Join(folder, fmt.Sprintf("%s-%d-%s.pgm", k.scene.Name, k.size, k.fault.name))
}

// draw returns the take's pair, noisy and compressed, and leaves it in the folder.
func (k take) draw(t testing.TB, folder string) (left, right *picture.Frame) {
	t.Helper()
	shot, seconds := k.shot()
	leftFile, rightFile := k.files(folder)
	for file, eye := range map[string]synth.Eye{leftFile: synth.LeftEye, rightFile: synth.RightEye} {
		if _, err := os.Stat(file); errors.Is(err, fs.ErrNotExist) {
			writePGM(t, file, compressed(t, shot.Eye(eye, seconds)))
		}
	}
	return readPGM(t, leftFile), readPGM(t, rightFile)
}

// compressed returns a frame's luma, as 8 bits, after JPEG has been at it.
func compressed(t testing.TB, f *picture.Frame) *image.Gray {
	t.Helper()
	p := f.Planes[0]
	grey := image.NewGray(image.Rect(0, 0, p.Width, p.Height))
	shift := f.Depth - 8
	for y := range p.Height {
		for x, v := range p.Row(y) {
			grey.Pix[y*grey.Stride+x] = uint8(min((int(v)+1<<shift>>1)>>shift, 255))
		}
	}
	var file bytes.Buffer
	require.NoError(t, jpeg.Encode(&file, grey, &jpeg.Options{Quality: 90}))
	back, err := jpeg.Decode(&file)
	require.NoError(t, err)
	return back.(*image.Gray)
}

func writePGM(t testing.TB, path string, g *image.Gray) {
	t.Helper()
	var b bytes.Buffer
	fmt.Fprintf(&b, "P5\n%d %d\n255\n", g.Rect.Dx(), g.Rect.Dy())
	for y := range g.Rect.Dy() {
		b.Write(g.Pix[y*g.Stride:][:g.Rect.Dx()])
	}
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
}

func readPGM(t testing.TB, path string) *picture.Frame {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	var w, h int
	_, err = fmt.Sscanf(string(data[:min(len(data), 32)]), "P5\n%d %d\n255\n", &w, &h)
	require.NoError(t, err)
	return greyFrame(&image.Gray{Pix: data[len(data)-w*h:], Stride: w, Rect: image.Rect(0, 0, w, h)})
}

// greyFrame returns a grey picture of narrow range as a frame.
func greyFrame(g *image.Gray) *picture.Frame {
	p := picture.Plane{Width: g.Rect.Dx(), Height: g.Rect.Dy(), Stride: g.Rect.Dx(), Pix: make([]uint16, g.Rect.Dx()*g.Rect.Dy())}
	for y := range p.Height {
		for x, v := range g.Pix[y*g.Stride:][:p.Width] {
			p.Row(y)[x] = uint16(v)
		}
	}
	return &picture.Frame{Planes: []picture.Plane{p}, Layout: picture.Grey, Depth: 8, Colour: picture.Colour{Range: picture.NarrowRange}}
}

// standard is what the standard recipe makes of a pair.
type standard struct {
	Terms map[string]float64 `json:"terms"`
	CPU   float64            `json:"cpu"` // seconds
}

// standards puts pairs that were drawn through testdata/recipe.py.
func standards(t *testing.T, folder string, takes []take) []standard {
	t.Helper()
	arguments := []string{"testdata/recipe.py"}
	results := make([]string, len(takes))
	for i, k := range takes {
		left, right := k.files(folder)
		results[i] = strings.TrimSuffix(right, ".pgm") + ".json"
		if _, err := os.Stat(results[i]); errors.Is(err, fs.ErrNotExist) {
			arguments = append(arguments, left, right, results[i])
		}
	}
	if len(arguments) > 1 {
		said, err := exec.Command("/usr/bin/python3", arguments...).CombinedOutput()
		require.NoError(t, err, "install the Debian package python3-opencv\n%s", said)
	}
	out := make([]standard, len(takes))
	for i, file := range results {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(data, &out[i]))
	}
	return out
}

// processorTime returns what this process has used.
func processorTime(t *testing.T) time.Duration {
	t.Helper()
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// row is what the table says of one size of one term.
type row struct {
	ours, standard           extreme
	both, standardBoth       float64 // the worst errors of the pairs that both measured
	readings, within, beyond int
	missing, standardMissing int
	surprises                int     // truths beyond three standard errors, where the scene hides the term
	observable               extreme // our worst error where the bound allows what is wanted
	unobservable             int     // readings where it does not
	next, standardNext       extreme // in another scene than the worst one
}

// add notes an error, and moves what was the worst in another scene to next.
func (e *extreme) add(next *extreme, size float64, scene string) {
	switch {
	case size <= e.size && scene != e.scene && size > next.size:
		*next = extreme{size, scene}
	case size > e.size && scene != e.scene:
		*next, *e = *e, extreme{size, scene}
	case size > e.size:
		e.size = size
	}
}

// extreme is an error of the largest size and where it is.
type extreme struct {
	size  float64
	scene string
}

func (e extreme) String() string {
	if e.scene == "" {
		return "-"
	}
	return fmt.Sprintf("%.4f %s", e.size, e.scene)
}

// The accuracy table (make accuracy): every scene, fault and size at 1920×1080, noisy and
// compressed, beside the standard recipe of a general-purpose library.
func TestAccuracy(t *testing.T) {
	if !synth.LongSweeps() {
		quickAccuracy(t)
		return
	}
	// A folder that keeps the drawn pairs makes the next run short, as long as neither
	// the scenes nor the recipe change.
	kept := os.Getenv("NIGHTPAIR_DRAWN")
	table := make([][sizes]row, len(terms))
	covered := make([]struct{ readings, within int }, len(terms))
	var ours, theirs time.Duration
	var pairs int
	var over, lost []string // readings beyond the limit; beyond four standard errors
	byDay := 0              // of those beyond the limit, all but the dark scene's
	for _, s := range synth.Scenes {
		folder := kept
		if folder == "" {
			folder = t.TempDir()
		}
		var takes []take
		for size := range sizes {
			for _, f := range faults {
				takes = append(takes, take{s, f, size})
			}
		}
		for _, k := range takes {
			k.draw(t, folder)
		}
		recipe := standards(t, folder, takes)
		for n, k := range takes {
			left, right := k.draw(t, folder)
			pair := &metrics.Pair{Left: left, Right: right}
			in := k.truth().Injected
			bounds := k.bounds(t, left)
			start := processorTime(t)
			pair.Matches()
			lookup(t, "vertical_offset").Measure(pair) // and with it the geometry
			ours += processorTime(t) - start
			theirs += time.Duration(recipe[n].CPU * 1e9)
			pairs++
			for i := range terms {
				term := &terms[i]
				truth := term.truth(in)
				got := lookup(t, term.metric).Measure(pair)
				if got.OK() {
					covered[i].readings++
					size := math.Abs(got.Value - truth)
					if size <= 2*got.SE {
						covered[i].within++
					}
					if size > 4*got.SE {
						lost = append(lost, fmt.Sprintf("%v: %s is wrong by %.1f standard errors (%.4g ± %.2g, truth %.4g)", k, term.metric, size/got.SE, got.Value, got.SE, truth))
					}
				}
				if k.fault.name != term.fault {
					continue
				}
				r := &table[i][k.size]
				if slices.Contains(term.hidden, s.Name) {
					if got.OK() && math.Abs(got.Value-truth) > 3*got.SE {
						r.surprises++
					}
					continue
				}
				wrong, theirWrong := math.Inf(1), math.Inf(1)
				if got.OK() {
					wrong = math.Abs(term.off(got.Value, truth))
					r.readings++
					if math.Abs(got.Value-truth) <= 2*got.SE {
						r.within++
					}
					if wrong > term.limit {
						r.beyond++
						if s.Name != dark {
							byDay++
						}
						over = append(over, fmt.Sprintf("%v: %s is off by %.4f ± %.4f %s", k, term.metric, term.off(got.Value, truth), math.Abs(term.off(truth+got.SE, truth)), term.unit))
					}
					r.ours.add(&r.next, wrong, s.Name)
					if 2*term.bound(bounds, in) > term.limit {
						r.unobservable++
					} else {
						r.observable.add(new(extreme), wrong, s.Name)
					}
				} else {
					r.missing++
				}
				if c := recipe[n].Terms; c != nil {
					theirWrong = math.Abs(term.off(term.recipe(c), truth))
					r.standard.add(&r.standardNext, theirWrong, s.Name)
				} else {
					r.standardMissing++
				}
				if got.OK() && recipe[n].Terms != nil {
					r.both, r.standardBoth = max(r.both, wrong), max(r.standardBoth, theirWrong)
				}
			}
		}
	}

	var out strings.Builder
	w := tabwriter.NewWriter(&out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "term\tsize\twanted\tworst error\tnext scene\tbeyond\tunobservable\tworst observable\tmet\trecipe's worst\tnext scene\tratio\thalf\twithin 2 se")
	var rows, met, strictlyMet, half, standardMissing int
	for i := range terms {
		term := &terms[i]
		var worst float64
		var beyond int
		for size := range table[i] {
			r := &table[i][size]
			rows++
			ratio := r.both / r.standardBoth
			within, better := "no", "no"
			if r.ours.size <= term.limit {
				strictlyMet++
			}
			if r.observable.size <= term.limit {
				met++
				within = "yes"
			}
			if ratio <= 0.5 {
				half++
				better = "yes"
			}
			fmt.Fprintf(w, "%s\t%+.3g\t%g %s\t%v\t%v\t%d of %d\t%d\t%v\t%s\t%v\t%v\t%.2f\t%s\t%d\n", term.metric, term.truth(take{synth.Scenes[0], term.put(), size}.truth().Injected),
				term.limit, term.unit, r.ours, r.next, r.beyond, r.readings, r.unobservable, r.observable, within, r.standard, r.standardNext, ratio, better, r.within)
			worst, beyond = max(worst, r.ours.size), beyond+r.beyond
			standardMissing += r.standardMissing
			assert.Zero(t, r.surprises, "%s, size %d: values beyond three standard errors in scenes that do not show it", term.metric, size)
			assert.Zero(t, r.missing, "%s, size %d: missing in scenes that show it", term.metric, size)
		}
		assert.LessOrEqual(t, worst, term.held.worst, "worst case of %s", term.metric)
		assert.LessOrEqual(t, beyond, term.held.beyond, "readings of %s beyond what is wanted", term.metric)
	}
	require.NoError(t, w.Flush())
	t.Logf("readings beyond what is wanted\n%s", strings.Join(over, "\n"))
	t.Logf("readings off by more than four standard errors: %d\n%s", len(lost), strings.Join(lost, "\n"))
	t.Logf("worst case of %d scenes\n%s", len(synth.Scenes), &out)
	t.Logf("%d of %d rows within what is wanted, %d where twice the bound allows it; %d at most half of the recipe's worst error, which measured nothing in %d cases", strictlyMet, rows, met, half, standardMissing)
	for i, c := range covered {
		share := float64(c.within) / float64(c.readings)
		t.Logf("%s: %d of %d readings of all faults within two standard errors, %.1f %%", terms[i].metric, c.within, c.readings, 100*share)
		assert.GreaterOrEqual(t, share, terms[i].held.within, "%s: share within two standard errors", terms[i].metric)
	}
	t.Logf("processor time a pair: %.1f ms, the recipe's %.1f ms, %.1f times as much", ours.Seconds()*1e3/float64(pairs), theirs.Seconds()*1e3/float64(pairs), theirs.Seconds()/ours.Seconds())
	assert.Zero(t, byDay, "readings beyond what is wanted in other scenes than %s", dark)
	assert.LessOrEqual(t, len(lost), lostHeld, "readings off by more than four standard errors")
	// These two are what is wanted, and are held: half of the recipe's worst error on 90 %
	// of the rows, for a tenth of its processor time.
	assert.GreaterOrEqual(t, half, rows*9/10)
	assert.GreaterOrEqual(t, theirs.Seconds()/ours.Seconds(), 10.0)
}

// quickAccuracy holds a few scenes, each with one size of what is done to the picture,
// to what a night's work needs: 0.1 px of 1080 lines, 0.02°, 0.03 %. Where the scene does
// not tell a term, the truth must lie within three standard errors.
func quickAccuracy(t *testing.T) {
	needed := map[string]float64{"vertical_offset": 0.1, "roll": 0.02, "zoom": 0.03}
	for i, name := range []string{"yard", "crowd", "blinds", "bricks", "stairs", "target", "ground"} {
		t.Run(name, func(t *testing.T) {
			s := scene(t, name)
			shot := synth.Shot{Scene: s, Noise: 1.5, Seed: 1}
			faults[0].put(&shot.Rig, i%sizes)
			left, _ := drawnPair(t, name)
			p := &metrics.Pair{
				Left:  greyFrame(compressed(t, left)),
				Right: greyFrame(compressed(t, shot.Eye(synth.RightEye, 0.3))),
			}
			in := shot.Truth(0.3).Injected
			for i := range terms {
				term := &terms[i]
				got, truth := lookup(t, term.metric).Measure(p), term.truth(in)
				if slices.Contains(term.hidden, name) && !got.OK() {
					require.NotEmpty(t, got.Missing)
					continue
				}
				require.True(t, got.OK(), got.Missing)
				t.Logf("%s %.5f ± %.5f, truth %.5f", term.metric, got.Value, got.SE, truth)
				if within, ok := needed[term.metric]; ok && !slices.Contains(term.hidden, name) {
					require.InDelta(t, 0, term.off(got.Value, truth), within, term.metric)
				} else {
					require.InDelta(t, truth, got.Value, 3*got.SE, term.metric)
				}
			}
		})
	}
}
