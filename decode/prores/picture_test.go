package prores

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

const (
	flatRounding  = 0.289  // a value rounded to a whole: 1/√12
	noisyRounding = 0.0434 // the mean of 64 that are rounded apart, and a fifth for the transform
)

// Means are those of the decoded picture but for the rounding of its samples. Of 64
// samples that are rounded independently the mean is off by 0.289/8 = 0.036 rms; in
// flat blocks all samples are rounded alike, which makes up to 0.5. FFmpeg decodes
// 4:4:4 to 12 bits, where it is a quarter of that. Cells with samples that were
// clipped must only be off to the side that clipping explains.
func TestMeansAreThoseOfTheDecodedPicture(t *testing.T) {
	interlaced := []string{"-flags", "+ildct"}
	bottom := []string{"-vf", "setfield=bff", "-flags", "+ildct"}
	ks := func(profile, format string, more ...string) []string {
		return append([]string{"-c:v", "prores_ks", "-profile:v", profile, "-pix_fmt", format}, more...)
	}
	aw := func(profile, format string, more ...string) []string {
		return append([]string{"-c:v", "prores_aw", "-profile:v", profile, "-pix_fmt", format}, more...)
	}
	const p422, p444, alpha = "yuv422p10le", "yuv444p10le", "yuva444p10le"
	for _, c := range []struct {
		source        string
		width, height int
		args          []string
	}{
		{"street", 640, 360, ks("proxy", p422)},
		{"street", 640, 360, ks("lt", p422)},
		{"street", 640, 360, ks("standard", p422)},
		{"street", 640, 360, ks("hq", p422)},
		{"street", 640, 360, ks("4444", p444)},
		{"street", 640, 360, ks("4444xq", p444)},
		{"street", 640, 352, aw("0", p422)},
		{"street", 640, 352, aw("3", p422)},
		{"street", 640, 352, aw("4", p444)},
		{"street", 640, 352, aw("5", p444)},
		{"noise", 320, 180, ks("proxy", p422)},
		{"noise", 320, 180, ks("hq", p422)},
		{"noise", 320, 180, aw("3", p422)},
		{"noise", 320, 180, ks("4444", p444)},
		{"test", 640, 360, ks("lt", p422)},
		{"test", 640, 360, ks("4444", p444)},
		{"mandelbrot", 640, 360, ks("standard", p422)},
		{"mandelbrot", 640, 360, aw("4", p444)},
		{"alpha", 320, 180, ks("4444", alpha)},
		{"alpha", 320, 180, ks("4444xq", alpha, "-alpha_bits", "8")},
		{"alpha", 320, 180, ks("4444", alpha, "-alpha_bits", "0")},
		{"alpha", 320, 180, aw("4", alpha)},
		{"street", 1920, 1080, ks("hq", p422, interlaced...)},
		{"street", 640, 352, ks("standard", p422, interlaced...)},
		{"test", 352, 486, ks("lt", p422, bottom...)},
		{"street", 640, 352, aw("3", p422, interlaced...)},
		{"noise", 320, 180, ks("4444", p444, interlaced...)},
		{"alpha", 320, 180, ks("4444", alpha, interlaced...)},
		{"street", 1922, 1082, ks("hq", p422)},
		{"street", 962, 542, ks("hq", p422, interlaced...)},
		{"noise", 998, 540, ks("proxy", p422)},
		{"noise", 64, 64, ks("hq", p422)},
		{"noise", 16, 16, ks("hq", p422)},
		{"noise", 34, 30, ks("hq", p422)},
		{"noise", 130, 51, ks("hq", p422)},
		{"noise", 130, 51, ks("hq", p422, interlaced...)},
		{"noise", 131, 77, ks("4444", p444)},
		{"noise", 262, 100, ks("hq", p422, "-mbs_per_slice", "1")},
		{"noise", 262, 100, ks("hq", p422, "-mbs_per_slice", "2")},
		{"noise", 262, 100, ks("4444", p444, "-mbs_per_slice", "4")},
		{"noise", 262, 100, ks("proxy", p422, "-quant_mat", "default")},
		{"noise", 262, 100, ks("hq", p422, "-quant_mat", "proxy")},
	} {
		t.Run(name(append([]string{c.source, fmt.Sprintf("%dx%d", c.width, c.height)}, c.args...)...), func(t *testing.T) {
			t.Parallel()
			clip := encoded(t, c.source, c.width, c.height, 2, c.args...)
			var p Picture
			var planes [3]difference
			for i, packet := range clip.packets {
				require.NoError(t, p.Read(packet, true))
				require.Equal(t, c.width, p.Width)
				require.Equal(t, c.height, p.Height)
				require.Equal(t, slices.Contains(c.args, "+ildct"), p.Interlaced)
				for j, plane := range []*ReducedPlane{&p.Luma, &p.Cb, &p.Cr} {
					samples, width := clip.plane(i, j)
					planes[j].compare(t, plane, samples, width, clip.depth)
				}
			}
			for j := range planes {
				d := &planes[j]
				t.Log(d)
				require.Positive(t, d.cells)
				require.LessOrEqual(t, d.worst, worstRounding)
				require.LessOrEqual(t, d.rms(), flatRounding)
				if c.source == "noise" && j == 0 && d.cells > 200 { // enough for a mean of squares
					require.LessOrEqual(t, d.rms(), noisyRounding)
				}
			}
		})
	}
}

