package decode

import (
	"context"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// benchClip is a larger clip, so that pixels outweigh calls.
func benchClip(b *testing.B, name string, args ...string) string {
	b.Helper()
	return clip(b, name, 48, append([]string{"-vf", "scale=1920:1080:flags=neighbor"}, args...)...)
}

var benchKinds = []struct {
	name string
	args []string
}{
	{"prores.mov", []string{"-c:v", "prores_ks", "-profile:v", "hq", "-pix_fmt", "yuv422p10le"}},
	{"h264.mp4", []string{"-c:v", "libx264", "-preset", "veryfast", "-g", "24", "-crf", "12"}},
}

// BenchmarkEveryFrame reads a clip from end to end.
func BenchmarkEveryFrame(b *testing.B) {
	for _, k := range benchKinds {
		b.Run(k.name, func(b *testing.B) {
			path := benchClip(b, k.name, k.args...)
			for b.Loop() {
				readEvery(b, path, 1)
			}
			b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N)/48, "ms/frame")
		})
	}
}

// BenchmarkSampled reads every twelfth frame and the whole clip in one run and
// reports the first as a share of the second: a twelfth is 0.083.
func BenchmarkSampled(b *testing.B) {
	for _, k := range benchKinds {
		b.Run(k.name, func(b *testing.B) {
			path := benchClip(b, k.name, k.args...)
			var sampled, whole time.Duration
			for b.Loop() {
				start := time.Now()
				readEvery(b, path, 12)
				middle := time.Now()
				readEvery(b, path, 1)
				sampled += middle.Sub(start)
				whole += time.Since(middle)
			}
			b.ReportMetric(float64(sampled)/float64(whole), "share")
		})
	}
}

func readEvery(b *testing.B, path string, step int) {
	f, err := Open(context.Background(), path, Options{})
	require.NoError(b, err)
	for i := 0; ; i += step {
		if _, err := f.Frame(context.Background(), i); err == io.EOF {
			break
		} else if err != nil {
			b.Fatal(err)
		}
	}
	require.NoError(b, f.Close())
}
