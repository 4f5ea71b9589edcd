package decode

import (
	"context"
	"encoding/binary"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

func TestColourTags(t *testing.T) {
	bt709 := picture.Colour{Range: picture.NarrowRange, Matrix: picture.BT709, Transfer: picture.BT1886, Primaries: picture.PrimariesBT709}
	for _, c := range []struct {
		name  string
		args  []string
		want  picture.Colour
		words string
	}{
		{"prores.mov", []string{"-c:v", "prores_ks", "-colorspace", "bt709", "-color_primaries", "bt709", "-color_trc", "bt709", "-color_range", "tv"},
			bt709, "narrow range, matrix bt709, primaries bt709, transfer bt709"},
		{"h264.mp4", []string{"-c:v", "libx264", "-colorspace", "bt709", "-color_primaries", "bt709", "-color_trc", "bt709", "-color_range", "tv"},
			bt709, "narrow range, matrix bt709, primaries bt709, transfer bt709"},
		{"hevc-pq.mp4", []string{"-c:v", "libx265", "-pix_fmt", "yuv420p10le", "-x265-params", "log-level=none:pools=none:frame-threads=1", "-colorspace", "bt2020nc", "-color_primaries", "bt2020", "-color_trc", "smpte2084"},
			picture.Colour{Range: picture.NarrowRange, Matrix: picture.BT2020, Transfer: picture.PQ, Primaries: picture.PrimariesBT2020}, "narrow range, matrix bt2020nc, primaries bt2020, transfer smpte2084"},
		{"hlg.mkv", []string{"-c:v", "ffv1", "-colorspace", "bt2020nc", "-color_primaries", "bt2020", "-color_trc", "arib-std-b67", "-color_range", "pc"},
			picture.Colour{Range: picture.FullRange, Matrix: picture.BT2020, Transfer: picture.HLG, Primaries: picture.PrimariesBT2020}, "full range, matrix bt2020nc, primaries bt2020, transfer arib-std-b67"},
		{"sd.mkv", []string{"-c:v", "ffv1", "-colorspace", "smpte170m", "-color_primaries", "smpte170m", "-color_trc", "smpte170m", "-color_range", "tv"},
			picture.Colour{Range: picture.NarrowRange, Matrix: picture.BT601, Transfer: picture.BT1886}, "narrow range, matrix smpte170m, primaries smpte170m, transfer smpte170m"},
		{"silent.mkv", []string{"-c:v", "ffv1"}, picture.Colour{}, ""},
		{"mjpeg.mov", []string{"-c:v", "mjpeg", "-pix_fmt", "yuvj420p"},
			picture.Colour{Range: picture.FullRange, Matrix: picture.BT601}, "full range, matrix bt470bg"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			f := opened(t, clip(t, c.name, 3, c.args...))
			require.Equal(t, c.want, f.Info().Colour)
			require.Equal(t, c.words, f.Info().ColourLabel)
			frame, err := f.Frame(context.Background(), 2)
			require.NoError(t, err)
			require.Equal(t, c.want, frame.Colour)
		})
	}
}

func TestColourOfStills(t *testing.T) {
	for _, c := range []struct {
		name     string
		transfer int // byte of the DPX header
		args     []string
		want     picture.Transfer
	}{
		{"eye.%d.dpx", 1, []string{"-pix_fmt", "gbrp10le"}, picture.LogCurve}, // printing density
		{"eye.%d.dpx", 2, []string{"-pix_fmt", "gbrp10le"}, picture.Linear},
		{"eye.%d.dpx", 3, []string{"-pix_fmt", "gbrp10le"}, picture.LogCurve},
		{"eye.%d.dpx", 4, []string{"-pix_fmt", "gbrp10le"}, picture.TransferUnspecified}, // video
		{"eye.%d.exr", 0, []string{"-pix_fmt", "gbrpf32le"}, picture.Linear},
		{"eye.%d.png", 0, []string{"-pix_fmt", "rgb24"}, picture.TransferUnspecified},
	} {
		pattern := clip(t, c.name, 2, c.args...)
		if strings.HasSuffix(c.name, "dpx") {
			for _, n := range []string{"1", "2"} {
				patch(t, strings.Replace(pattern, "%d", n, 1), 801, []byte{byte(c.transfer)})
			}
		}
		f := opened(t, pattern)
		require.Equal(t, c.want, f.Info().Colour.Transfer, "%s %d", c.name, c.transfer)
		frame, err := f.Frame(context.Background(), 1)
		require.NoError(t, err)
		require.Equal(t, c.want, frame.Colour.Transfer)
		require.Equal(t, picture.RGB, frame.Layout)
	}
}

