package decode

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/asticode/go-astiav"

	"nightpair/metrics/picture"
)

// stills is a sequence of images as a film. Frame i is the image with number
// first + i, so a missing image shifts nothing.
type stills struct {
	sequence
	w      *worker
	dec    *decoder
	packet *astiav.Packet
	scale  scaler
	params *astiav.CodecParameters
	about  Info
	held   int  // frame in dec.frame, -1 for none
	log    bool // the headers say that code values follow a log curve
}

// filmRate spaces the frames of a sequence that names no rate in time; it is
// not reported as the rate. Common practice for scanned film.
var filmRate = fraction{24, 1}

func newStills(ctx context.Context, w *worker, s sequence, opt Options) (*stills, error) {
	in, err := openContainer(w, s.paths[s.first])
	if err != nil {
		return nil, err
	}
	defer in.close()
	codec, err := in.decoderFor()
	if err != nil {
		return nil, err
	}
	q := &stills{sequence: s, w: w, held: -1, packet: astiav.AllocPacket(), params: astiav.AllocCodecParameters()}
	if err := in.stream.CodecParameters().Copy(q.params); err != nil {
		q.close()
		return nil, fail(s.pattern, "open", err)
	}
	q.dec = &decoder{w: w, codec: codec, params: q.params, timeBase: in.stream.TimeBase(), threads: opt.Threads}
	if text, n := s.gaps(); n > 0 {
		w.notes.tell(fmt.Sprintf("%d images are missing from the sequence: %s", n, text))
	}
	if err := q.inquire(ctx); err != nil {
		q.close()
		return nil, err
	}
	return q, nil
}

func (q *stills) info() Info { return q.about }

func (q *stills) inquire(ctx context.Context) error {
	var last error
	for i := range min(q.last-q.first+1, 10) {
		if last = q.decode(ctx, i); last == nil || !errors.Is(last, ErrDamaged) {
			break
		}
	}
	if last != nil {
		return last
	}
	desc, ok := describe(q.dec.frame)
	if !ok {
		return &Error{File: q.pattern, Op: "decode", Reason: "unknown pixel format", Err: ErrNotVideo}
	}
	desc = q.colour(desc)
	depth := desc.depth
	if !desc.direct {
		if target, ok := scaledFormat(q.dec.frame.PixelFormat()); ok {
			depth = formatDepth(target)
		}
	}
	if desc.float {
		q.w.notes.tell("floating point samples: light above 1 is clipped")
	}
	tags := map[string]string{}
	for k, v := range frameTags(q.dec.frame) {
		tags[strings.ToLower(k)] = strings.TrimSpace(v)
	}
	q.about = Info{
		Codec: strings.ToLower(q.params.CodecID().Name()),
		Width: desc.width, Height: desc.height, Depth: depth,
		PixelAspect: aspect(desc),
		Frames:      q.last - q.first + 1,
		Timecode:    first("timecode", tags),
		Created:     created(tags),
		Camera:      camera(tags),
		Colour:      desc.colour(), ColourLabel: desc.colourLabel(),
	}
	if num, den, ok := codecRate(q.dec.context); ok {
		q.about.RateNum, q.about.RateDen = num, den
	}
	return nil
}

// colour adds what the kind of file says about its colour and FFmpeg does not
// hand on.
func (q *stills) colour(p pixelLayout) pixelLayout {
	p = p.tagged(containerColour(q.params))
	switch {
	case q.log:
		p.transferCode = transferLog
	case p.transferCode == unspecified && q.params.CodecID() == astiav.CodecIDExr:
		p.transferCode = transferLinear // by definition of OpenEXR
	}
	return p
}

// dpxLog says whether a DPX header declares printing density or a logarithmic
// transfer (SMPTE ST 268, transfer characteristic of image element 1).
func dpxLog(b []byte) bool {
	const (
		transferAt      = 801
		printingDensity = 1
		logarithmic     = 3
	)
	if len(b) <= transferAt || string(b[:4]) != "SDPX" && string(b[:4]) != "XPDS" {
		return false
	}
	return b[transferAt] == printingDensity || b[transferAt] == logarithmic
}

func aspect(p pixelLayout) float64 {
	if p.aspectNum > 0 && p.aspectDen > 0 {
		return float64(p.aspectNum) / float64(p.aspectDen)
	}
	return 1
}

// decode decodes image i into q.dec.frame.
func (q *stills) decode(ctx context.Context, i int) error {
	if q.held == i {
		return nil
	}
	q.held = -1
	path, ok := q.paths[q.first+i]
	if !ok {
		return &Error{File: fmt.Sprintf(q.pattern, q.first+i), Op: "read", Reason: "missing from the sequence", Err: ErrDamaged}
	}
	if err := q.load(ctx, path); err != nil {
		return err
	}
	if err := q.dec.open(); err != nil {
		return fail(path, "decode", err)
	}
	q.log = dpxLog(packetData(q.packet))
	before, _ := q.w.notes.complaints()
	err := q.dec.send(q.packet, i)
	if err == nil {
		if _, err = q.dec.receive(); errors.Is(err, astiav.ErrEagain) {
			if err = q.dec.send(nil, 0); err == nil {
				_, err = q.dec.receive()
			}
		}
	}
	if lines, _ := q.w.notes.complaints(); err != nil || lines > before {
		return &Error{File: path, Op: "decode", Reason: "the image is damaged", Err: ErrDamaged}
	}
	q.held = i
	return nil
}

// load reads a whole image file into q.packet.
func (q *stills) load(ctx context.Context, path string) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	f, err := os.Open(path)
	if err != nil {
		return fail(path, "read", err)
	}
	defer f.Close()
	stat, err := f.Stat()
	if err != nil {
		return fail(path, "read", err)
	}
	if stat.Size() == 0 {
		return &Error{File: path, Op: "read", Reason: "the image is empty", Err: ErrDamaged}
	}
	q.packet.Unref()
	if err := q.packet.AllocPayload(int(stat.Size())); err != nil {
		return fail(path, "read", err)
	}
	if _, err := io.ReadFull(f, packetData(q.packet)); err != nil {
		return fail(path, "read", err)
	}
	q.packet.SetFlags(astiav.NewPacketFlags(astiav.PacketFlagKey))
	return nil
}

func (q *stills) frame(ctx context.Context, i int) (*picture.Frame, error) {
	if err := q.decode(ctx, i); err != nil {
		return nil, err
	}
	out, desc, err := q.scale.picture(q.dec.frame)
	if err != nil {
		return nil, &Error{File: q.paths[q.first+i], Op: "decode", Reason: err.Error(), Err: err}
	}
	out.Colour = q.colour(desc).colour()
	out.PixelAspect = q.about.PixelAspect
	out.Index = i
	rate := filmRate
	if q.about.RateNum > 0 {
		rate = fraction{q.about.RateNum, q.about.RateDen}
	}
	out.Time = ticker{int64(rate.den), int64(rate.num)}.duration(int64(i))
	return out, nil
}

func (q *stills) close() {
	q.scale.close()
	if q.dec != nil {
		q.dec.close()
	}
	q.packet.Free()
	q.params.Free()
}
