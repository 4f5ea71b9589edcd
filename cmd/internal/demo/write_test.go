package demo

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// The table of faults must say what is drawn.
func TestFaultsAreDrawn(t *testing.T) {
	d := drawing{width: Width, height: Width * 9 / 16}
	clean := 0
	for _, s := range setups {
		for _, c := range s.takes {
			t.Run(c.Left, func(t *testing.T) {
				shot := d.shot(s, c, 0)
				first, middle, last := shot.Truth(moment(0)), shot.Truth(moment(phases/2)), shot.Truth(moment(phases-1))
				sunk := func(k float64) float64 {
					if c.sunk == nil {
						return 0
					}
					return c.sunk(k)
				}
				want := map[Fault]bool{}
				for _, f := range c.Faults {
					want[f] = true
				}
				value := func(metric, statistic string) float64 {
					for f := range want {
						if f.Metric == metric && f.Statistic == statistic {
							delete(want, f)
							return f.Value
						}
					}
					return 0
				}
				require.InDelta(t, value("vertical_offset", "median"), middle.Injected.VerticalOffset+sunk(0.5), 1e-9)
				require.InDelta(t, value("vertical_offset", "drift"), sunk(1)-sunk(0), 1e-9)
				require.InDelta(t, value("roll", "median"), middle.Injected.Roll, 1e-9)
				require.InDelta(t, value("zoom", "median"), middle.Injected.Zoom, 1e-9)
				require.Equal(t, value("exposure", "median"), c.stops)
				require.InDelta(t, 0, middle.Injected.HeightStep, 1e-12)
				require.Zero(t, middle.Injected.SyncOffset)

				near, far := value("near_parallax", "median"), value("far_parallax", "median")
				for _, truth := range []*synth.Truth{first, middle, last} {
					n, f := truth.Parallax(1), truth.Parallax(99)
					t.Logf("parallax %.2f to %.2f %% of width", n, f)
					switch {
					case near != 0:
						require.InDelta(t, near, n, 0.1)
						require.InDelta(t, far, f, 0.1)
					case middle.Injected.Zoom != 0:
						// What is enlarged about its centre moves outwards: 2.945 % is 60
						// arcmin on a picture seen from three times its height.
						require.InDelta(t, 0, n, 2.7)
						require.InDelta(t, 0, f, 2.7)
					default:
						require.InDelta(t, 0, n, 1.5)
						require.InDelta(t, 0, f, 1.55)
					}
				}
				require.Empty(t, want, "faults that are not drawn")
			})
			if len(c.Faults) == 0 {
				clean++
			}
		}
	}
	require.Equal(t, 2, clean)
	require.GreaterOrEqual(t, len(Day()), 8)
}

func TestPhases(t *testing.T) {
	require.Equal(t, 0, phase(0))
	require.Equal(t, phases-1, phase(phases-1))
	require.Equal(t, phases-2, phase(phases))
	require.Equal(t, 0, phase(2*(phases-1)))
	require.Equal(t, 1, phase(2*(phases-1)+1))
	require.InDelta(t, 0, moment(0), 1e-12)
	require.InDelta(t, 1, moment(phases-1), 1e-12)
	for i := range phases - 1 {
		require.Greater(t, moment(i+1), moment(i))
	}
}

func TestDay(t *testing.T) {
	if _, err := exec.LookPath("ffprobe"); err != nil {
		t.Fatal("the ffprobe command is missing: install the Debian package ffmpeg")
	}
	dir := t.TempDir()
	var mu sync.Mutex
	calls, maxDone := 0, 0
	d := &drawing{width: 128, height: 72, progress: func(done, total int) {
		mu.Lock()
		defer mu.Unlock()
		calls++
		maxDone = max(maxDone, done)
		require.LessOrEqual(t, done, total)
	}}
	require.NoError(t, d.day(t.Context(), dir))
	require.Equal(t, d.total, calls)
	require.Equal(t, d.total, maxDone)

	files := 0
	require.NoError(t, filepath.WalkDir(dir, func(_ string, e os.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			files++
		}
		return err
	}))
	want := 0
	for _, c := range Day() {
		names, size := []string{c.Left, c.Right}, "128,72"
		if c.Packed() {
			names, size = names[:1], "256,72"
		}
		want += len(names)
		for _, name := range names {
			out, err := exec.Command("ffprobe", "-v", "error", "-count_frames", "-select_streams", "v:0",
				"-show_entries", "stream=width,height,r_frame_rate,nb_read_frames:stream_tags=timecode", "-of", "csv=p=0", filepath.Join(dir, name)).Output()
			require.NoError(t, err)
			require.Equal(t, size+",24/1,72,"+c.Timecode, strings.TrimSpace(string(out)), name)
		}
	}
	require.Equal(t, want, files)
}

func TestCancelledDayLeavesNoBrokenFiles(t *testing.T) {
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	first := setups[0].takes[0]
	d := &drawing{width: 96, height: 54}
	// In the middle of the first take.
	stop := 2*phases + first.Frames
	d.progress = func(done, _ int) {
		if done == stop {
			cancel()
		}
	}
	require.ErrorIs(t, d.day(ctx, dir), context.Canceled)
	_, err := os.Stat(filepath.Join(dir, first.Left))
	require.ErrorIs(t, err, os.ErrNotExist)
}

// A picture that serves for several frames must not look frozen or copied.
func TestFramesOfOnePictureDiffer(t *testing.T) {
	s := setups[len(setups)-1]
	d := drawing{width: 96, height: 54}
	f := d.shot(s, s.takes[0], 0).Eye(synth.LeftEye, 0)
	a, b := synth.Noisy(f, s.noise, 8, 1), synth.Noisy(f, s.noise, 8, 2)
	require.Equal(t, picture.YCbCr, a.Layout)
	require.NotEqual(t, a.Planes[0].Pix, b.Planes[0].Pix)
}