// Which containers give their frames away without being read through is what
// makes sampling cheap.
func TestIndexSparesReading(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
	}{
		{"prores.mov", []string{"-c:v", "prores_ks"}},
		{"dnxhr.mov", []string{"-c:v", "dnxhd", "-profile:v", "dnxhr_hq", "-pix_fmt", "yuv422p"}},
		{"dnxhr.mxf", []string{"-c:v", "dnxhd", "-profile:v", "dnxhr_hq", "-pix_fmt", "yuv422p"}},
		{"mjpeg.avi", []string{"-c:v", "mjpeg", "-q:v", "3", "-pix_fmt", "yuvj420p"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := clip(t, c.name, 80, append(c.args, "-vf", "scale=1024:576:flags=neighbor")...)
			stat, err := os.Stat(path)
			require.NoError(t, err)
			before := bytesRead(t)
			f := opened(t, path)
			require.Equal(t, 80, f.Info().Frames)
			for _, i := range []int{30, 79} {
				frame, err := f.Frame(context.Background(), i)
				require.NoError(t, err)
				require.Equal(t, i, number(t, frame))
			}
			// Opening takes a few megabytes; a scan would take the whole file.
			require.Less(t, bytesRead(t)-before, stat.Size()/2)
		})
	}
}

// bytesRead is what this process has read so far. Linux counts it.
func bytesRead(t *testing.T) int64 {
	t.Helper()
	b, err := os.ReadFile("/proc/self/io")
	require.NoError(t, err)
	var n int64
	_, err = fmt.Sscanf(string(b), "rchar: %d", &n)
	require.NoError(t, err)
	return n
}

func TestTimecodeOfFrame0(t *testing.T) {
	for _, c := range []struct {
		name string
		rate string
		tag  string
		args []string
	}{
		{"prores.mov", "24", "10:58:12:20", []string{"-c:v", "prores_ks"}},
		{"drop.mov", "30000/1001", "00:59:59;28", []string{"-c:v", "prores_ks"}},
		{"drop60.mov", "60000/1001", "01:00:00;58", []string{"-c:v", "prores_ks"}},
		{"dnxhr.mxf", "25", "01:02:03:04", []string{"-c:v", "dnxhd", "-profile:v", "dnxhr_hq", "-pix_fmt", "yuv422p"}},
		{"tag.mkv", "25", "23:59:59:24", []string{"-c:v", "ffv1"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			args := append(c.args, "-r", c.rate, "-timecode", c.tag)
			if filepath.Ext(c.name) == ".mkv" {
				args = append(args, "-metadata", "timecode="+c.tag)
			}
			info := opened(t, clip(t, c.name, 6, args...)).Info()
			require.Equal(t, c.tag, info.Timecode)
			if filepath.Ext(c.name) == ".mxf" {
				return // MXF always has one
			}
			require.Empty(t, opened(t, clip(t, "none"+filepath.Ext(c.name), 3, c.args...)).Info().Timecode, "no label where there is none")
		})
	}
	// MPEG-2 and H.264 carry labels in the stream itself.
	t.Run("group of pictures header", func(t *testing.T) {
		path := clip(t, "gop.ts", 6, "-c:v", "mpeg2video", "-r", "25", "-timecode", "01:02:03:04")
		require.Equal(t, "01:02:03:04", opened(t, path).Info().Timecode)
	})
	t.Run("dpx header", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "eye.%04d.dpx")
		ffmpeg(t, 3, "-timecode", "10:00:00:05", path)
		// The encoder writes the short header of SMPTE ST 268. The long one has
		// the label at byte 1920, in binary-coded decimal.
		for i := 1; i <= 3; i++ {
			name := strings.Replace(path, "%04d", "000"+string(rune('0'+i)), 1)
			b, err := os.ReadFile(name)
			require.NoError(t, err)
			var order binary.ByteOrder = binary.BigEndian
			if string(b[:4]) == "XPDS" {
				order = binary.LittleEndian
			}
			require.EqualValues(t, 1664, order.Uint32(b[4:]))
			b = slices.Insert(b, 1664, make([]byte, 2048-1664)...)
			order.PutUint32(b[4:], 2048)
			order.PutUint32(b[1920:], 0x10000005)
			require.NoError(t, os.WriteFile(name, b, 0o644))
		}
		require.Equal(t, "10:00:00:05", opened(t, path).Info().Timecode)
	})
}

