package decode

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

// The test clips carry their frame number in the picture: twelve upright
// bars, one for each bit, of which the upper half is bright for 1 and the lower
// half for 0. A moving ramp keeps the coder busy.
const (
	clipWidth  = 256
	clipHeight = 144
	clipBits   = 12
	barWidth   = 20
)

// numbered draws frame n as yuv420p.
func numbered(n int) []byte {
	pix := make([]byte, clipWidth*clipHeight*3/2)
	for y := range clipHeight {
		for x := range clipWidth {
			v := 60 + (x+3*n+y/2)%40
			if bit := x / barWidth; bit < clipBits && (n>>bit&1 == 1) == (y < clipHeight/2) {
				v += 100
			}
			pix[y*clipWidth+x] = byte(v)
		}
	}
	for i := clipWidth * clipHeight; i < len(pix); i++ {
		pix[i] = byte(128 + (i+n)%11 - 5)
	}
	return pix
}

// number reads the frame number out of a picture.
func number(t testing.TB, f *picture.Frame) int {
	plane := f.Planes[0]
	if f.Layout == picture.RGB {
		plane = f.Planes[1]
	}
	require.GreaterOrEqual(t, plane.Width, clipBits*barWidth)
	scale := plane.Width / clipWidth
	n := 0
	for bit := range clipBits {
		var top, bottom int
		for y := range plane.Height {
			for _, v := range plane.Row(y)[(bit*barWidth+4)*scale : (bit*barWidth+16)*scale] {
				if y < plane.Height/2 {
					top += int(v)
				} else {
					bottom += int(v)
				}
			}
		}
		if top > bottom {
			n |= 1 << bit
		}
	}
	return n
}

// ffmpeg runs the ffmpeg command with numbered frames on its standard input.
func ffmpeg(t testing.TB, frames int, args ...string) {
	t.Helper()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Fatal("the ffmpeg command is missing: install the Debian package ffmpeg")
	}
	var in bytes.Buffer
	for n := range frames {
		in.Write(numbered(n))
	}
	cmd := exec.Command("ffmpeg", append([]string{"-v", "error", "-y", "-nostdin", "-f", "rawvideo", "-pix_fmt", "yuv420p",
		"-s", fmt.Sprintf("%dx%d", clipWidth, clipHeight), "-r", "24", "-i", "pipe:0", "-threads", "1"}, args...)...)
	cmd.Stdin = &in
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%v\n%s", cmd.Args, out)
}

// clip encodes a numbered clip and gives its path.
func clip(t testing.TB, name string, frames int, args ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	ffmpeg(t, frames, append(args, path)...)
	return path
}

func opened(t testing.TB, path string) *File {
	t.Helper()
	f, err := Open(context.Background(), path, Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, f.Close()) })
	return f
}

// all reads every frame with Next.
func all(t testing.TB, f *File) []*picture.Frame {
	t.Helper()
	var out []*picture.Frame
	for {
		frame, err := f.Next(context.Background())
		if err == io.EOF {
			return out
		}
		require.NoError(t, err)
		out = append(out, frame)
	}
}

// cut copies the first part of a file.
func cut(t testing.TB, path string, share float64) string {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	short := filepath.Join(t.TempDir(), "cut"+filepath.Ext(path))
	require.NoError(t, os.WriteFile(short, b[:int(float64(len(b))*share)], 0o644))
	return short
}

// clipIn is clip for a name that may hold a folder.
func clipIn(t testing.TB, name string, frames int, args ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
	ffmpeg(t, frames, append(args, path)...)
	return path
}

// tail copies a file without its first part.
func tail(t testing.TB, path string, share float64) string {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	late := filepath.Join(t.TempDir(), "tail"+filepath.Ext(path))
	require.NoError(t, os.WriteFile(late, b[int(float64(len(b))*share):], 0o644))
	return late
}

// patch overwrites bytes of a file.
func patch(t testing.TB, path string, at int64, b []byte) {
	t.Helper()
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer f.Close()
	_, err = f.WriteAt(b, at)
	require.NoError(t, err)
}
