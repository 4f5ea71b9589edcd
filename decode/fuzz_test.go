package decode

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// FuzzOpen changes a few bytes of small clips. Whatever comes, a file may only
// fail with an Error, and a frame may only come under the number asked for.
func FuzzOpen(f *testing.F) {
	var clips [][]byte
	for _, c := range []struct {
		name string
		args []string
	}{
		{"a.mp4", []string{"-c:v", "libx264", "-preset", "ultrafast", "-g", "4", "-bf", "2", "-crf", "40"}},
		{"a.mov", []string{"-c:v", "mjpeg", "-q:v", "20", "-pix_fmt", "yuvj420p", "-timecode", "00:00:59;28", "-r", "30000/1001"}},
		{"a.mkv", []string{"-c:v", "ffv1", "-metadata:s:v", "stereo_mode=left_right"}},
		{"a.ts", []string{"-c:v", "mpeg2video", "-g", "4", "-bf", "1", "-q:v", "20"}},
	} {
		b, err := os.ReadFile(clip(f, c.name, 6, append(c.args, "-s", "64x48")...))
		require.NoError(f, err)
		clips = append(clips, b)
	}
	for i := range clips {
		n := uint32(len(clips[i]))
		f.Add(byte(i), uint32(0), byte(0), uint32(0), byte(0), uint32(0)) // as it is
		f.Add(byte(i), uint32(3), byte(0xff), uint32(9), byte(1), uint32(0))
		f.Add(byte(i), n/2, byte(0xff), n/2+1, byte(0x80), uint32(0))
		f.Add(byte(i), n-40, byte(0x01), n-60, byte(0x7f), uint32(0))
		f.Add(byte(i), n/3, byte(0x10), n/4, byte(0x04), n*2/3)
		f.Add(byte(i), n-100, byte(0x55), n-200, byte(0xaa), uint32(0))
	}
	f.Fuzz(func(t *testing.T, which byte, at uint32, flip byte, at2 uint32, flip2 byte, keep uint32) {
		b := append([]byte{}, clips[int(which)%len(clips)]...)
		b[int(at)%len(b)] ^= flip
		b[int(at2)%len(b)] ^= flip2
		if keep > 0 {
			b = b[:int(keep)%len(b)]
		}
		path := filepath.Join(t.TempDir(), "clip.bin")
		require.NoError(t, os.WriteFile(path, b, 0o600))
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		file, err := Open(ctx, path, Options{})
		var typed *Error
		if err != nil {
			require.ErrorAs(t, err, &typed)
			require.NotEmpty(t, typed.Reason)
			return
		}
		defer func() { require.NoError(t, file.Close()) }()
		n := file.Info().Frames
		require.Positive(t, n)
		for _, i := range []int{0, min(3, n-1), n - 1, 1, n} {
			frame, err := file.Frame(ctx, i)
			switch {
			case err == io.EOF:
				require.GreaterOrEqual(t, i, n)
			case err != nil:
				require.ErrorAs(t, err, &typed)
				require.False(t, errors.Is(err, context.DeadlineExceeded), "hangs")
			default:
				require.Less(t, i, n)
				require.Equal(t, i, frame.Index)
				require.Positive(t, frame.Width())
				require.NotEmpty(t, frame.Planes[0].Row(frame.Height()-1))
			}
		}
	})
}
