package prores

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var benchSizes = []struct {
	name          string
	width, height int
}{{"HD", 1920, 1080}, {"UHD", 3840, 2160}}

// benchFrames are frames of real footage in each benchmark's clip.
const benchFrames = 12

func benchClip(b *testing.B, width, height int) string {
	path := filepath.Join(b.TempDir(), "clip.mov")
	ffmpeg(b, append(source(b, "street", width, height), "-frames:v", fmt.Sprint(benchFrames),
		"-c:v", "prores_ks", "-profile:v", "hq", "-pix_fmt", "yuv422p10le", path)...)
	return path
}

// BenchmarkRead reads small pictures of ProRes 422 HQ, luma alone and with colour, and
// reports processor time.
func BenchmarkRead(b *testing.B) {
	for _, size := range benchSizes {
		path := benchClip(b, size.width, size.height)
		packets := packetsOf(b, path)
		for _, kind := range []struct {
			name   string
			chroma bool
		}{{"luma", false}, {"colour", true}} {
			b.Run(size.name+"/"+kind.name, func(b *testing.B) {
				b.ReportAllocs()
				var p Picture
				i, before := 0, processorTime(b)
				for b.Loop() {
					if err := p.Read(packets[i%len(packets)], kind.chroma); err != nil {
						b.Fatal(err)
					}
					i++
				}
				used := processorTime(b) - before
				b.ReportMetric(used.Seconds()*1000/float64(b.N), "cpu-ms/frame")
			})
		}
	}
}

// processorTime is what this process has used so far.
func processorTime(b *testing.B) time.Duration {
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkFFmpeg has FFmpeg decode the same clips by one thread, and reports the
// processor time of the whole command.
func BenchmarkFFmpeg(b *testing.B) {
	for _, size := range benchSizes {
		path := benchClip(b, size.width, size.height)
		b.Run(size.name, func(b *testing.B) {
			var used time.Duration
			for b.Loop() {
				cmd := exec.Command("ffmpeg", "-v", "error", "-nostdin", "-threads", "1", "-i", path, "-f", "null", "-")
				require.NoError(b, cmd.Run())
				used += cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
			}
			b.ReportMetric(used.Seconds()*1000/float64(b.N*benchFrames), "cpu-ms/frame")
		})
	}
}
