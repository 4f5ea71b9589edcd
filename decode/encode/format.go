package encode

import (
	"fmt"
	"math"

	"github.com/asticode/go-astiav"

	"nightpair/metrics/picture"
)

// pixelFormat names the planar format that holds the frame's samples as they
// are.
func pixelFormat(f *picture.Frame) (astiav.PixelFormat, error) {
	var name string
	switch {
	case f.Layout == picture.Grey:
		name = "gray"
	case f.Layout == picture.RGB:
		return astiav.PixelFormatNone, fmt.Errorf("RGB frames cannot be written")
	default:
		luma, chroma := f.Planes[0], f.Planes[1]
		switch {
		case chroma.Width == luma.Width && chroma.Height == luma.Height:
			name = "yuv444p"
		case chroma.Width == (luma.Width+1)/2 && chroma.Height == luma.Height:
			name = "yuv422p"
		case chroma.Width == (luma.Width+1)/2 && chroma.Height == (luma.Height+1)/2:
			name = "yuv420p"
		default:
			return astiav.PixelFormatNone, fmt.Errorf("chroma of %d×%d for luma of %d×%d cannot be written", chroma.Width, chroma.Height, luma.Width, luma.Height)
		}
	}
	if f.Depth > 8 {
		name = fmt.Sprintf("%s%dle", name, f.Depth)
	}
	p := astiav.FindPixelFormatByName(name)
	if p == astiav.PixelFormatNone {
		return p, fmt.Errorf("FFmpeg has no format %s", name)
	}
	return p, nil
}

// sameFormat reports whether two frames can follow one another in one file.
func sameFormat(a, b *picture.Frame) bool {
	if a.Layout != b.Layout || a.Depth != b.Depth || a.Aspect() != b.Aspect() || len(a.Planes) != len(b.Planes) {
		return false
	}
	for i, p := range a.Planes {
		if q := b.Planes[i]; p.Width != q.Width || p.Height != q.Height {
			return false
		}
	}
	return true
}

func aspect(f *picture.Frame) astiav.Rational {
	return astiav.NewRational(int(math.Round(f.Aspect()*1000)), 1000)
}

// colourOptions names the colour tags the way FFmpeg's encoders are told.
func colourOptions(c picture.Colour) [][2]string {
	var options [][2]string
	add := func(key string, names map[uint8]string, value uint8) {
		if name := names[value]; name != "" {
			options = append(options, [2]string{key, name})
		}
	}
	add("color_range", map[uint8]string{uint8(picture.NarrowRange): "tv", uint8(picture.FullRange): "pc"}, uint8(c.Range))
	add("colorspace", map[uint8]string{uint8(picture.BT601): "smpte170m", uint8(picture.BT709): "bt709", uint8(picture.BT2020): "bt2020nc"}, uint8(c.Matrix))
	add("color_primaries", map[uint8]string{uint8(picture.PrimariesBT709): "bt709", uint8(picture.PrimariesBT2020): "bt2020", uint8(picture.PrimariesP3): "smpte432"}, uint8(c.Primaries))
	// Pictures for a BT.1886 display carry the tag of BT.709's camera curve.
	add("color_trc", map[uint8]string{uint8(picture.BT1886): "bt709", uint8(picture.SRGB): "iec61966-2-1", uint8(picture.Linear): "linear", uint8(picture.PQ): "smpte2084", uint8(picture.HLG): "arib-std-b67"}, uint8(c.Transfer))
	return options
}
