package decode

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/coarse"
	"nightpair/metrics/picture"
)

// street encodes frames of the pedestrians, one eye's crop of them, enlarged.
func street(t testing.TB, name, crop string, width, height, frames int, args ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	all := append([]string{"-v", "error", "-nostdin", "-i", pedestrians, "-frames:v", strconv.Itoa(frames),
		"-vf", fmt.Sprintf("crop=%s,scale=%d:%d,setpts=N/24/TB", crop, width, height), "-r", "24", "-threads", "1"}, args...)
	out, err := exec.Command("ffmpeg", append(all, path)...).CombinedOutput()
	require.NoError(t, err, "install the Debian packages ffmpeg and opencv-doc: %s", out)
	return path
}

// meanOff is how far, in units of a reduced picture, a mean of 64 samples may be from that of
// the decoded ones: half a 10-bit code value where all are rounded alike, and a tenth for
// the decoder's transform and our own rounding (see package prores).
const meanOff = 0.6 * 64

// Small is what comes of reducing the decoded frame: exactly where it is decoded, and
// but for the rounding of samples where it is read from packets.
func TestSmall(t *testing.T) {
	hq := []string{"-c:v", "prores_ks", "-profile:v", "hq", "-pix_fmt", "yuv422p10le"}
	for _, c := range []struct {
		name          string
		width, height int
		packets       bool // read from packets
		args          []string
	}{
		{"hd.mov", 1920, 1080, true, hq},
		{"hd.mkv", 1920, 1080, true, hq},
		{"hd.mxf", 1920, 1080, true, []string{"-c:v", "prores_aw", "-profile:v", "3", "-pix_fmt", "yuv422p10le"}},
		{"uhd.mov", 3840, 2160, true, hq},
		{"odd.mov", 1998, 1078, true, hq},
		{"4444.mov", 1920, 1080, true, []string{"-c:v", "prores_ks", "-profile:v", "4444", "-pix_fmt", "yuv444p10le"}},
		{"narrow.mov", 1440, 1080, true, append([]string{"-aspect", "16:9"}, hq...)},
		{"interlaced.mov", 1920, 1080, false, append([]string{"-flags", "+ildct"}, hq...)},
		{"small.mov", 1280, 720, false, hq},
		{"h264.mp4", 1920, 1080, false, []string{"-c:v", "libx264", "-preset", "ultrafast", "-g", "12", "-pix_fmt", "yuv420p"}},
		{"png.mov", 640, 360, false, []string{"-c:v", "png", "-pix_fmt", "rgb24"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			const frames = 4
			path := street(t, c.name, "760:570:0:2", c.width, c.height, frames, c.args...)
			f, whole := opened(t, path), opened(t, path)
			fed := f.reader.(*film).fed
			for _, i := range []int{0, 1, 3, 2} { // on, and back
				small, err := f.Small(t.Context(), i)
				require.NoError(t, err)
				frame, err := whole.Frame(t.Context(), i)
				require.NoError(t, err)
				want := picture.Reduce(frame)
				got := small.Frame.Planes[0].Pix
				off := differences(got, want.Frame.Planes[0].Pix, unclipped(frame, want))
				if c.packets {
					require.LessOrEqual(t, off.worst, meanOff)
					require.LessOrEqual(t, off.rms, meanOff/2)
					require.Positive(t, off.rms)
					require.Equal(t, fed, f.reader.(*film).fed, "nothing is decoded")
				} else {
					require.Zero(t, off.worst)
				}
				small.Frame.Planes, want.Frame.Planes = nil, nil
				require.Equal(t, want, small, "but for the samples")
			}
			_, err := f.Small(t.Context(), frames)
			require.ErrorIs(t, err, io.EOF)
			again, err := f.Frame(t.Context(), 2)
			require.NoError(t, err)
			same, err := whole.Frame(t.Context(), 2)
			require.NoError(t, err)
			require.Equal(t, same, again)
			require.Equal(t, whole.Remarks(), f.Remarks())
		})
	}
}

type spread struct{ worst, rms float64 }

// differences holds those values against each other that count.
func differences(a, b []uint16, counts func(i int) bool) (s spread) {
	n := 0
	for i := range a {
		if !counts(i) {
			continue
		}
		d := math.Abs(float64(a[i]) - float64(b[i]))
		s.worst = max(s.worst, d)
		s.rms += d * d
		n++
	}
	s.rms = math.Sqrt(s.rms / float64(n))
	return s
}

// unclipped tells the boxes of a reduced picture in which nothing is clipped.
func unclipped(frame *picture.Frame, r *picture.Reduced) func(i int) bool {
	width, nx, ny := r.Frame.Width(), r.BoxWidth, r.BoxHeight
	return func(i int) bool {
		x, y := i%width*nx, i/width*ny
		return !clipped(frame, x, y, x+nx, y+ny)
	}
}

// clipped reports whether some sample of the frame, from (x0, y0) to before (x1, y1), is at
// the ends of what the decoder gives.
func clipped(frame *picture.Frame, x0, y0, x1, y1 int) bool {
	low, high := uint16(proresMargin), uint16(1<<frame.Depth-1-proresMargin)
	for y := max(y0, 0); y < min(y1, frame.Height()); y++ {
		for _, v := range frame.Planes[0].Row(y)[max(x0, 0):min(x1, frame.Width())] {
			if v <= low || v >= high {
				return true
			}
		}
	}
	return false
}

