package decode

import (
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/timing"
)

// pedestrians is a moving picture of Debian's package opencv-doc: a street with
// people, the camera at rest.
const pedestrians = "/usr/share/doc/opencv-doc/examples/data/vtest.avi"

// A frame that lacks or comes twice in 20 seconds is found at its exact place,
// whether frames stand alone or are predicted over long groups of pictures. The
// right eye is made by cutting the picture elsewhere, as for a distant scene.
func TestFrameFaultsOfFiles(t *testing.T) {
	const frames, at = 480, 305
	kinds := map[string][]string{
		"prores.mov": {"-c:v", "prores_aw", "-profile:v", "1", "-pix_fmt", "yuv422p10le"},
		"h264.mp4":   {"-c:v", "libx264", "-preset", "veryfast", "-g", "96", "-bf", "2", "-crf", "20", "-pix_fmt", "yuv420p", "-threads", "1"},
	}
	ffmpeg := func(args ...string) {
		out, err := exec.Command("ffmpeg", append([]string{"-v", "error", "-nostdin"}, args...)...).CombinedOutput()
		require.NoError(t, err, "install the Debian packages ffmpeg and opencv-doc: %s", out)
	}
	eyes := map[string]string{"left": "crop=760:570:0:2", "right": "crop=760:570:6:0"}
	for eye, crop := range eyes {
		eyes[eye] = filepath.Join(t.TempDir(), eye+".yuv")
		ffmpeg("-i", pedestrians, "-vf", crop+",scale=256:192", "-fps_mode", "passthrough", "-frames:v", "490",
			"-pix_fmt", "yuv420p", "-f", "rawvideo", eyes[eye])
	}
	encode := func(name, eye, filter string, args []string) []*picture.Signature {
		path := filepath.Join(t.TempDir(), name)
		ffmpeg(slices.Concat([]string{"-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", "256x192", "-r", "24", "-i", eyes[eye],
			"-vf", filter + "setpts=N", "-frames:v", strconv.Itoa(frames)}, args, []string{path})...)
		f, err := Open(t.Context(), path, Options{})
		require.NoError(t, err)
		defer f.Close()
		require.Equal(t, frames, f.Info().Frames)
		var list []*picture.Signature
		for i := range frames {
			small, err := f.Small(t.Context(), i)
			require.NoError(t, err)
			list = append(list, small.Signature())
		}
		return list
	}
	for name, args := range kinds {
		seen := encode(name, "left", "", args)
		require.Empty(t, timing.FrameFaults(seen, encode(name, "right", "", args), 0), name)

		dropped := encode(name, "right", "select='not(eq(n,305))',", args)
		require.Equal(t, []timing.FrameFault{{Right: true, Kind: timing.Dropped, Frame: at, Count: 1, Step: -1, StepKnown: true}},
			timing.FrameFaults(seen, dropped, 0), name)
		repeated := encode(name, "right", "loop=loop=1:size=1:start=305,", args)
		require.Equal(t, []timing.FrameFault{{Right: true, Kind: timing.Repeated, Frame: at, Count: 1, Step: 1, StepKnown: true}},
			timing.FrameFaults(seen, repeated, 0), name)
	}
}
