package decode

//#cgo pkg-config: libavutil
//#include <libavutil/frame.h>
//#include <libavutil/samplefmt.h>
//
//// Writes the first channel of a frame of sound as samples from -1 to 1; returns
//// how many, or -1 for a format that is not known.
//static int np_first_channel(const AVFrame *f, float *out) {
//	enum AVSampleFormat format = av_get_packed_sample_fmt(f->format);
//	int step = av_sample_fmt_is_planar(f->format) ? 1 : f->ch_layout.nb_channels;
//	for (int i = 0; i < f->nb_samples; i++) {
//		const void *p = f->data[0];
//		int k = i * step;
//		switch (format) {
//		case AV_SAMPLE_FMT_U8:  out[i] = (((const uint8_t *)p)[k] - 128) / 128.0f; break;
//		case AV_SAMPLE_FMT_S16: out[i] = ((const int16_t *)p)[k] / 32768.0f; break;
//		case AV_SAMPLE_FMT_S32: out[i] = ((const int32_t *)p)[k] / 2147483648.0f; break;
//		case AV_SAMPLE_FMT_S64: out[i] = ((const int64_t *)p)[k] / 9223372036854775808.0f; break;
//		case AV_SAMPLE_FMT_FLT: out[i] = ((const float *)p)[k]; break;
//		case AV_SAMPLE_FMT_DBL: out[i] = ((const double *)p)[k]; break;
//		default: return -1;
//		}
//	}
//	return f->nb_samples;
//}
import "C"

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"
	"unsafe"

	"github.com/asticode/go-astiav"
)

// ErrSilent says that a file holds no sound.
var ErrSilent = errors.New("no sound")

// Sound returns the first channel of the file's first track of sound, up to a
// length, with its samples per second. Its first sample is heard when frame 0 is
// shown: silence is put before it, or its beginning left out, as the time stamps
// say. It opens the file once more and leaves the reading of frames alone. An
// error that matches ErrSilent means that there is none.
func (f *File) Sound(ctx context.Context, length time.Duration) (samples []float32, rate int, err error) {
	if f.closed {
		return nil, 0, &Error{File: f.path, Op: "listen", Reason: errClosed.Error(), Err: errClosed}
	}
	film, ok := f.reader.(*film)
	if !ok {
		return nil, 0, &Error{File: f.path, Op: "listen", Reason: ErrSilent.Error(), Err: ErrSilent}
	}
	type answer struct {
		samples []float32
		rate    int
		err     error
	}
	got := &answer{}
	if err := f.w.do(ctx, func() {
		samples, rate, err := film.sound(ctx, length)
		*got = answer{samples, rate, err}
	}); err != nil {
		return nil, 0, cancelled(f.path, "listen", err)
	}
	if got.err != nil {
		return nil, 0, fail(f.path, "listen", got.err)
	}
	return got.samples, got.rate, nil
}

// listener decodes one track of sound.
type listener struct {
	format  *astiav.FormatContext
	stream  *astiav.Stream
	context *astiav.CodecContext
	packet  *astiav.Packet
	frame   *astiav.Frame
}

func (l *listener) close() {
	if l.context != nil {
		l.context.Free()
	}
	l.frame.Free()
	l.packet.Free()
	l.format.CloseInput()
}

// listen opens the first track of sound.
func (f *film) listen() (*listener, error) {
	format := astiav.AllocFormatContext()
	prepareFormat(format, f.w.stop)
	options := astiav.NewDictionary()
	defer options.Free()
	if err := options.Set("protocol_whitelist", protocols, 0); err != nil {
		format.Free()
		return nil, err
	}
	if err := format.OpenInput("file:"+f.path, nil, options); err != nil {
		return nil, err // FFmpeg has freed the context
	}
	l := &listener{format: format, packet: astiav.AllocPacket(), frame: astiav.AllocFrame()}
	if err := format.FindStreamInfo(nil); err != nil {
		l.close()
		return nil, err
	}
	for _, s := range format.Streams() {
		if s.CodecParameters().MediaType() == astiav.MediaTypeAudio {
			l.stream = s
			break
		}
	}
	if l.stream == nil {
		l.close()
		return nil, &Error{File: f.path, Op: "listen", Reason: ErrSilent.Error(), Err: ErrSilent}
	}
	params := l.stream.CodecParameters()
	codec := astiav.FindDecoder(params.CodecID())
	if codec == nil {
		l.close()
		return nil, fmt.Errorf("the installed FFmpeg has no decoder for %s", params.CodecID().Name())
	}
	l.context = astiav.AllocCodecContext(codec)
	if err := l.context.FromCodecParameters(params); err != nil {
		l.close()
		return nil, err
	}
	prepareCodec(l.context, f.w.log, l.stream.TimeBase())
	if err := l.context.Open(codec, nil); err != nil {
		l.close()
		return nil, err
	}
	readOnly(format, l.stream.Index())
	return l, nil
}

// next decodes the next piece of sound into l.frame; io.EOF after the last.
func (l *listener) next() error {
	for {
		l.frame.Unref()
		err := l.context.ReceiveFrame(l.frame)
		if err == nil {
			return nil
		}
		if errors.Is(err, astiav.ErrEof) {
			return io.EOF
		}
		// It wants more, or a packet was damaged: the next may be clean.
		l.packet.Unref()
		if err := l.format.ReadFrame(l.packet); errors.Is(err, astiav.ErrEof) {
			if err := l.context.SendPacket(nil); err != nil {
				return io.EOF
			}
			continue
		} else if err != nil {
			return err
		}
		if l.packet.StreamIndex() != l.stream.Index() {
			continue
		}
		if err := l.context.SendPacket(l.packet); err != nil && !errors.Is(err, astiav.ErrInvaliddata) {
			return err
		}
	}
}

func (f *film) sound(ctx context.Context, length time.Duration) (samples []float32, rate int, err error) {
	l, err := f.listen()
	if err != nil {
		return nil, 0, err
	}
	defer l.close()
	tb := l.stream.TimeBase()
	base := ticker{int64(tb.Num()), int64(tb.Den())}
	first := true
	for ctx.Err() == nil {
		if err := l.next(); err == io.EOF {
			break
		} else if err != nil {
			return nil, 0, err
		}
		piece := make([]float32, l.frame.NbSamples())
		if len(piece) == 0 {
			continue
		}
		if n := int(C.np_first_channel((*C.AVFrame)(l.frame.UnsafePointer()), (*C.float)(unsafe.Pointer(&piece[0])))); n < 0 {
			return nil, 0, fmt.Errorf("sound in the form %s", l.frame.SampleFormat())
		}
		if first {
			first = false
			rate = l.frame.SampleRate()
			if rate <= 0 {
				return nil, 0, errors.New("sound without a rate")
			}
			if lead := f.lead(base, l.frame.Pts()).Seconds() * float64(rate); lead > 0 {
				samples = make([]float32, min(int(lead+0.5), int(length.Seconds()*float64(rate))))
			} else {
				piece = piece[min(int(0.5-lead), len(piece)):]
			}
		}
		samples = append(samples, piece...)
		if want := int(length.Seconds() * float64(rate)); len(samples) >= want {
			return samples[:want], rate, nil
		}
	}
	return samples, rate, ctx.Err()
}

// lead returns how much later than frame 0 a time stamp of sound is.
func (f *film) lead(base ticker, pts int64) time.Duration {
	zero := f.table.packets[f.table.order[0]].pts
	if zero == noTime || pts == noTime {
		return 0
	}
	return base.duration(pts) - f.base.duration(zero)
}
