package decode

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What is asked cheaply is what opening the file tells.
func TestAskTellsWhatOpeningDoes(t *testing.T) {
	h264 := []string{"-c:v", "libx264", "-preset", "veryfast"}
	for _, c := range []struct {
		name string
		args []string
	}{
		{"prores.mov", []string{"-c:v", "prores_ks", "-r", "24000/1001", "-timecode", "10:58:12:20", "-metadata", "creation_time=2031-05-06T07:08:09Z"}},
		{"drop.mov", []string{"-c:v", "prores_ks", "-r", "30000/1001", "-timecode", "00:59:59;28"}},
		{"h264.mp4", append(h264, "-r", "25", "-timecode", "01:02:03:04", "-metadata", "creation_time=2031-05-06T07:08:09Z")},
		{"packed and labelled.mp4", append(h264, "-timecode", "01:02:03:04", "-x264-params", "frame-packing=3")},
		{"packed.mp4", append(h264, "-x264-params", "frame-packing=3")},
		{"packed.ts", append(h264, "-x264-params", "frame-packing=4")},
		{"tagged.mkv", append(h264, "-metadata:s:v", "stereo_mode=top_bottom")},
		{"dnxhr.mxf", []string{"-c:v", "dnxhd", "-profile:v", "dnxhr_hq", "-pix_fmt", "yuv422p", "-r", "25", "-timecode", "01:02:03:04"}},
		{"label.ts", []string{"-c:v", "mpeg2video", "-r", "25", "-timecode", "01:02:03:04"}},
		{"plain.avi", []string{"-c:v", "mjpeg", "-pix_fmt", "yuvj420p", "-r", "25"}},
		{"eye.%d.png", []string{"-pix_fmt", "rgb24"}},
	} {
		t.Run(strings.ReplaceAll(c.name, "%", ""), func(t *testing.T) {
			t.Parallel()
			path := clip(t, c.name, 12, c.args...)
			want := opened(t, path).Info()
			got, err := Ask(t.Context(), path)
			require.NoError(t, err)
			require.Equal(t, want.Codec, got.Codec)
			require.Equal(t, [2]int{want.Width, want.Height}, [2]int{got.Width, got.Height})
			require.Equal(t, want.Timecode, got.Timecode)
			require.Equal(t, want.Created, got.Created)
			require.Equal(t, want.Stereo, got.Stereo)
			require.Equal(t, [2]int{want.RateNum, want.RateDen}, [2]int{got.RateNum, got.RateDen})
			require.InDelta(t, want.Frames, got.Frames, 1, "as announced")
		})
	}
}

func TestAskRefuses(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, data, 0o644))
		return path
	}
	whole, err := os.ReadFile(clip(t, "a.mov", 12, "-c:v", "prores_ks"))
	require.NoError(t, err)
	for path, want := range map[string]error{
		write("empty.mov", nil):                          ErrEmpty,
		write("truncated.mov", whole[:len(whole)/2]):     ErrTruncated,
		write("text.mov", []byte("this is no video")):    ErrNotVideo,
		filepath.Join(dir, "gone.mov"):                   os.ErrNotExist,
		write("sound.txt", []byte("nothing of a film.")): ErrNotVideo,
	} {
		_, err := Ask(t.Context(), path)
		require.ErrorIs(t, err, want, path)
	}
}
