package decode

import (
	"context"
	"io"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

func TestLuma(t *testing.T) {
	const frames = 20
	for _, k := range []struct {
		name   string
		layout picture.Layout
		args   []string
	}{
		{"prores.mov", picture.Grey, []string{"-c:v", "prores_ks", "-profile:v", "hq", "-pix_fmt", "yuv422p10le"}},
		{"dnxhr.mov", picture.Grey, []string{"-c:v", "dnxhd", "-profile:v", "dnxhr_hq", "-pix_fmt", "yuv422p"}},
		{"h264.mp4", picture.Grey, []string{"-c:v", "libx264", "-g", "12", "-bf", "2", "-pix_fmt", "yuv420p"}},
		{"mjpeg.avi", picture.Grey, []string{"-c:v", "mjpeg", "-pix_fmt", "yuvj422p"}},
		{"png.mov", picture.RGB, []string{"-c:v", "png", "-pix_fmt", "rgb24"}},
	} {
		t.Run(k.name, func(t *testing.T) {
			f, err := Open(t.Context(), clip(t, k.name, frames, k.args...), Options{})
			require.NoError(t, err)
			defer f.Close()
			whole := map[int]*picture.Frame{}
			for _, i := range []int{3, 4, 11, 13} {
				whole[i], err = f.Frame(t.Context(), i)
				require.NoError(t, err)
			}
			// To the end, and back.
			for _, i := range []int{3, 4, 5, 11, 13, 19, 4} {
				luma, err := f.Luma(t.Context(), i)
				require.NoError(t, err)
				require.Equal(t, k.layout, luma.Layout)
				require.Equal(t, i, luma.Index)
				if whole[i] != nil {
					require.Equal(t, whole[i].Planes[0], luma.Planes[0], "frame %d", i)
					require.Equal(t, whole[i].Time, luma.Time)
					require.Equal(t, whole[i].Time, f.Time(i))
					colour := whole[i].Colour
					if colour.Range == picture.RangeUnspecified && whole[i].Layout == picture.YCbCr {
						colour.Range = picture.NarrowRange
					}
					require.Equal(t, colour, luma.Colour)
				}
			}
			_, err = f.Luma(t.Context(), frames)
			require.ErrorIs(t, err, io.EOF)
			again, err := f.Frame(t.Context(), 11)
			require.NoError(t, err)
			require.Equal(t, whole[11], again, "with its colour")
			require.Empty(t, f.Remarks(), "what we leave out is not worth telling")
		})
	}
}

// BenchmarkScan makes the signature of every frame, as the scan of a whole clip
// does, and decodes every frame plainly, in one run, and reports the first as a share
// of the second, in time of the processors.
func BenchmarkScan(b *testing.B) {
	for _, k := range benchKinds {
		b.Run(k.name, func(b *testing.B) {
			path := benchClip(b, k.name, k.args...)
			var scan, plain time.Duration
			for b.Loop() {
				start := processorTime()
				f, err := Open(context.Background(), path, Options{})
				require.NoError(b, err)
				for i := 0; ; i++ {
					small, err := f.Small(context.Background(), i)
					if err == io.EOF {
						break
					}
					require.NoError(b, err)
					small.Signature()
				}
				require.NoError(b, f.Close())
				middle := processorTime()
				readEvery(b, path, 1)
				scan += middle - start
				plain += processorTime() - middle
			}
			b.ReportMetric(float64(scan)/float64(plain), "share")
		})
	}
}

// processorTime is the time that all processors have spent on this process.
func processorTime() time.Duration {
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		return 0
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}