func TestCreationTimeAndCamera(t *testing.T) {
	path := clip(t, "a.mov", 2, "-c:v", "prores_ks", "-movflags", "use_metadata_tags",
		"-metadata", "creation_time=2031-05-06T07:08:09Z", "-metadata", "make=Lumenwerk", "-metadata", "model=Twin 2", "-metadata", "org.example.camera.serialNumber=0042")
	info := opened(t, path).Info()
	require.Equal(t, time.Date(2031, 5, 6, 7, 8, 9, 0, time.UTC), info.Created)
	require.Equal(t, "Lumenwerk Twin 2 0042", info.Camera)
	plain := opened(t, clip(t, "a.mov", 2, "-c:v", "prores_ks", "-fflags", "+bitexact")).Info()
	require.True(t, plain.Created.IsZero())
	require.Empty(t, plain.Camera)
}

func TestDisplayMatrix(t *testing.T) {
	dir := t.TempDir()
	plain := filepath.Join(dir, "plain.mov")
	ffmpeg(t, 4, "-c:v", "prores_ks", plain)
	require.Equal(t, picture.Upright, opened(t, plain).Info().Orientation)

	turned := recut(t, plain, "turned.mov", "-i", plain, "-c", "copy", "-metadata:s:v", "rotate=180")
	f := opened(t, turned)
	require.Equal(t, picture.Turn, f.Info().Orientation)
	frame, err := f.Frame(context.Background(), 3)
	require.NoError(t, err)
	require.Equal(t, 3, number(t, frame), "the frame itself stays as stored")

	quarter := recut(t, plain, "quarter.mov", "-i", plain, "-c", "copy", "-metadata:s:v", "rotate=90")
	f = opened(t, quarter)
	require.Equal(t, picture.Upright, f.Info().Orientation)
	require.True(t, f.w.notes.mentions("quarter turn"))
}

// The four matrices of ISO/IEC 14496-12, 8.2.2, in 16.16 fixed point.
func TestOrientation(t *testing.T) {
	matrix := func(a, b, c, d int32) []byte {
		var out []byte
		for _, v := range []int32{a, b, 0, c, d, 0, 0, 0, 1 << 30} {
			out = binary.NativeEndian.AppendUint32(out, uint32(v))
		}
		return out
	}
	const one = 1 << 16
	for _, c := range []struct {
		matrix  []byte
		want    picture.Orientation
		trouble bool
	}{
		{nil, picture.Upright, false},
		{make([]byte, 20), picture.Upright, false},
		{matrix(one, 0, 0, one), picture.Upright, false},
		{matrix(-one, 0, 0, one), picture.Flop, false},
		{matrix(one, 0, 0, -one), picture.Flip, false},
		{matrix(-one, 0, 0, -one), picture.Turn, false},
		{matrix(0, one, -one, 0), picture.Upright, true},
		{matrix(one/2, one/2, -one/2, one/2), picture.Upright, true},
	} {
		got, trouble := orientation(c.matrix)
		require.Equal(t, c.want, got)
		require.Equal(t, c.trouble, trouble != "")
	}
}

