package prores

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// clip is what FFmpeg made of a source: the packets and the frames decoded from
// them, without alpha.
type clip struct {
	width, height int
	across        int // chroma samples for two pixels: 1 for 4:2:2, 2 for 4:4:4
	depth         int // bits that FFmpeg decodes to
	packets       [][]byte
	frames        [][]uint16
}

// street is real footage, from Debian's opencv-doc, 768 × 576.
const street = "/usr/share/doc/opencv-doc/examples/data/vtest.avi"

// source gives the arguments that make FFmpeg read or draw pictures of a size.
func source(t testing.TB, kind string, width, height int) []string {
	size := fmt.Sprintf("size=%dx%d:rate=24", width, height)
	drawn := func(graph string) []string { return []string{"-f", "lavfi", "-i", graph} }
	switch kind {
	case "street":
		_, err := os.Stat(street)
		require.NoError(t, err, "install the Debian package opencv-doc")
		return []string{"-ss", "3", "-i", street, "-vf", fmt.Sprintf("crop=500:400:200:100,scale=%d:%d", width, height)}
	case "test":
		return drawn("testsrc2=" + size)
	case "mandelbrot":
		return drawn("mandelbrot=" + size)
	case "noise":
		// Noise on a ramp, which is fine enough to leave no block flat.
		return drawn("gradients=" + size + ":seed=1:x0=0:y0=0:c0=black:c1=white,noise=alls=60:allf=t:all_seed=7")
	case "alpha":
		return drawn("testsrc2=" + size + ",format=yuva444p10le,geq=lum='lum(X,Y)':cb='cb(X,Y)':cr='cr(X,Y)':a='X*4'")
	}
	t.Fatalf("no source %s", kind)
	return nil
}

func ffmpeg(t testing.TB, args ...string) {
	t.Helper()
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Fatal("the ffmpeg command is missing: install the Debian package ffmpeg")
	}
	cmd := exec.Command("ffmpeg", append([]string{"-v", "error", "-y", "-nostdin"}, args...)...)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%v\n%s", cmd.Args, out)
}

// encoded makes a clip by FFmpeg's encoders.
func encoded(t testing.TB, kind string, width, height, frames int, args ...string) *clip {
	t.Helper()
	path := filepath.Join(t.TempDir(), "clip.mov")
	all := append(source(t, kind, width, height), "-threads", "1", "-frames:v", fmt.Sprint(frames))
	ffmpeg(t, append(append(all, args...), path)...)
	return decoded(t, path, packetsOf(t, path), width, height)
}

// decoded has FFmpeg decode a movie that has these packets.
func decoded(t testing.TB, path string, packets [][]byte, width, height int) *clip {
	t.Helper()
	c := &clip{width: width, height: height, across: 1, depth: 10, packets: packets}
	format := "yuv422p10le"
	if c.packets[0][20]>>6 == 3 {
		c.across, c.depth, format = 2, 12, "yuv444p12le"
	}
	pictures := path + ".yuv"
	ffmpeg(t, "-threads", "1", "-i", path, "-pix_fmt", format, "-f", "rawvideo", pictures)
	b, err := os.ReadFile(pictures)
	require.NoError(t, err)
	n := width*height + 2*c.chromaWidth()*height
	for len(b) > 0 {
		frame := make([]uint16, n)
		for i := range frame {
			frame[i] = binary.LittleEndian.Uint16(b[2*i:])
		}
		c.frames = append(c.frames, frame)
		b = b[2*n:]
	}
	require.Len(t, c.frames, len(c.packets))
	return c
}

// packetsOf takes the packets out of a movie: each begins with its size.
func packetsOf(t testing.TB, path string) (packets [][]byte) {
	t.Helper()
	raw := path + ".packets"
	ffmpeg(t, "-i", path, "-c", "copy", "-f", "rawvideo", raw)
	b, err := os.ReadFile(raw)
	require.NoError(t, err)
	for len(b) > 0 {
		n := binary.BigEndian.Uint32(b)
		require.Positive(t, n)
		packets = append(packets, b[:n:n])
		b = b[n:]
	}
	return packets
}

func (c *clip) chromaWidth() int {
	if c.across == 1 {
		return (c.width + 1) / 2
	}
	return c.width
}

// plane returns luma, Cb or Cr of a frame and its width.
func (c *clip) plane(frame, which int) ([]uint16, int) {
	f := c.frames[frame]
	if which == 0 {
		return f[:c.width*c.height], c.width
	}
	n := c.chromaWidth() * c.height
	return f[c.width*c.height+(which-1)*n:][:n], c.chromaWidth()
}

// difference is how means differ from those of decoded samples, in code values of 10
// bits, over the cells that lie wholly inside the frame.
type difference struct {
	cells       int
	worst       float64 // largest difference
	sum, square float64
	clipped     int // cells with samples at the limits of what decoders give, left out
}

func (d *difference) rms() float64 { return math.Sqrt(d.square / float64(d.cells)) }

func (d *difference) mean() float64 { return d.sum / float64(d.cells) }

func (d *difference) String() string {
	return fmt.Sprintf("%d cells: worst %.3f rms %.4f mean %+.4f, %d clipped", d.cells, d.worst, d.rms(), d.mean(), d.clipped)
}

// compare holds a plane against the decoded one.
func (d *difference) compare(t testing.TB, p *ReducedPlane, samples []uint16, width, depth int) {
	t.Helper()
	require.Len(t, p.Means, p.Columns*p.Rows)
	require.GreaterOrEqual(t, p.Columns, p.WholeColumns)
	require.GreaterOrEqual(t, p.Rows, p.WholeRows)
	height := len(samples) / width
	require.Equal(t, width/p.CellWidth, p.WholeColumns)
	require.Equal(t, height/p.CellHeight, p.WholeRows)
	unit := 1 << (depth - 10)
	low, high := uint16(clipMargin), uint16(1<<depth-1-clipMargin)
	for y := range p.WholeRows {
		row := p.Row(y)
		for x := range p.WholeColumns {
			var sum, atLow, atHigh int
			for j := range p.CellHeight {
				for _, v := range samples[(y*p.CellHeight+j)*width+x*p.CellWidth:][:p.CellWidth] {
					sum += int(v)
					if v <= low {
						atLow++
					}
					if v >= high {
						atHigh++
					}
				}
			}
			off := float64(row[x]) - float64(sum)/float64(p.CellWidth*p.CellHeight*unit)
			if atLow+atHigh > 0 {
				// Clipping moves the decoded mean towards the middle and nothing else.
				d.clipped++
				if atHigh == 0 {
					require.LessOrEqual(t, off, worstRounding, "cell %d, %d", x, y)
				}
				if atLow == 0 {
					require.GreaterOrEqual(t, off, -worstRounding, "cell %d, %d", x, y)
				}
				continue
			}
			d.cells++
			d.worst = max(d.worst, math.Abs(off))
			d.sum += off
			d.square += off * off
		}
	}
}

// worstRounding is how far a mean may be from that of decoded samples: a sample is
// rounded to half a code value, and in a flat block all of them may be to the same
// side; a tenth more is for the fixed-point transform.
const worstRounding = 0.6

// clipMargin is how many code values FFmpeg leaves free at either end, whatever
// the depth.
const clipMargin = 4

// name joins arguments to a name for a test.
func name(parts ...string) string {
	return strings.NewReplacer("-", "", " ", "_").Replace(strings.Join(parts, " "))
}
