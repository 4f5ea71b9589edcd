package encode

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// frames draws a few frames of a moving scene.
func frames(t testing.TB, n int, shot synth.Shot) []*picture.Frame {
	scene, ok := synth.Named("crowd")
	require.True(t, ok)
	shot.Scene, shot.Width, shot.Height = scene, 192, 108
	out := make([]*picture.Frame, n)
	for i := range out {
		out[i] = shot.Eye(synth.LeftEye, float64(i)/24)
	}
	return out
}

func command(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Fatalf("the %s command is missing: install the Debian package ffmpeg", name)
	}
	out, err := exec.Command(name, args...).Output()
	require.NoError(t, err)
	return out
}

type probed struct {
	Streams []struct {
		CodecType, CodecName, Profile, PixFmt                 string
		Width, Height                                         int
		RFrameRate, AvgFrameRate, NbReadFrames                string
		ColorRange, ColorSpace, ColorTransfer, ColorPrimaries string
		Tags                                                  map[string]string
		SideDataList                                          []struct{ SideDataType, Type string }
	}
	Format struct{ Tags map[string]string }
}

// probe asks the ffprobe command about a file, decoding all of it.
func probe(t testing.TB, path string) probed {
	t.Helper()
	out := command(t, "ffprobe", "-v", "error", "-count_frames", "-show_streams", "-show_format", "-of", "json", path)
	// The names come with underscores, which encoding/json does not skip.
	out = bytes.ReplaceAll(out, []byte("codec_type"), []byte("CodecType"))
	for _, name := range []string{"codec_name", "pix_fmt", "r_frame_rate", "avg_frame_rate", "nb_read_frames", "color_range", "color_space", "color_transfer", "color_primaries", "side_data_list", "side_data_type"} {
		out = bytes.ReplaceAll(out, []byte(`"`+name+`"`), bytes.ReplaceAll([]byte(`"`+name+`"`), []byte("_"), nil))
	}
	var p probed
	require.NoError(t, json.Unmarshal(out, &p))
	require.NotEmpty(t, p.Streams)
	return p
}

// samples decodes a file with the ffmpeg command to planes one after another.
func samples(t testing.TB, path, format string) []byte {
	t.Helper()
	return command(t, "ffmpeg", "-v", "error", "-i", path, "-map", "0:v:0", "-f", "rawvideo", "-pix_fmt", format, "-")
}

// raw lays out the samples of frames as the ffmpeg command does.
func raw(frames []*picture.Frame) []byte {
	var out []byte
	for _, f := range frames {
		for _, p := range f.Planes {
			for _, v := range p.Pix {
				if f.Depth > 8 {
					out = binary.LittleEndian.AppendUint16(out, v)
				} else {
					out = append(out, byte(v))
				}
			}
		}
	}
	return out
}

func TestMovie(t *testing.T) {
	created := time.Date(2031, 5, 6, 7, 8, 9, 0, time.UTC)
	for _, c := range []struct {
		name       string
		shot       synth.Shot
		movie      Movie
		codec      string
		format     string
		rate       string
		psnr       float64 // dB of luma against the full code range; +Inf means exact
		timecodeIn string
	}{
		{"ProRes", synth.Shot{}, Movie{Timecode: "10:21:07:12", Created: created}, "prores", "yuv422p10le", "24/1", 50, "10:21:07:12"},
		{"H264", synth.Shot{Depth: 8, Chroma: synth.Chroma420}, Movie{Codec: H264, RateNum: 25, RateDen: 1, Timecode: "01:00:00:00", Created: created}, "h264", "yuv420p", "25/1", 40, "01:00:00:00"},
		{"drop frame", synth.Shot{Depth: 8, Chroma: synth.Chroma420}, Movie{Codec: H264, RateNum: 30000, RateDen: 1001, Timecode: "01:00:00;02"}, "h264", "yuv420p", "30000/1001", 40, "01:00:00;02"},
		{"FFV1", synth.Shot{}, Movie{Codec: FFV1, Timecode: "23:59:59:23", Created: created}, "ffv1", "yuv422p10le", "24/1", math.Inf(1), "23:59:59:23"},
		{"FFV1 444", synth.Shot{Chroma: synth.Chroma444, Depth: 12}, Movie{Codec: FFV1}, "ffv1", "yuv444p12le", "24/1", math.Inf(1), ""},
		{"FFV1 grey", synth.Shot{Chroma: synth.NoChroma, Depth: 8}, Movie{Codec: FFV1}, "ffv1", "gray", "24/1", math.Inf(1), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a clip"+c.movie.Codec.Extension())
			in := frames(t, 31, c.shot)
			require.NoError(t, WriteAll(path, c.movie, in...))

			p := probe(t, path)
			v := p.Streams[0]
			require.Equal(t, "video", v.CodecType)
			require.Equal(t, c.codec, v.CodecName)
			require.Equal(t, c.format, v.PixFmt)
			require.Equal(t, [2]int{192, 108}, [2]int{v.Width, v.Height})
			require.Equal(t, c.rate, v.AvgFrameRate)
			require.Equal(t, "31", v.NbReadFrames)
			require.Equal(t, "tv", v.ColorRange)
			if c.format != "gray" {
				require.Equal(t, [3]string{"bt709", "bt709", "bt709"}, [3]string{v.ColorSpace, v.ColorTransfer, v.ColorPrimaries})
			}
			if c.codec == "prores" {
				require.Equal(t, "HQ", v.Profile)
			}
			timecode := v.Tags["timecode"] + v.Tags["TIMECODE"]
			require.Equal(t, c.timecodeIn, timecode)
			if !c.movie.Created.IsZero() {
				require.Equal(t, "2031-05-06T07:08:09.000000Z", p.Format.Tags["creation_time"])
			}

			got, want := samples(t, path, c.format), raw(in)
			require.Len(t, got, len(want))
			if math.IsInf(c.psnr, 1) {
				require.True(t, bytes.Equal(want, got), "not the same samples")
				return
			}
			depth, luma, frame := in[0].Depth, 0.0, len(want)/31
			for n := range 31 {
				for i := range 192 * 108 {
					a, b := n*frame+i, n*frame+i
					e := float64(want[a]) - float64(got[b])
					if depth > 8 {
						a, b = n*frame+2*i, n*frame+2*i
						e = float64(binary.LittleEndian.Uint16(want[a:])) - float64(binary.LittleEndian.Uint16(got[b:]))
					}
					luma += e * e
				}
			}
			top := float64(int(1)<<depth - 1)
			require.Greater(t, 10*math.Log10(top*top/(luma/(31*192*108))), c.psnr)
		})
	}
}

