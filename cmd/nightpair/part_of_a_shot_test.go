package main

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// street is a camera at rest over a street with people, 768×576 at 10 frames a second; from
// the Debian package opencv-doc.
const street = "/usr/share/doc/opencv-doc/examples/data/vtest.avi"

// Two eyes are cut from one real clip, 8 pixels apart, and the right one moves within the
// shot. Each is told with its onset and its size; the clip beside it passes.
func TestFindsWhatMovesInPartOfAShot(t *testing.T) {
	const lines, frames = 552, 120
	dir := t.TempDir()
	cut := func(name, filter string) {
		cmd := exec.Command("ffmpeg", "-v", "error", "-y", "-nostdin", "-i", street, "-frames:v", fmt.Sprint(frames), "-vf", filter,
			"-an", "-c:v", "libx264", "-threads", "1", "-crf", "12", "-pix_fmt", "yuv420p", filepath.Join(dir, name))
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "install the Debian packages ffmpeg and opencv-doc: %s", out)
	}
	tests := map[string]struct {
		right    string  // where the right eye's picture is cut from
		metric   string  // of the finding
		size     float64 // in the metric's unit
		from, to int     // frames
	}{
		"clean":  {right: "crop=744:552:0:12"},
		"late":   {"crop=744:552:0:'if(gte(n,102),6,12)'", "vertical_offset", 100 * 6.0 / lines, 102, 119},
		"second": {"crop=744:552:0:'if(between(n,60,69),4,12)'", "vertical_offset", 100 * 8.0 / lines, 60, 69},
	}
	for name, test := range tests {
		cut(name+"_L.mp4", "crop=744:552:8:12")
		cut(name+"_R.mp4", test.right)
	}
	got := nightpair(t, dir, "check", ".", "--out", "out", "--quiet", "--samples", "8")
	require.Equal(t, 1, got.code, "%+v", got)
	clips, findings := rows(t, dir, "out/clips.csv"), rows(t, dir, "out/findings.csv")
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, "1", clips[name][0]["seen"], "every frame was compared")
			if test.metric == "" {
				require.Equal(t, "pass", clips[name][0]["verdict"], "%v", findings[name])
				require.Empty(t, findings[name])
				return
			}
			require.NotEqual(t, "pass", clips[name][0]["verdict"])
			changed, beyond := false, false
			for _, f := range findings[name] {
				require.Equal(t, test.metric, f["metric"], "nothing else is wrong")
				switch f["statistic"] {
				case "change":
					changed = true
					require.InDelta(t, test.size, figure(t, f, "value"), 0.05)
					require.Equal(t, float64(test.from), figure(t, f, "frame_to"), "the onset")
				case "stretch":
					beyond = true
					require.InDelta(t, test.size, figure(t, f, "value"), 0.05)
					require.InDelta(t, test.from, figure(t, f, "frame_from"), 2)
					require.InDelta(t, test.to, figure(t, f, "frame_to"), 2)
				case "median":
					beyond = true
					require.InDelta(t, test.size, figure(t, f, "value"), 0.05)
				}
			}
			require.True(t, changed && beyond, "%v", findings[name])
		})
	}
}
