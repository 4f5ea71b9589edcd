package decode

import (
	"context"
	"io"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

// every kind of file that the frame tests go through.
var kinds = []struct {
	name   string
	frames int
	depth  int
	layout picture.Layout
	args   []string
}{
	{"b-frames.mp4", 50, 8, picture.YCbCr, []string{"-c:v", "libx264", "-preset", "veryfast", "-bf", "3", "-g", "12"}},
	{"open-gop.mkv", 50, 8, picture.YCbCr, []string{"-c:v", "libx264", "-preset", "veryfast", "-x264-params", "open-gop=1:bframes=4:b-pyramid=normal:keyint=12:scenecut=0"}},
	{"hevc10.mp4", 40, 10, picture.YCbCr, []string{"-c:v", "libx265", "-preset", "ultrafast", "-pix_fmt", "yuv420p10le", "-x265-params", "log-level=none:keyint=12:min-keyint=12:bframes=3:open-gop=1:pools=none:frame-threads=1"}},
	{"hevc.mkv", 30, 8, picture.YCbCr, []string{"-c:v", "libx265", "-preset", "ultrafast", "-x265-params", "log-level=none:keyint=10:bframes=3:pools=none:frame-threads=1"}},
	{"prores.mov", 25, 10, picture.YCbCr, []string{"-c:v", "prores_ks", "-profile:v", "hq", "-pix_fmt", "yuv422p10le"}},
	{"prores4444.mov", 8, 12, picture.YCbCr, []string{"-c:v", "prores_ks", "-profile:v", "4444", "-pix_fmt", "yuva444p10le"}},
	{"dnxhr.mov", 25, 8, picture.YCbCr, []string{"-c:v", "dnxhd", "-profile:v", "dnxhr_hq", "-pix_fmt", "yuv422p"}},
	{"dnxhr.mxf", 25, 10, picture.YCbCr, []string{"-c:v", "dnxhd", "-profile:v", "dnxhr_hqx", "-pix_fmt", "yuv422p10le"}},
	{"mjpeg.avi", 25, 8, picture.YCbCr, []string{"-c:v", "mjpeg", "-q:v", "3", "-pix_fmt", "yuvj420p"}},
	{"mjpeg.mov", 25, 8, picture.YCbCr, []string{"-c:v", "mjpeg", "-q:v", "3", "-pix_fmt", "yuvj422p"}},
	{"ffv1.mkv", 25, 8, picture.YCbCr, []string{"-c:v", "ffv1", "-level", "3", "-g", "1"}},
	{"ffv1-long.mkv", 25, 8, picture.YCbCr, []string{"-c:v", "ffv1", "-level", "3", "-g", "10"}},
	{"ffv1-12.mkv", 10, 12, picture.YCbCr, []string{"-c:v", "ffv1", "-pix_fmt", "yuv444p12le"}},
	{"ffv1-rgb.mkv", 10, 8, picture.RGB, []string{"-c:v", "ffv1", "-pix_fmt", "bgr0"}},
	{"ffv1-grey16.mkv", 10, 16, picture.Grey, []string{"-c:v", "ffv1", "-pix_fmt", "gray16le"}},
	{"h264.ts", 50, 8, picture.YCbCr, []string{"-c:v", "libx264", "-preset", "veryfast", "-bf", "3", "-g", "12"}},
	{"mpeg2.ts", 50, 8, picture.YCbCr, []string{"-c:v", "mpeg2video", "-bf", "2", "-g", "12", "-q:v", "3"}},
	{"mpeg2.mxf", 40, 8, picture.YCbCr, []string{"-c:v", "mpeg2video", "-bf", "2", "-g", "12", "-q:v", "3"}},
	{"raw.h264", 50, 8, picture.YCbCr, []string{"-c:v", "libx264", "-preset", "veryfast", "-bf", "3", "-g", "12"}},
	{"raw.hevc", 30, 8, picture.YCbCr, []string{"-c:v", "libx265", "-preset", "ultrafast", "-x265-params", "log-level=none:keyint=10:bframes=3:pools=none:frame-threads=1"}},
	{"mpeg4.avi", 40, 8, picture.YCbCr, []string{"-c:v", "mpeg4", "-bf", "2", "-g", "12", "-q:v", "3"}},
	{"intra264.mov", 25, 10, picture.YCbCr, []string{"-c:v", "libx264", "-preset", "veryfast", "-g", "1", "-pix_fmt", "yuv422p10le"}},
	{"fragmented.mp4", 40, 8, picture.YCbCr, []string{"-c:v", "libx264", "-preset", "veryfast", "-bf", "2", "-g", "10", "-movflags", "frag_keyframe+empty_moov"}},
	{"vp9.webm", 30, 8, picture.YCbCr, []string{"-c:v", "libvpx-vp9", "-deadline", "realtime", "-cpu-used", "8", "-g", "10", "-b:v", "1M"}},
	{"vp8.webm", 30, 8, picture.YCbCr, []string{"-c:v", "libvpx", "-deadline", "good", "-cpu-used", "5", "-auto-alt-ref", "1", "-lag-in-frames", "10", "-g", "15", "-b:v", "2M"}},
	{"uyvy.mov", 8, 8, picture.YCbCr, []string{"-c:v", "rawvideo", "-pix_fmt", "uyvy422"}},
	{"v210.mov", 8, 10, picture.YCbCr, []string{"-c:v", "v210"}},
	{"nut-nv12.nut", 8, 8, picture.YCbCr, []string{"-c:v", "rawvideo", "-pix_fmt", "nv12"}},
	{"png/eye.%04d.png", 12, 8, picture.RGB, []string{"-start_number", "86", "-pix_fmt", "rgb24"}},
	{"png16/eye.%d.png", 12, 16, picture.RGB, []string{"-start_number", "5", "-pix_fmt", "rgb48be"}},
	{"dpx/eye.%06d.dpx", 12, 10, picture.RGB, []string{"-start_number", "1001", "-pix_fmt", "gbrp10le"}},
	{"tif/eye_%04d.tif", 12, 16, picture.RGB, []string{"-start_number", "0", "-pix_fmt", "rgb48le"}},
	{"exr/eye.%04d.exr", 12, 16, picture.RGB, []string{"-start_number", "1", "-pix_fmt", "gbrpf32le"}},
	{"jpg/eye.%04d.jpg", 6, 8, picture.YCbCr, []string{"-start_number", "1", "-pix_fmt", "yuvj422p", "-q:v", "2"}},
}

// Every frame must come, under its own number, in whatever order it is asked
// for, and with the very same samples.
func TestEveryFrameUnderItsNumber(t *testing.T) {
	ctx := context.Background()
	for _, kind := range kinds {
		t.Run(strings.ReplaceAll(kind.name, "%", ""), func(t *testing.T) {
			t.Parallel()
			path := clipIn(t, kind.name, kind.frames, kind.args...)
			file := opened(t, path)
			info := file.Info()
			require.Equal(t, kind.frames, info.Frames)
			require.Equal(t, kind.depth, info.Depth)
			require.Equal(t, clipWidth, info.Width)
			require.Equal(t, clipHeight, info.Height)

			frames := all(t, file)
			require.Len(t, frames, kind.frames)
			for i, f := range frames {
				require.Equal(t, i, f.Index)
				require.Equal(t, i, number(t, f), "picture of frame %d", i)
				require.Equal(t, kind.layout, f.Layout)
				require.Equal(t, kind.depth, f.Depth)
				require.InDelta(t, float64(i)/24, f.Time.Seconds(), 0.0011)
			}

			again := opened(t, path)
			order := rand.New(rand.NewPCG(1, 2)).Perm(kind.frames)
			order = append(order, 0, kind.frames-1, kind.frames-1, kind.frames/2, kind.frames/2+1)
			for _, i := range order {
				f, err := again.Frame(ctx, i)
				require.NoError(t, err, "frame %d", i)
				require.Equal(t, i, number(t, f))
				require.Equal(t, frames[i], f, "frame %d differs when asked for out of turn", i)
			}
			for i := 1; i < kind.frames; i += 5 {
				f, err := again.Frame(ctx, i)
				require.NoError(t, err, "frame %d", i)
				require.Equal(t, frames[i], f)
			}
			_, err := again.Frame(ctx, kind.frames)
			require.Equal(t, io.EOF, err)
			if strings.HasPrefix(kind.name, "exr") {
				require.Equal(t, []Remark{{"floating point samples: light above 1 is clipped", 1}}, again.Remarks())
			} else {
				require.Empty(t, again.Remarks())
			}
		})
	}
}
