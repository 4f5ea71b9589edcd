package decode

import (
	"math"
	"strings"
	"testing"
	"unsafe"

	"github.com/asticode/go-astiav"
	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

// converted scales a grey ramp with a colour cast into a pixel format, or
// returns nil where FFmpeg's scaler cannot write that format.
func converted(t *testing.T, format astiav.PixelFormat) *astiav.Frame {
	t.Helper()
	const w, h = 64, 32
	src := astiav.AllocFrame()
	defer src.Free()
	src.SetWidth(w)
	src.SetHeight(h)
	src.SetPixelFormat(astiav.PixelFormatRgb24)
	require.NoError(t, src.AllocBuffer(0))
	layout := (*frameHead)(src.UnsafePointer())
	for y := range h {
		row := unsafe.Slice((*byte)(unsafe.Add(layout.data[0], y*int(layout.lineSize[0]))), 3*w)
		for x := range w {
			row[3*x], row[3*x+1], row[3*x+2] = rampRed(x), rampGreen(x), rampBlue(x)
		}
	}
	context, err := astiav.CreateSoftwareScaleContext(w, h, astiav.PixelFormatRgb24, w, h, format,
		astiav.NewSoftwareScaleContextFlags(astiav.SoftwareScaleContextFlagPoint, astiav.SoftwareScaleContextFlag(scaleAccurately)))
	if err != nil {
		return nil
	}
	defer context.Free()
	dst := astiav.AllocFrame()
	dst.SetWidth(w)
	dst.SetHeight(h)
	dst.SetPixelFormat(format)
	if dst.AllocBuffer(0) != nil || context.ScaleFrame(src, dst) != nil {
		dst.Free()
		return nil
	}
	return dst
}

// scaleAccurately is SWS_FULL_CHR_H_INT and SWS_ACCURATE_RND of libswscale.
const scaleAccurately = 0x2000 | 0x40000

// frameHead is how FFmpeg's AVFrame begins.
type frameHead struct {
	data     [8]unsafe.Pointer
	lineSize [8]int32
}

func rampRed(x int) byte   { return byte(40 + 2*(x/2*2)) }
func rampGreen(x int) byte { return byte(60 + 2*(x/2*2)) }
func rampBlue(x int) byte  { return byte(90 + x/2*2) }

// Every pixel format that FFmpeg's scaler can write is read back as what was
// drawn: the scaler is the outside authority on where samples lie.
func TestPixelFormats(t *testing.T) {
	astiav.SetLogLevel(astiav.LogLevelQuiet)
	defer astiav.SetLogLevel(astiav.LogLevelInfo)
	seen := map[string]bool{}
	for format := astiav.PixelFormat(0); format < astiav.PixelFormatNb; format++ {
		name := format.Name()
		if name == "" || strings.HasPrefix(name, "bayer") {
			continue
		}
		f := converted(t, format)
		if f == nil {
			continue
		}
		seen[name] = true
		t.Run(name, func(t *testing.T) {
			defer f.Free()
			var s scaler
			defer s.close()
			got, desc, err := s.picture(f)
			if name == "rgb4" || name == "bgr4" {
				// Two pixels to a byte: the scaler writes it and cannot read it.
				require.ErrorContains(t, err, name)
				return
			}
			require.NoError(t, err)
			require.GreaterOrEqual(t, got.Depth, 8)
			require.LessOrEqual(t, got.Depth, 16)
			want := formatDepth(format)
			if desc.direct {
				require.Equal(t, want, got.Depth)
			}
			top := float64(int(1)<<got.Depth - 1)
			at := func(plane, x, y int) float64 {
				p := got.Planes[plane]
				return float64(p.Row(y * p.Height / 32)[x*p.Width/64]) / top * 255
			}
			// Formats of few bits, and those that FFmpeg dithers, are coarse.
			tolerance := 2.0
			switch {
			case name == "rgb8" || name == "bgr8":
				tolerance = 85 // two bits for blue
			case strings.HasPrefix(name, "x2"):
				tolerance = 3 // dithered
			case want < 8:
				tolerance = 40
			}
			for y := 1; y < 32; y += 6 {
				for x := 2; x < 62; x += 5 {
					r, g, b := float64(rampRed(x)), float64(rampGreen(x)), float64(rampBlue(x))
					luma := 0.299*r + 0.587*g + 0.114*b // the scaler's default is BT.601
					switch got.Layout {
					case picture.RGB:
						if strings.HasPrefix(name, "mono") || want == 1 {
							continue
						}
						require.InDelta(t, r, at(0, x, y), tolerance, "red at %d", x)
						require.InDelta(t, g, at(1, x, y), tolerance, "green at %d", x)
						require.InDelta(t, b, at(2, x, y), tolerance, "blue at %d", x)
					case picture.Grey:
						if want == 1 {
							require.Contains(t, []float64{0, 255}, math.Round(at(0, x, y)))
							continue
						}
						full := at(0, x, y)
						narrow := (full - 16) / 219 * 255
						require.LessOrEqual(t, min(math.Abs(full-luma), math.Abs(narrow-luma)), 2.0, "grey at %d: %v, not %v", x, full, luma)
					case picture.YCbCr:
						y16, cb, cr := 16+luma*219/255, 128+(b-luma)/1.772*224/255, 128+(r-luma)/1.402*224/255
						if desc.fullFormat {
							y16, cb, cr = luma, 128+(b-luma)/1.772, 128+(r-luma)/1.402
						}
						// Code values of n bits are those of 8 times 2^(n-8).
						unit := 255 / top * float64(int(1)<<(got.Depth-8))
						require.InDelta(t, y16*unit, at(0, x, y), 2, "luma at %d", x)
						require.InDelta(t, cb*unit, at(1, x, y), 3, "Cb at %d", x)
						require.InDelta(t, cr*unit, at(2, x, y), 3, "Cr at %d", x)
					}
				}
			}
		})
	}
	for _, name := range []string{"yuv420p", "yuvj420p", "yuv422p10le", "yuv422p10be", "yuv444p12le", "yuva444p16be", "nv12", "nv21", "nv24", "p010le", "p010be", "p016le",
		"yuyv422", "uyvy422", "rgb24", "bgr24", "argb", "bgra", "rgb48be", "bgra64le", "rgb565le", "rgb8", "gbrp", "gbrp10be", "gbrap12le", "gbrpf32le",
		"gray", "gray10le", "gray16be", "ya8", "grayf32le", "monob", "yuv410p", "yuv411p", "yuv440p", "x2rgb10le", "xyz12le"} {
		require.True(t, seen[name], "%s was not tested", name)
	}
}

// A line size of zero, which some broken frames have, is refused; a negative
// one means rows from bottom to top.
func TestLineSizes(t *testing.T) {
	f := converted(t, astiav.PixelFormatGray8)
	require.NotNil(t, f)
	defer f.Free()
	var s scaler
	upright, _, err := s.picture(f)
	require.NoError(t, err)
	require.Equal(t, 64, upright.Width())

	head := (*frameHead)(f.UnsafePointer())
	size := head.lineSize[0]
	require.Equal(t, int(size), f.Linesize()[0])
	head.data[0] = unsafe.Add(head.data[0], 31*int(size))
	head.lineSize[0] = -size
	flipped, _, err := s.picture(f)
	require.NoError(t, err)
	for y := range 32 {
		require.Equal(t, upright.Planes[0].Row(y), flipped.Planes[0].Row(31-y))
	}
	for _, short := range []int32{0, 63, -63} {
		head.lineSize[0] = short
		_, _, err = s.picture(f)
		require.Error(t, err)
	}
	head.data[0] = unsafe.Add(head.data[0], -31*int(size))
	head.lineSize[0] = size
}
