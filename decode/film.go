package decode

import (
	"context"
	"errors"
	"strings"
	"time"

	"github.com/asticode/go-astiav"

	"nightpair/decode/prores"
	"nightpair/metrics/picture"
)

// film is a video file with a time line.
type film struct {
	*video
	about  Info
	base   ticker
	params *astiav.CodecParameters
	aspect float64
	prores prores.Picture // memory for reading packets, see File.Small
}

func newFilm(ctx context.Context, w *worker, path string, opt Options) (*film, error) {
	v, err := newVideo(ctx, w, path, opt)
	if err != nil {
		return nil, err
	}
	tb := v.in.stream.TimeBase()
	f := &film{video: v, params: v.dec.params, base: ticker{int64(tb.Num()), int64(tb.Den())}}
	if err := f.inquire(ctx); err != nil {
		v.close()
		return nil, err
	}
	return f, nil
}

func (f *film) info() Info { return f.about }

// pts gives the presentation times of all frames in ticks, or nil where the
// file has none.
func (f *film) pts() []int64 {
	out := make([]int64, f.frames())
	for i, p := range f.table.order {
		out[i] = f.table.packets[p].pts
		if out[i] == noTime || i > 0 && out[i] <= out[i-1] {
			return nil
		}
	}
	return out
}

// inquire decodes a first frame and collects what the file says of itself.
func (f *film) inquire(ctx context.Context) error {
	if err := f.anyFrame(ctx); err != nil {
		return err
	}
	frame, stream, format := f.dec.frame, f.in.stream, f.in.format
	desc, ok := describe(frame)
	if !ok {
		return &Error{File: f.path, Op: "decode", Reason: "unknown pixel format", Err: ErrNotVideo}
	}
	desc = desc.tagged(f.in.colour)
	depth := desc.depth
	if !desc.direct {
		if target, ok := scaledFormat(frame.PixelFormat()); ok {
			depth = formatDepth(target)
		}
	}

	guess := fraction{}
	for _, r := range []astiav.Rational{format.GuessFrameRate(stream, nil), stream.RFrameRate(), stream.AvgFrameRate()} {
		if r.Num() > 0 && r.Den() > 0 {
			guess = fraction{r.Num(), r.Den()}
			break
		}
	}
	rate, variable := guess, false
	if pts := f.pts(); pts != nil {
		rate, variable = rateOf(pts, f.base, guess,
			fraction{stream.RFrameRate().Num(), stream.RFrameRate().Den()},
			fraction{stream.AvgFrameRate().Num(), stream.AvgFrameRate().Den()})
	}

	f.aspect = 1
	if r := format.GuessSampleAspectRatio(stream, frame); r.Num() > 0 && r.Den() > 0 {
		f.aspect = r.Float64()
	}

	streamTags, formatTags := tagsOf(stream.Metadata()), tagsOf(format.Metadata())
	timecode := f.in.timecode()
	if timecode == "" && rate.known() {
		timecode = frameTimecode(frame, rate.num, rate.den)
	}

	matrix := stream.SideData(astiav.PacketSideDataTypeDisplaymatrix)
	if len(matrix) == 0 {
		if side := frame.SideData(astiav.FrameSideDataTypeDisplaymatrix); side != nil {
			matrix = side.Data()
		}
	}
	turn, trouble := orientation(matrix)
	if trouble != "" {
		f.w.notes.tell(trouble)
	}

	stereo := f.in.stereo(frame)
	stereo.Mirrored = f.mirrored

	f.about = Info{
		Codec: strings.ToLower(f.params.CodecID().Name()),
		Width: desc.width, Height: desc.height, Depth: depth,
		PixelAspect: f.aspect,
		Interlaced:  desc.interlaced,
		Frames:      f.frames(),
		RateNum:     rate.num, RateDen: rate.den, Variable: variable,
		Timecode: timecode,
		Created:  created(streamTags, formatTags),
		Camera:   camera(formatTags, streamTags),
		Colour:   desc.colour(), ColourLabel: desc.colourLabel(),
		Orientation: turn,
		Stereo:      stereo,
	}
	return nil
}

// anyFrame decodes frame 0 or, where that is damaged, one of those that tell
// as much.
func (f *film) anyFrame(ctx context.Context) error {
	n := f.frames()
	tries := []int{0, 1, 2, 3, 4, 5, 6, 7, n / 4, n / 2, 3 * n / 4, n - 1}
	var last error
	for _, i := range tries {
		if i >= n {
			continue
		}
		if last = f.video.frame(ctx, i); last == nil || !errors.Is(last, ErrDamaged) {
			return last
		}
	}
	return last
}

func (f *film) frame(ctx context.Context, i int) (*picture.Frame, error) {
	f.leaveColour(false)
	return f.take(ctx, i, f.scale.picture)
}

// take decodes frame i and has it copied.
func (f *film) take(ctx context.Context, i int, copied func(*astiav.Frame) (*picture.Frame, pixelLayout, error)) (*picture.Frame, error) {
	if err := f.video.frame(ctx, i); err != nil {
		return nil, err
	}
	out, desc, err := copied(f.dec.frame)
	if err != nil {
		return nil, &Error{File: f.path, Op: "decode", Reason: err.Error(), Err: err}
	}
	out.Colour = desc.tagged(f.in.colour).colour()
	if out.Layout == picture.Grey && layout(desc) == picture.YCbCr && out.Colour.Range == picture.RangeUnspecified {
		out.Colour.Range = picture.NarrowRange
	}
	out.PixelAspect = f.aspect
	out.Index = i
	out.Time = f.time(i)
	return out, nil
}

// time gives when frame i is shown, counted from frame 0.
func (f *film) time(i int) time.Duration {
	at, zero := f.table.packets[f.table.order[i]].pts, f.table.packets[f.table.order[0]].pts
	if at != noTime && zero != noTime && (i == 0 || at > zero) {
		return f.base.duration(at - zero)
	}
	if f.about.RateNum == 0 {
		return 0
	}
	return ticker{int64(f.about.RateDen), int64(f.about.RateNum)}.duration(int64(i))
}