func TestSameFramesSameBytes(t *testing.T) {
	for _, codec := range []Codec{ProRes, H264, FFV1} {
		shot := synth.Shot{}
		if codec == H264 {
			shot = synth.Shot{Depth: 8, Chroma: synth.Chroma420}
		}
		in := frames(t, 5, shot)
		var files [2][]byte
		for i := range files {
			path := filepath.Join(t.TempDir(), "clip"+codec.Extension())
			require.NoError(t, WriteAll(path, Movie{Codec: codec, Timecode: "02:00:00:00"}, in...))
			var err error
			files[i], err = os.ReadFile(path)
			require.NoError(t, err)
		}
		require.True(t, bytes.Equal(files[0], files[1]), "%s", codec)
	}
}

func TestSideBySide(t *testing.T) {
	scene, _ := synth.Named("posts")
	shot := synth.Shot{Scene: scene, Width: 96, Height: 54, Depth: 8, Chroma: synth.Chroma420}
	left, right, _ := shot.Render(0)
	both, err := SideBySide(left, right)
	require.NoError(t, err)
	require.Equal(t, 192, both.Width())
	for i := range both.Planes {
		half := both.Half(picture.LeftHalf).Planes[i]
		other := both.Half(picture.RightHalf).Planes[i]
		for y := range half.Height {
			require.Equal(t, left.Planes[i].Row(y), half.Row(y))
			require.Equal(t, right.Planes[i].Row(y), other.Row(y))
		}
	}
	shot.Height = 50
	_, err = SideBySide(left, shot.Eye(synth.RightEye, 0))
	require.Error(t, err)

	// What the files say of themselves: the packing arrangement of H.264 comes
	// with each frame, the mode of Matroska with the track.
	for _, c := range []struct {
		codec Codec
		show  string
	}{{H264, "-show_frames"}, {FFV1, "-show_streams"}} {
		path := filepath.Join(t.TempDir(), "both"+c.codec.Extension())
		require.NoError(t, WriteAll(path, Movie{Codec: c.codec, Packed: true}, both, both))
		out := command(t, "ffprobe", "-v", "error", "-select_streams", "v", c.show, path)
		require.Contains(t, string(out), "Stereo 3D")
	}
}

func TestWriteRefuses(t *testing.T) {
	dir := t.TempDir()
	_, err := Create(filepath.Join(dir, "missing", "a.mov"), Movie{})
	require.ErrorContains(t, err, "a.mov")
	_, err = Create(filepath.Join(dir, "a.mov"), Movie{RateNum: 24})
	require.ErrorContains(t, err, "24/0")

	w, err := Create(filepath.Join(dir, "b.mov"), Movie{})
	require.NoError(t, err)
	require.ErrorContains(t, w.Close(), "no frames")

	in := frames(t, 1, synth.Shot{Depth: 8, Chroma: synth.Chroma420})
	err = WriteAll(filepath.Join(dir, "c.mov"), Movie{}, in...)
	require.ErrorContains(t, err, "ProRes of yuv420p")

	err = WriteAll(filepath.Join(dir, "d.mkv"), Movie{Codec: FFV1}, in[0], frames(t, 1, synth.Shot{})[0])
	require.ErrorContains(t, err, "frame 1 differs")
}

// FFmpeg and x264 are talkative; their lines must not reach the terminal.
func TestNothingReachesTheTerminal(t *testing.T) {
	const key = "ENCODE_TEST_TALK"
	if os.Getenv(key) != "" {
		in := frames(t, 3, synth.Shot{Depth: 8, Chroma: synth.Chroma420})
		require.NoError(t, WriteAll(filepath.Join(t.TempDir(), "a.mp4"), Movie{Codec: H264}, in...))
		require.Error(t, WriteAll(filepath.Join(t.TempDir(), "a.mov"), Movie{}, in...))
		return
	}
	c := exec.Command(os.Args[0], "-test.run=^"+t.Name()+"$")
	c.Env = append(os.Environ(), key+"=1")
	out, err := c.CombinedOutput()
	require.NoError(t, err)
	require.Equal(t, "PASS\n", string(out))
}

func BenchmarkWrite(b *testing.B) {
	scene, _ := synth.Named("street")
	for _, codec := range []Codec{ProRes, H264} {
		b.Run(codec.String(), func(b *testing.B) {
			shot := synth.Shot{Scene: scene, Noise: 1}
			if codec == H264 {
				shot.Depth, shot.Chroma = 8, synth.Chroma420
			}
			f := shot.Eye(synth.LeftEye, 0)
			w, err := Create(filepath.Join(b.TempDir(), "clip"+codec.Extension()), Movie{Codec: codec})
			require.NoError(b, err)
			for b.Loop() {
				require.NoError(b, w.Write(f))
			}
			require.NoError(b, w.Close())
		})
	}
}