// Every quantiser scales as FFmpeg says, those above 128 four times as steeply: the
// quantisers of a clip of flat blocks near mid-grey are exchanged, and FFmpeg decodes
// what comes out. The same for the weight of colour where only that of light is sent.
func TestQuantisersAndWeights(t *testing.T) {
	const width, height = 128, 64
	path := filepath.Join(t.TempDir(), "clip.mov")
	graph := fmt.Sprintf("color=gray:size=%dx%d,format=yuv422p10le,geq=lum='511+mod(floor(X/8)+floor(Y/8),3)':cb='511+mod(floor(X/8),3)':cr='513-mod(floor(Y/8),2)'", width, height)
	ffmpeg(t, "-f", "lavfi", "-i", graph, "-threads", "1", "-frames:v", "1", "-c:v", "prores_ks", "-profile:v", "hq", path)
	movie, err := os.ReadFile(path)
	require.NoError(t, err)
	original := packetsOf(t, path)[0]
	at := bytes.Index(movie, original)
	require.Positive(t, at)

	check := func(t *testing.T, packet []byte) {
		changed := slices.Clone(movie)
		copy(changed[at:], packet)
		path := filepath.Join(t.TempDir(), "changed.mov")
		require.NoError(t, os.WriteFile(path, changed, 0o600))
		clip := decoded(t, path, [][]byte{packet}, width, height)
		var p Picture
		require.NoError(t, p.Read(packet, true))
		for j, plane := range []*ReducedPlane{&p.Luma, &p.Cb, &p.Cr} {
			var d difference
			samples, width := clip.plane(0, j)
			d.compare(t, plane, samples, width, clip.depth)
			require.LessOrEqual(t, d.worst, worstRounding)
			require.Greater(t, d.cells, 10)
		}
	}
	for _, quantiser := range []byte{1, 2, 31, 127, 128, 129, 130, 160, 200} {
		t.Run(fmt.Sprint(quantiser), func(t *testing.T) {
			packet := slices.Clone(original)
			for _, slice := range slicesOf(t, packet) {
				slice[1] = quantiser
			}
			check(t, packet)
		})
	}
	t.Run("weights", func(t *testing.T) {
		packet := slices.Clone(original)
		require.EqualValues(t, 3, packet[containerSize+19], "both matrices are there")
		packet[containerSize+headerSize] = 20
		packet[containerSize+headerSize+matrixSize] = 50
		for _, slice := range slicesOf(t, packet) {
			slice[1] = 9
		}
		check(t, packet)
	})
	t.Run("no weight of colour", func(t *testing.T) {
		const end = containerSize + headerSize + matrixSize
		packet := slices.Concat(original[:end], original[end+matrixSize:], make([]byte, matrixSize))
		packet[containerSize+19] = 2
		binary.BigEndian.PutUint32(packet, uint32(len(packet)-matrixSize))
		binary.BigEndian.PutUint16(packet[containerSize:], headerSize+matrixSize)
		for _, slice := range slicesOf(t, packet) {
			slice[1] = 40
		}
		packet[containerSize+headerSize] = 6
		check(t, packet)
	})
}

// slicesOf gives the slices of a packet, in place.
func slicesOf(t testing.TB, packet []byte) (list [][]byte) {
	t.Helper()
	h, rest, err := readHeader(packet)
	require.NoError(t, err)
	for range h.fields {
		var pic pictureHeader
		pic, rest, err = readPicture(rest, h)
		require.NoError(t, err)
		for data := pic.data; len(data) > 0; pic.sizes = pic.sizes[2:] {
			n := binary.BigEndian.Uint16(pic.sizes)
			list = append(list, data[:n])
			data = data[n:]
		}
	}
	return list
}

// Read uses a Picture again for frames of another size and kind.
func TestReadAgain(t *testing.T) {
	large := encoded(t, "street", 128, 96, 1, "-c:v", "prores_ks", "-profile:v", "4444", "-pix_fmt", "yuv444p10le").packets[0]
	small := encoded(t, "test", 64, 48, 1, "-c:v", "prores_ks", "-profile:v", "hq", "-pix_fmt", "yuv422p10le", "-flags", "+ildct").packets[0]
	var again Picture
	for _, c := range []struct {
		packet []byte
		chroma bool
	}{{large, true}, {small, false}, {small, true}, {large, false}, {large, true}} {
		var fresh Picture
		require.NoError(t, fresh.Read(c.packet, c.chroma))
		require.NoError(t, again.Read(c.packet, c.chroma))
		require.Equal(t, fresh.Luma, again.Luma)
		if c.chroma {
			require.Equal(t, fresh, again)
			require.NotEmpty(t, again.Cr.Means)
		} else {
			require.Empty(t, again.Cb.Means)
			require.Zero(t, again.Cr.Columns)
		}
	}
	require.Zero(t, testing.AllocsPerRun(10, func() { _ = again.Read(large, true) }))
}