func TestStereoTags(t *testing.T) {
	h264 := []string{"-c:v", "libx264", "-preset", "veryfast"}
	for _, c := range []struct {
		name string
		args []string
		want Stereo
	}{
		{"none.mkv", h264, Stereo{}},
		{"left-right.mkv", append(h264, "-metadata:s:v", "stereo_mode=left_right"), Stereo{Packing: SideBySide}},
		{"right-left.mkv", append(h264, "-metadata:s:v", "stereo_mode=right_left"), Stereo{Packing: SideBySide, Inverted: true}},
		{"top-bottom.mkv", append(h264, "-metadata:s:v", "stereo_mode=top_bottom"), Stereo{Packing: TopBottom}},
		{"bottom-top.mkv", append(h264, "-metadata:s:v", "stereo_mode=bottom_top"), Stereo{Packing: TopBottom, Inverted: true}},
		{"lines.mkv", append(h264, "-metadata:s:v", "stereo_mode=row_interleaved_lr"), Stereo{Packing: Lines}},
		{"sei-side-by-side.ts", append(h264, "-x264-params", "frame-packing=3"), Stereo{Packing: SideBySide}},
		{"sei-top-bottom.h264", append(h264, "-x264-params", "frame-packing=4"), Stereo{Packing: TopBottom}},
		{"sei-alternate.mp4", append(h264, "-x264-params", "frame-packing=5"), Stereo{Packing: FrameAlternate}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path := clip(t, c.name, 4, c.args...)
			require.Equal(t, c.want, opened(t, path).Info().Stereo)
			if strings.HasSuffix(path, ".mkv") && c.want.Packing <= TopBottom && !c.want.Inverted {
				// MP4 has a box for these two, which is written from a copy alone.
				path = recut(t, path, "copy.mp4", "-i", path, "-c", "copy", "-strict", "unofficial")
				require.Equal(t, c.want, opened(t, path).Info().Stereo)
			}
		})
	}
}

func TestRates(t *testing.T) {
	for _, c := range []struct {
		name     string
		args     []string
		num, den int
		variable bool
	}{
		{"24.mov", []string{"-c:v", "prores_ks"}, 24, 1, false},
		{"23.mkv", []string{"-c:v", "ffv1", "-vf", "fps=24000/1001"}, 24000, 1001, false},
		{"29.mp4", []string{"-c:v", "libx264", "-vf", "fps=30000/1001"}, 30000, 1001, false},
		{"50.ts", []string{"-c:v", "libx264", "-vf", "fps=50"}, 50, 1, false},
		{"25.avi", []string{"-c:v", "mjpeg", "-pix_fmt", "yuvj420p", "-vf", "fps=25"}, 25, 1, false},
		{"one.mov", []string{"-c:v", "prores_ks", "-frames:v", "1"}, 24, 1, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			info := opened(t, clip(t, c.name, 49, c.args...)).Info()
			require.Equal(t, [2]int{c.num, c.den}, [2]int{info.RateNum, info.RateDen})
			require.Equal(t, c.variable, info.Variable)
		})
	}
}

func TestVariableRate(t *testing.T) {
	// Frame n is shown at 10·n + ⌊n/2⌋² ticks of 1/240 s.
	path := clip(t, "variable.mkv", 20, "-vf", "settb=1/240,setpts=10*N+trunc(N/2)*trunc(N/2)", "-enc_time_base", "1:240", "-vsync", "passthrough", "-c:v", "libx264", "-bf", "2")
	f := opened(t, path)
	require.True(t, f.Info().Variable)
	require.Equal(t, 20, f.Info().Frames)
	for i, frame := range all(t, f) {
		require.Equal(t, i, number(t, frame))
		half := i / 2
		require.InDelta(t, float64(10*i+half*half)/240, frame.Time.Seconds(), 0.001, "Matroska counts milliseconds")
	}
}

func TestPixelAspect(t *testing.T) {
	f := opened(t, clip(t, "a.mov", 2, "-c:v", "prores_ks", "-vf", "setsar=4/3"))
	require.InDelta(t, 4.0/3, f.Info().PixelAspect, 1e-9)
	frame, err := f.Frame(context.Background(), 0)
	require.NoError(t, err)
	require.InDelta(t, 4.0/3, frame.Aspect(), 1e-9)
}

