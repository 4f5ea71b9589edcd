package decode

//#cgo pkg-config: libavformat libavcodec libavutil
//#include <stdlib.h>
//#include "shim.h"
import "C"

import (
	"runtime/cgo"
	"unsafe"

	"github.com/asticode/go-astiav"
)

// cFormat and cCodec reach the structure behind a go-astiav value, which
// exports it for frames alone. Both types hold the pointer as their first
// field; a test guards that.
func cFormat(f *astiav.FormatContext) *C.AVFormatContext {
	return *(**C.AVFormatContext)(unsafe.Pointer(f))
}

func cCodec(c *astiav.CodecContext) *C.AVCodecContext {
	return *(**C.AVCodecContext)(unsafe.Pointer(c))
}

func cFrame(f *astiav.Frame) *C.AVFrame { return (*C.AVFrame)(f.UnsafePointer()) }

// stop is a flag that FFmpeg asks for while it reads, and that any goroutine
// may set.
type stop struct{ c *C.np_stop }

func newStop() stop { return stop{C.np_stop_new()} }

func (s stop) set(on bool) {
	value := C.int(0)
	if on {
		value = 1
	}
	C.np_stop_set(s.c, value)
}

func (s stop) free() { C.np_stop_free(s.c) }

// logTo sends FFmpeg's log lines from the calling thread to the notebook
// behind h. FFmpeg has one log callback for the whole process: lines from
// threads that belong to no file are dropped.
func logTo(h cgo.Handle) {
	C.np_log_install()
	C.np_log_sink(C.uintptr_t(h))
}

//export npLogLine
func npLogLine(sink C.uintptr_t, level C.int, item, line *C.char) {
	notes, ok := cgo.Handle(sink).Value().(*notebook)
	if !ok {
		return
	}
	notes.log(C.GoString(item), C.GoString(line), level <= C.AV_LOG_ERROR)
}

func prepareFormat(f *astiav.FormatContext, s stop) { C.np_format_prepare(cFormat(f), s.c) }

func prepareCodec(c *astiav.CodecContext, h cgo.Handle, timeBase astiav.Rational) {
	C.np_codec_prepare(cCodec(c), C.uintptr_t(h), C.AVRational{num: C.int(timeBase.Num()), den: C.int(timeBase.Den())})
}

// bestVideo gives the number of the stream to read, or -1. A cover picture in
// a sound file is no video.
func bestVideo(f *astiav.FormatContext) int {
	n := int(C.np_best_video(cFormat(f)))
	if n < 0 || C.np_disposition(cFormat(f), C.int(n))&C.AV_DISPOSITION_ATTACHED_PIC != 0 {
		return -1
	}
	return n
}

func readOnly(f *astiav.FormatContext, stream int) { C.np_read_only(cFormat(f), C.int(stream)) }

func intraOnly(id astiav.CodecID) bool { return C.np_intra_only(C.enum_AVCodecID(id)) != 0 }

// indexEntry is one line of the container's own index.
type indexEntry struct {
	pos, timestamp int64
	size           int
	key, discard   bool
}

func indexEntries(f *astiav.FormatContext, stream int) []indexEntry {
	n := int(C.np_entries(cFormat(f), C.int(stream)))
	entries := make([]indexEntry, 0, max(n, 0))
	for i := range n {
		var e C.np_entry
		if C.np_entry_at(cFormat(f), C.int(stream), C.int(i), &e) == 0 {
			break
		}
		entries = append(entries, indexEntry{int64(e.pos), int64(e.timestamp), int(e.size), e.key != 0, e.discard != 0})
	}
	return entries
}

// codecRate is the frame rate that the bit stream itself declares.
func codecRate(c *astiav.CodecContext) (num, den int, ok bool) {
	var n, d C.int
	ok = C.np_framerate(cCodec(c), &n, &d) != 0
	return int(n), int(d), ok
}

// pixelLayout describes a decoded frame before its samples are copied.
type pixelLayout struct {
	width, height                         int
	components                            int
	rgb, direct, fullFormat               bool
	damaged, interlaced, float            bool
	depth                                 int
	widths, heights                       [3]int
	rang, matrix, primaries, transferCode int
	aspectNum, aspectDen                  int
}

func describe(f *astiav.Frame) (pixelLayout, bool) {
	var p C.np_picture
	if C.np_describe(cFrame(f), &p) == 0 {
		return pixelLayout{}, false
	}
	out := pixelLayout{
		width: int(p.width), height: int(p.height),
		components: int(p.components),
		rgb:        p.rgb != 0, direct: p.direct != 0, fullFormat: p.full_format != 0,
		damaged: p.damaged != 0, interlaced: p.interlaced != 0, float: p.is_float != 0,
		depth: int(p.depth),
		rang:  int(p._range), matrix: int(p.matrix), primaries: int(p.primaries), transferCode: int(p.transfer),
		aspectNum: int(p.aspect_num), aspectDen: int(p.aspect_den),
	}
	for i := range 3 {
		out.widths[i], out.heights[i] = int(p.component_width[i]), int(p.component_height[i])
	}
	return out, true
}

// copyComponent copies one component of f row by row, without gaps.
func copyComponent(dst []uint16, f *astiav.Frame, component, stride int) bool {
	return C.np_copy(cFrame(f), C.int(component), (*C.uint16_t)(unsafe.Pointer(&dst[0])), C.int(stride)) != 0
}

func scaledFormat(p astiav.PixelFormat) (astiav.PixelFormat, bool) {
	var out C.int
	ok := C.np_scaled_format(C.int(p), &out) != 0
	return astiav.PixelFormat(out), ok
}

func formatDepth(p astiav.PixelFormat) int { return int(C.np_format_depth(C.int(p))) }

func rangeName(v int) string     { return C.GoString(C.np_range_name(C.int(v))) }
func matrixName(v int) string    { return C.GoString(C.np_matrix_name(C.int(v))) }
func primariesName(v int) string { return C.GoString(C.np_primaries_name(C.int(v))) }
func transferName(v int) string  { return C.GoString(C.np_transfer_name(C.int(v))) }

// frameTimecode gives the label that the bit stream carries for the frame.
func frameTimecode(f *astiav.Frame, rateNum, rateDen int) string {
	var buf [64]C.char
	if C.np_frame_timecode(cFrame(f), C.AVRational{num: C.int(rateNum), den: C.int(rateDen)}, &buf[0], C.int(len(buf))) == 0 {
		return ""
	}
	return C.GoString(&buf[0])
}

// frameTags gives the tags that a still image carries in its own header.
func frameTags(f *astiav.Frame) map[string]string {
	tags := map[string]string{}
	d := C.np_frame_metadata(cFrame(f))
	key := C.CString("")
	defer C.free(unsafe.Pointer(key))
	for e := C.av_dict_get(d, key, nil, C.AV_DICT_IGNORE_SUFFIX); e != nil; e = C.av_dict_get(d, key, e, C.AV_DICT_IGNORE_SUFFIX) {
		tags[C.GoString(e.key)] = C.GoString(e.value)
	}
	return tags
}

// packetData gives the payload of p in place.
func packetData(p *astiav.Packet) []byte {
	c := *(**C.AVPacket)(unsafe.Pointer(p))
	return unsafe.Slice((*byte)(unsafe.Pointer(c.data)), int(c.size))
}
