package decode

import (
	"errors"
	"strconv"

	"github.com/asticode/go-astiav"
)

// decoder turns packets into pictures. Each packet is sent under its number in
// place of its time stamp, and the picture comes back under the same number:
// so a picture is known exactly, whatever the time stamps are worth.
type decoder struct {
	w        *worker
	codec    *astiav.Codec
	params   *astiav.CodecParameters
	timeBase astiav.Rational
	threads  int
	options  map[string]string

	context *astiav.CodecContext // nil until opened
	frame   *astiav.Frame        // the latest picture
	drained bool                 // at its end: needs opening again
}

// open makes a decoder without memory of earlier packets. FFmpeg's way to
// empty a decoder after a seek is out of reach, and this costs no more than
// 0.2 ms.
func (d *decoder) open() error {
	d.shut()
	d.context = astiav.AllocCodecContext(d.codec)
	if d.context == nil {
		return errors.New("no memory for a decoder")
	}
	if err := d.context.FromCodecParameters(d.params); err != nil {
		return err
	}
	prepareCodec(d.context, d.w.log, d.timeBase)
	options := astiav.NewDictionary()
	defer options.Free()
	if err := options.Set("threads", strconv.Itoa(max(d.threads, 1)), 0); err != nil {
		return err
	}
	for key, value := range d.options {
		if err := options.Set(key, value, 0); err != nil {
			return err
		}
	}
	if err := d.context.Open(d.codec, options); err != nil {
		return err
	}
	if d.frame == nil {
		d.frame = astiav.AllocFrame()
	}
	d.drained = false
	return nil
}

// send gives the decoder a packet under a number of our own; a nil packet
// makes it put out what it still holds.
func (d *decoder) send(p *astiav.Packet, number int) error {
	if p == nil {
		d.drained = true
		return d.context.SendPacket(nil)
	}
	p.SetPts(int64(number))
	p.SetDts(int64(number))
	return d.context.SendPacket(p)
}

// receive puts the next picture into d.frame and gives the number of its
// packet. astiav.ErrEagain asks for more packets, astiav.ErrEof is the end.
func (d *decoder) receive() (int, error) {
	d.frame.Unref()
	if err := d.context.ReceiveFrame(d.frame); err != nil {
		return 0, err
	}
	return int(d.frame.Pts()), nil
}

func (d *decoder) shut() {
	if d.context != nil {
		d.context.Free()
		d.context = nil
	}
}

func (d *decoder) close() {
	d.shut()
	if d.frame != nil {
		d.frame.Free()
		d.frame = nil
	}
}
