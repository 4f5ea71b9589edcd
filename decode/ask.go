package decode

import (
	"context"
	"errors"
	"io"
	"math"
	"os"
	"strings"

	"github.com/asticode/go-astiav"
)

// Ask returns what a file says of itself, from its header and at most its first frame: in
// milliseconds, however long it is. Its Frames and rate are as the container announces them,
// not as they are counted; they are 0 where it does not. Depth, Colour, PixelAspect and
// Orientation are left out, as is Stereo.Mirrored. A sequence of stills is opened as Open
// does.
func Ask(ctx context.Context, path string) (Info, error) {
	if stat, err := os.Stat(path); err != nil || !stat.Mode().IsRegular() || stat.Size() == 0 {
		f, err := Open(ctx, path, Options{})
		if err != nil {
			return Info{}, err
		}
		defer f.Close()
		return f.Info(), nil
	}
	w := newWorker()
	type answer struct {
		info Info
		err  error
	}
	got := &answer{}
	err := w.do(ctx, func() {
		info, err := ask(ctx, w, path)
		*got = answer{info, err}
	})
	w.close(func() {})
	switch {
	case err != nil:
		return Info{}, cancelled(path, "open", err)
	case got.err != nil:
		return Info{}, fail(path, "open", got.err)
	}
	return got.info, nil
}

func ask(ctx context.Context, w *worker, path string) (Info, error) {
	c, err := openHeader(w, path)
	if err != nil {
		return Info{}, err
	}
	defer c.close()
	if err := c.choose(); err != nil || !c.announced() {
		if err := c.format.FindStreamInfo(nil); err != nil {
			return Info{}, openError(w, path, err)
		}
		if err := c.choose(); err != nil {
			return Info{}, err
		}
	}
	codec, err := c.decoderFor()
	if err != nil {
		return Info{}, err
	}
	params := c.stream.CodecParameters()
	rate := fraction{c.stream.AvgFrameRate().Num(), c.stream.AvgFrameRate().Den()}
	if !rate.known() {
		rate = fraction{c.stream.RFrameRate().Num(), c.stream.RFrameRate().Den()}
	}
	if !rate.known() {
		rate = fraction{}
	}
	streamTags, formatTags := tagsOf(c.stream.Metadata()), tagsOf(c.format.Metadata())
	info := Info{
		Codec: strings.ToLower(params.CodecID().Name()),
		Width: params.Width(), Height: params.Height(),
		Frames:  c.length(rate),
		RateNum: rate.num, RateDen: rate.den,
		Timecode: c.timecode(),
		Created:  created(streamTags, formatTags),
		Camera:   camera(formatTags, streamTags),
		Stereo:   c.stereo(nil),
	}
	if info.Stereo.Packing != Mono || intraOnly(params.CodecID()) {
		return info, nil
	}
	// Some codecs carry more in the stream itself. It need not be decoded where the container
	// has the label and the stream is seen to be silent.
	silent := false
	if name := params.CodecID().Name(); name == "h264" && info.Timecode != "" {
		if err := c.next(ctx); err != nil {
			return info, ctx.Err()
		}
		silent = !saysPacking(packetData(c.buffer), params.ExtraData())
	}
	if silent {
		return info, nil
	}
	dec := &decoder{w: w, codec: codec, params: params, timeBase: c.stream.TimeBase()}
	defer dec.close()
	if err := c.firstFrame(ctx, dec); err != nil {
		return info, ctx.Err() // opening it will say what is wrong
	}
	info.Stereo = c.stereo(dec.frame)
	if info.Timecode == "" && rate.known() {
		info.Timecode = frameTimecode(dec.frame, rate.num, rate.den)
	}
	return info, nil
}

// announced reports whether the header tells what else the first packets would have to.
func (c *container) announced() bool {
	params := c.stream.CodecParameters()
	return params.Width() > 0 && params.Height() > 0 && c.stream.NbFrames() > 0 &&
		c.stream.AvgFrameRate().Num() > 0 && c.stream.AvgFrameRate().Den() > 0
}

// length returns how many frames the container announces.
func (c *container) length(rate fraction) int {
	if n := c.stream.NbFrames(); n > 0 {
		return int(n)
	}
	seconds := 0.0
	if d := c.stream.Duration(); d > 0 {
		seconds = float64(d) * c.stream.TimeBase().Float64()
	} else if d := c.format.Duration(); d > 0 {
		seconds = float64(d) / float64(astiav.TimeBase)
	}
	if !rate.known() {
		return 0
	}
	return int(math.Round(seconds * float64(rate.num) / float64(rate.den)))
}

// firstFrame decodes the first frame that comes out of the first packets.
func (c *container) firstFrame(ctx context.Context, dec *decoder) error {
	if err := dec.open(); err != nil {
		return err
	}
	const enough = 40 // packets
	for i := range enough {
		var err error
		if i > 0 || packetData(c.buffer) == nil { // the first may have been read already
			err = c.next(ctx)
		}
		if err == nil {
			err = dec.send(c.buffer, i)
		} else if err == io.EOF {
			err = dec.send(nil, i)
		}
		if err != nil {
			return err
		}
		if _, err := dec.receive(); err == nil || !errors.Is(err, astiav.ErrEagain) {
			return err
		}
	}
	return io.EOF
}
