package decode

import (
	"fmt"

	"github.com/asticode/go-astiav"

	"nightpair/metrics/picture"
)

// scaler turns the formats that have no samples of their own to copy, such as
// palettes, Bayer patterns and floating point, into plain ones. Floating point
// is clipped to 0 … 1 and becomes 16 bits.
type scaler struct {
	context *astiav.SoftwareScaleContext
	frame   *astiav.Frame
	size    [2]int
	format  astiav.PixelFormat
}

func (s *scaler) convert(f *astiav.Frame) (*astiav.Frame, error) {
	target, ok := scaledFormat(f.PixelFormat())
	if !ok {
		return nil, fmt.Errorf("pixel format %s lies outside main memory", f.PixelFormat())
	}
	size := [2]int{f.Width(), f.Height()}
	if s.context == nil || s.size != size || s.format != f.PixelFormat() {
		s.close()
		context, err := astiav.CreateSoftwareScaleContext(size[0], size[1], f.PixelFormat(), size[0], size[1], target, astiav.NewSoftwareScaleContextFlags(astiav.SoftwareScaleContextFlagPoint))
		if err != nil {
			return nil, fmt.Errorf("pixel format %s: %w", f.PixelFormat(), err)
		}
		s.context, s.size, s.format = context, size, f.PixelFormat()
	}
	if s.frame == nil {
		s.frame = astiav.AllocFrame()
	}
	s.frame.Unref()
	if err := s.context.ScaleFrame(f, s.frame); err != nil {
		return nil, fmt.Errorf("pixel format %s: %w", f.PixelFormat(), err)
	}
	return s.frame, nil
}

func (s *scaler) close() {
	if s.context != nil {
		s.context.Free()
		s.context = nil
	}
	if s.frame != nil {
		s.frame.Free()
		s.frame = nil
	}
}

// picture copies a decoded frame into planes. Index, time and pixel aspect are
// left to the caller, and so is what the container says of colour.
func (s *scaler) picture(f *astiav.Frame) (*picture.Frame, pixelLayout, error) {
	return s.copied(f, false)
}

// luma is as picture, but leaves out the planes that hold nothing but colour.
func (s *scaler) luma(f *astiav.Frame) (*picture.Frame, pixelLayout, error) {
	return s.copied(f, true)
}

func (s *scaler) copied(f *astiav.Frame, luma bool) (*picture.Frame, pixelLayout, error) {
	desc, ok := describe(f)
	if !ok {
		return nil, pixelLayout{}, fmt.Errorf("unknown pixel format")
	}
	tags := desc
	if !desc.direct {
		plain, err := s.convert(f)
		if err != nil {
			return nil, pixelLayout{}, err
		}
		f = plain
		if desc, ok = describe(f); !ok || !desc.direct {
			return nil, pixelLayout{}, fmt.Errorf("pixel format %s cannot be read", f.PixelFormat())
		}
	}
	out := &picture.Frame{Layout: layout(desc), Depth: desc.depth, Colour: tags.colour()}
	components := desc.components
	if luma && out.Layout == picture.YCbCr {
		out.Layout, components = picture.Grey, 1
	}
	for i := range components {
		w, h := desc.widths[i], desc.heights[i]
		plane := picture.Plane{Width: w, Height: h, Stride: w, Pix: make([]uint16, w*h)}
		if !copyComponent(plane.Pix, f, i, w) {
			return nil, pixelLayout{}, fmt.Errorf("pixel format %s with line sizes %v cannot be read", f.PixelFormat(), f.Linesize())
		}
		out.Planes = append(out.Planes, plane)
	}
	return out, tags, nil
}

func layout(p pixelLayout) picture.Layout {
	switch {
	case p.components == 1:
		return picture.Grey
	case p.rgb:
		return picture.RGB
	}
	return picture.YCbCr
}
