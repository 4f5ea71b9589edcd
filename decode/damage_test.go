package decode

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// spoil copies a clip and overwrites one packet with zeros, as a lost disk
// sector leaves it, or most of it with noise.
func spoil(t testing.TB, path string, number int, zeros bool) string {
	t.Helper()
	f, err := Open(context.Background(), path, Options{})
	require.NoError(t, err)
	p := f.reader.(*film).table.packets[number]
	require.NoError(t, f.Close())
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	if zeros {
		clear(b[p.pos:][:p.size])
	} else {
		for i := p.size / 8; i < p.size*7/8; i++ {
			b[int(p.pos)+i] = byte(0x55 + 31*i)
		}
	}
	out := filepath.Join(t.TempDir(), "spoilt"+filepath.Ext(path))
	require.NoError(t, os.WriteFile(out, b, 0o644))
	return out
}

// A damaged packet costs its own frame and those predicted from it, and shifts
// no number. The noise is such that the decoder notices: long runs of noise can
// also decode into a wrong picture without a word, which nobody can tell.
func TestDamageInTheMiddle(t *testing.T) {
	for _, c := range []struct {
		name   string
		packet int
		zeros  bool
		good   func(frame int) bool // frames that must come; others must be errors
		args   []string
	}{
		{"h264.mp4", 12, false, func(i int) bool { return i < 12 || i >= 24 },
			[]string{"-c:v", "libx264", "-preset", "veryfast", "-g", "12", "-bf", "2", "-crf", "10", "-x264-params", "scenecut=0"}},
		{"h264-zeros.mp4", 16, true, func(i int) bool { return i < 12 || i >= 24 },
			[]string{"-c:v", "libx264", "-preset", "veryfast", "-g", "12", "-bf", "2", "-crf", "10", "-x264-params", "scenecut=0"}},
		{"hevc.mp4", 16, true, func(i int) bool { return i < 12 || i >= 24 },
			[]string{"-c:v", "libx265", "-preset", "ultrafast", "-x265-params", "log-level=none:keyint=12:min-keyint=12:scenecut=0:open-gop=0:bframes=2:crf=10:pools=none:frame-threads=1"}},
		{"prores.mov", 16, false, func(i int) bool { return i != 16 }, []string{"-c:v", "prores_ks"}},
		{"dnxhr.mov", 16, false, func(i int) bool { return i != 16 }, []string{"-c:v", "dnxhd", "-profile:v", "dnxhr_hq", "-pix_fmt", "yuv422p"}},
		{"mjpeg.mov", 16, false, func(i int) bool { return i != 16 }, []string{"-c:v", "mjpeg", "-q:v", "3", "-pix_fmt", "yuvj420p"}},
		{"prores-zeros.mov", 16, true, func(i int) bool { return i != 16 }, []string{"-c:v", "prores_ks"}},
		{"ffv1.mkv", 16, false, func(i int) bool { return i != 16 }, []string{"-c:v", "ffv1", "-level", "3", "-g", "1", "-slicecrc", "1"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path := spoil(t, clip(t, c.name, 36, c.args...), c.packet, c.zeros)
			check := func(f *File, order func(i int) int) {
				spoilt := 0
				for i := range 36 {
					i = order(i)
					frame, err := f.Frame(context.Background(), i)
					if err != nil {
						require.ErrorIs(t, err, ErrDamaged, "frame %d", i)
						require.False(t, c.good(i), "frame %d is lost: %v", i, err)
						spoilt++
						continue
					}
					require.Equal(t, i, number(t, frame), "frame %d", i)
				}
				require.Positive(t, spoilt, "the damage went unseen")
				require.NotEmpty(t, f.Remarks())
			}
			f := opened(t, path)
			require.Equal(t, 36, f.Info().Frames)
			check(f, func(i int) int { return i })
			check(opened(t, path), func(i int) int { return 35 - i })

			streamed := opened(t, path)
			for i := 0; i < 36; i++ {
				frame, err := streamed.Next(context.Background())
				if errors.Is(err, ErrDamaged) {
					require.False(t, c.good(i))
					continue
				}
				require.NoError(t, err)
				require.Equal(t, i, frame.Index)
				require.Equal(t, i, number(t, frame))
			}
		})
	}
}

// A file that ends early gives what is there and says so.
func TestTruncatedFiles(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		note bool // the container knows that something is missing
	}{
		{"prores.mov", []string{"-c:v", "prores_ks", "-movflags", "faststart"}, true},
		{"h264.mp4", []string{"-c:v", "libx264", "-preset", "veryfast", "-g", "12", "-bf", "2", "-movflags", "faststart"}, true},
		{"mjpeg.avi", []string{"-c:v", "mjpeg", "-pix_fmt", "yuvj420p"}, true},
		{"ffv1.mkv", []string{"-c:v", "ffv1"}, false},
		{"h264.ts", []string{"-c:v", "libx264", "-preset", "veryfast", "-g", "12", "-bf", "2"}, false},
		{"dnxhr.mxf", []string{"-c:v", "dnxhd", "-profile:v", "dnxhr_hq", "-pix_fmt", "yuv422p"}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			const whole = 36
			f := opened(t, cut(t, clip(t, c.name, whole, c.args...), 0.6))
			n := f.Info().Frames
			require.Greater(t, n, 10)
			require.Less(t, n, whole)
			good := 0
			for i := range n {
				frame, err := f.Frame(context.Background(), i)
				if err != nil {
					require.ErrorIs(t, err, ErrDamaged)
					require.GreaterOrEqual(t, i, n-4, "frame %d: %v", i, err)
					continue
				}
				good++
				require.Equal(t, i, number(t, frame))
			}
			require.GreaterOrEqual(t, good, n-4)
			if c.note {
				require.Condition(t, func() bool { return f.w.notes.mentions("truncated: ") }, "%v", f.Remarks())
			}
		})
	}
}