// The numbering of files that begin or end oddly is that of the ffmpeg command:
// what it puts out for the whole file, in the same order.
func TestNumbersAgreeWithFFmpeg(t *testing.T) {
	long := []string{"-c:v", "libx264", "-preset", "veryfast", "-g", "12", "-bf", "3", "-x264-params", "scenecut=0"}
	for _, c := range []struct {
		name   string
		args   []string
		remake func(t *testing.T, path string) string
		// The command also puts out what it decodes before the first key picture
		// from references that it does not have. Those are no frames.
		garbage int
	}{
		{"edit list", append(long, "-movflags", "+faststart"), func(t *testing.T, path string) string {
			return recut(t, path, "cut.mp4", "-ss", "0.7", "-i", path, "-c", "copy")
		}, 0},
		{"transport stream from within a group", append(long, "-f", "mpegts"), func(t *testing.T, path string) string {
			return tail(t, path, 0.3)
		}, 0},
		{"open groups from within a group", []string{"-c:v", "libx265", "-preset", "ultrafast", "-x265-params", "log-level=none:keyint=12:min-keyint=12:bframes=3:open-gop=1:scenecut=0:pools=none:frame-threads=1", "-f", "mpegts"}, func(t *testing.T, path string) string {
			return tail(t, path, 0.3)
		}, 7},
		{"mpeg-2 from within a group", []string{"-c:v", "mpeg2video", "-g", "12", "-bf", "2", "-f", "mpegts"}, func(t *testing.T, path string) string {
			return tail(t, path, 0.3)
		}, 0},
		{"late start", long, func(t *testing.T, path string) string {
			return recut(t, path, "late.mkv", "-i", path, "-c", "copy", "-output_ts_offset", "5")
		}, 0},
		{"sound first", long, func(t *testing.T, path string) string {
			return recut(t, path, "sound.mov", "-i", path, "-f", "lavfi", "-i", "sine=duration=2", "-c:v", "copy", "-c:a", "aac")
		}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			path := filepath.Join(dir, "whole.ts")
			if c.args[len(c.args)-1] != "mpegts" {
				path = filepath.Join(dir, "whole.mp4")
			}
			ffmpeg(t, 60, append(c.args, path)...)
			path = c.remake(t, path)
			want := byCommand(t, path)[c.garbage:]
			require.Greater(t, len(want), 20)

			f := opened(t, path)
			var got []int
			for _, frame := range all(t, f) {
				got = append(got, number(t, frame))
			}
			require.Equal(t, want, got)
			for i := len(want) - 1; i >= 0; i -= 3 {
				frame, err := f.Frame(context.Background(), i)
				require.NoError(t, err)
				require.Equal(t, want[i], number(t, frame))
			}
		})
	}
}

// recut makes a file from another with the ffmpeg command.
func recut(t *testing.T, path, name string, args ...string) string {
	t.Helper()
	out := filepath.Join(filepath.Dir(path), name)
	text, err := exec.Command("ffmpeg", append(append([]string{"-v", "error", "-y", "-nostdin"}, args...), out)...).CombinedOutput()
	require.NoError(t, err, "%s", text)
	return out
}

// byCommand lists the frame numbers that the ffmpeg command puts out.
func byCommand(t *testing.T, path string) []int {
	t.Helper()
	raw, err := exec.Command("ffmpeg", "-v", "quiet", "-nostdin", "-threads", "1", "-i", path, "-map", "0:v", "-vsync", "passthrough", "-f", "rawvideo", "-pix_fmt", "gray", "-").Output()
	require.NoError(t, err)
	var out []int
	for ; len(raw) > 0; raw = raw[clipWidth*clipHeight:] {
		plane := picture.Plane{Width: clipWidth, Height: clipHeight, Stride: clipWidth}
		for _, v := range raw[:clipWidth*clipHeight] {
			plane.Pix = append(plane.Pix, uint16(v))
		}
		out = append(out, number(t, &picture.Frame{Planes: []picture.Plane{plane}}))
	}
	return out
}

// More threads change the time that decoding takes, and nothing else.
func TestThreadsChangeNothing(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
	}{
		{"a.mp4", []string{"-c:v", "libx264", "-preset", "veryfast", "-g", "12"}},
		{"a.mov", []string{"-c:v", "prores_ks"}},
		{"b.mov", []string{"-c:v", "mjpeg", "-pix_fmt", "yuvj420p"}},
	} {
		path := clip(t, c.name, 30, c.args...)
		want := all(t, opened(t, path))
		f, err := Open(context.Background(), path, Options{Threads: 3})
		require.NoError(t, err)
		defer f.Close()
		require.Equal(t, want, all(t, f))
		for _, i := range []int{20, 3, 29, 4, 5} {
			frame, err := f.Frame(context.Background(), i)
			require.NoError(t, err)
			require.Equal(t, want[i], frame)
		}
	}
}