// What the scan of a clip makes of small pictures read from packets is what it makes of
// decoded ones. A signature's cell is the mean of some 14 boxes and off by no more than they
// are: 0.6/4 of an 8-bit code, or a whole one where samples are clipped, as the street's are in
// its highlights. The readings of a frame differ by what single codes of the 8-bit
// pictures turn the other way round: by less than their standard errors.
func TestSmallServesTheScan(t *testing.T) {
	const frames = 3
	hq := []string{"-c:v", "prores_ks", "-profile:v", "hq", "-pix_fmt", "yuv422p10le"}
	left := opened(t, street(t, "l.mov", "640:440:60:100", 1920, 1080, frames, hq...))
	right := opened(t, street(t, "r.mov", "640:440:66:98", 1920, 1080, frames, hq...))
	prior := coarse.Prior{Near: -0.05, Far: 0.05}
	for i := range frames {
		read := func(f *File) (small, reduced *picture.Reduced, frame *picture.Frame) {
			small, err := f.Small(t.Context(), i)
			require.NoError(t, err)
			frame, err = f.Frame(t.Context(), i)
			require.NoError(t, err)
			return small, picture.Reduce(frame), frame
		}
		l, wholeL, frame := read(left)
		r, wholeR, _ := read(right)
		a, b := l.Signature(), wholeL.Signature()
		for j := range a.Luma {
			for k, v := range a.Luma[j] {
				tolerance := 0.6 / 4
				// A cell is 30 pixels wide and high, and shares boxes with its neighbours.
				if x, y := 30*k, 30*j; clipped(frame, x-8, y-8, x+38, y+38) {
					tolerance = 1
				}
				require.InDelta(t, b.Luma[j][k], v, tolerance)
			}
		}
		got := coarse.Compare(coarse.FromReduced(l), coarse.FromReduced(r), prior)
		want := coarse.Compare(coarse.FromReduced(wholeL), coarse.FromReduced(wholeR), prior)
		require.Greater(t, want.Places, 50)
		require.InDelta(t, want.Offset, got.Offset, want.OffsetSE)
		require.InDelta(t, want.Roll, got.Roll, want.RollSE)
		require.InDelta(t, want.Zoom, got.Zoom, want.ZoomSE)
		require.InDelta(t, want.Exposure, got.Exposure, want.ExposureSE)
	}
}

// Damage is found without decoding every frame, and costs the damaged frame alone: a packet of
// zeros, one with noise in it, and a lost sector.
func TestSmallFindsDamage(t *testing.T) {
	const frames, bad = 6, 3
	whole := street(t, "whole.mov", "760:570:0:2", 1920, 1080, frames, "-c:v", "prores_ks", "-profile:v", "hq", "-pix_fmt", "yuv422p10le")
	sector := func() string {
		f := opened(t, whole)
		p := f.reader.(*film).table.packets[bad]
		b, err := os.ReadFile(whole)
		require.NoError(t, err)
		at := int(p.pos) + p.size/2
		at -= at % 4096
		clear(b[at:][:4096])
		path := filepath.Join(t.TempDir(), "sector.mov")
		require.NoError(t, os.WriteFile(path, b, 0o644))
		return path
	}
	for name, path := range map[string]string{
		"zeros": spoil(t, whole, bad, true), "noise": spoil(t, whole, bad, false), "sector": sector(),
	} {
		f := opened(t, path)
		for i := range frames {
			small, err := f.Small(t.Context(), i)
			if i == bad {
				require.ErrorIs(t, err, ErrDamaged, name)
				continue
			}
			require.NoError(t, err, name)
			require.Equal(t, i, small.Frame.Index)
		}
		_, err := f.Small(t.Context(), bad)
		require.ErrorIs(t, err, ErrDamaged, name)
		require.True(t, f.w.notes.mentions("damaged: packet 3"), "%v", f.Remarks())
		require.True(t, f.w.notes.mentions("frame 3 was decoded in full"), "%v", f.Remarks())
	}
}

// A packet of another size than those around it is decoded.
func TestSmallDecodesWhatLooksOdd(t *testing.T) {
	path := filepath.Join(t.TempDir(), "flash.mov")
	var in bytes.Buffer
	for n := range 5 {
		frame := numbered(n)
		if n == 2 {
			frame = bytes.Repeat([]byte{128}, len(frame))
		}
		in.Write(frame)
	}
	cmd := exec.CommandContext(context.Background(), "ffmpeg", "-v", "error", "-f", "rawvideo", "-pix_fmt", "yuv420p",
		"-s", fmt.Sprintf("%dx%d", clipWidth, clipHeight), "-i", "pipe:0", "-vf", "scale=1920:1080", "-threads", "1",
		"-c:v", "prores_ks", "-pix_fmt", "yuv422p10le", path)
	cmd.Stdin = &in
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	f := opened(t, path)
	var decoded []int
	for i := range 5 {
		before := f.reader.(*film).fed
		_, err := f.Small(t.Context(), i)
		require.NoError(t, err)
		if f.reader.(*film).fed != before {
			decoded = append(decoded, i)
		}
	}
	require.Equal(t, []int{2}, decoded)
	require.Empty(t, f.Remarks(), "nothing is wrong with it")
}
