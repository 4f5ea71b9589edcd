package encode

//#cgo pkg-config: libavutil libavformat
//#include <libavformat/avformat.h>
//#include <libavutil/dict.h>
//#include <libavutil/frame.h>
import "C"

import (
	"unsafe"

	"github.com/asticode/go-astiav"

	"nightpair/metrics/picture"
)

// fill gives w.frame a new buffer, since the encoder may still hold the last
// one, and copies the samples of f to it.
func (w *Writer) fill(f *picture.Frame) error {
	w.frame.Unref()
	w.frame.SetWidth(f.Width())
	w.frame.SetHeight(f.Height())
	w.frame.SetPixelFormat(w.coder.PixelFormat())
	w.frame.SetSampleAspectRatio(aspect(f))
	if err := w.frame.AllocBuffer(0); err != nil {
		return err
	}
	c := (*C.AVFrame)(w.frame.UnsafePointer())
	// ProRes keeps the colour tags in every frame.
	c.color_range = C.enum_AVColorRange(w.coder.ColorRange())
	c.colorspace = C.enum_AVColorSpace(w.coder.ColorSpace())
	c.color_primaries = C.enum_AVColorPrimaries(w.coder.ColorPrimaries())
	c.color_trc = C.enum_AVColorTransferCharacteristic(w.coder.ColorTransferCharacteristic())
	for i, p := range f.Planes {
		stride := int(c.linesize[i])
		for y := range p.Height {
			line := unsafe.Add(unsafe.Pointer(c.data[i]), y*stride)
			if f.Depth > 8 {
				// The formats are little-endian, as are the machines this runs on.
				copy(unsafe.Slice((*uint16)(line), p.Width), p.Row(y))
				continue
			}
			dst := unsafe.Slice((*byte)(line), p.Width)
			for x, v := range p.Row(y) {
				dst[x] = byte(v)
			}
		}
	}
	return nil
}

// setTags copies tags to the file and to its stream; go-astiav has no setter.
// Its types hold the C pointer as their first field.
func setTags(f *astiav.FormatContext, s *astiav.Stream, tags *astiav.Dictionary) {
	format := *(**C.AVFormatContext)(unsafe.Pointer(f))
	stream := *(**C.AVStream)(unsafe.Pointer(s))
	dict := *(**C.AVDictionary)(unsafe.Pointer(tags))
	C.av_dict_copy(&format.metadata, dict, 0)
	C.av_dict_copy(&stream.metadata, dict, 0)
}
