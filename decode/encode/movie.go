package encode

import (
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"github.com/asticode/go-astiav"

	"nightpair/decode"
	"nightpair/metrics/picture"
)

// Movie says how a file is written. The zero value is ProRes 422 HQ at 24
// frames per second.
type Movie struct {
	Codec Codec
	// Rate is RateNum/RateDen frames per second; 0 means 24/1.
	RateNum, RateDen int
	// Timecode is the label of the first frame, such as 10:21:07:00; empty writes
	// none.
	Timecode string
	// Created is entered as the time of creation unless it is zero.
	Created time.Time
	// Quality is the constant rate factor of H264, lower being better; 0 means 16.
	Quality int
	// Packed says that each frame holds the left eye in its left half and the
	// right eye in its right half. H264 and FFV1 files say so themselves.
	Packed bool
}

// Codec is how the pictures are coded, and in which container.
type Codec uint8

const (
	ProRes Codec = iota // ProRes 422 HQ in QuickTime (.mov): 4:2:2, 10 bit
	H264                // H.264 in MP4 (.mp4)
	FFV1                // FFV1, without loss, in Matroska (.mkv)
)

var codecs = [...]struct{ name, encoder, container, extension string }{
	ProRes: {"ProRes", "prores_aw", "mov", ".mov"},
	H264:   {"H.264", "libx264", "mp4", ".mp4"},
	FFV1:   {"FFV1", "ffv1", "matroska", ".mkv"},
}

func (c Codec) String() string { return codecs[c].name }

// Extension returns the usual end of the file's name.
func (c Codec) Extension() string { return codecs[c].extension }

// Writer writes one file. It serves one goroutine.
type Writer struct {
	path   string
	movie  Movie
	format *astiav.FormatContext
	file   *astiav.IOContext
	coder  *astiav.CodecContext
	stream *astiav.Stream
	packet *astiav.Packet
	frame  *astiav.Frame
	first  *picture.Frame
	frames int64
}

// Create opens a file for writing, replacing what was there. The size and the
// sample format are those of the first frame.
func Create(path string, m Movie) (*Writer, error) {
	if m.RateNum == 0 {
		m.RateNum, m.RateDen = 24, 1
	}
	if m.Quality == 0 {
		m.Quality = 16
	}
	if m.RateNum < 0 || m.RateDen <= 0 {
		return nil, fmt.Errorf("write %s: frame rate of %d/%d", path, m.RateNum, m.RateDen)
	}
	decode.Silence()
	w := &Writer{path: path, movie: m, packet: astiav.AllocPacket(), frame: astiav.AllocFrame()}
	if err := w.create(); err != nil {
		w.free()
		return nil, w.fail(err)
	}
	return w, nil
}

func (w *Writer) create() error {
	// An absolute path is no option of the file protocol.
	full, err := filepath.Abs(w.path)
	if err != nil {
		return err
	}
	w.format, err = astiav.AllocOutputFormatContext(nil, codecs[w.movie.Codec].container, full)
	if err != nil {
		return err
	}
	// No random identifiers and no version in the file: same frames, same bytes.
	w.format.SetFlags(w.format.Flags().Add(astiav.FormatContextFlagBitexact))
	w.file, err = astiav.OpenIOContext("file:"+full, astiav.NewIOContextFlags(astiav.IOContextFlagWrite))
	if err != nil {
		return err
	}
	w.format.SetPb(w.file)
	return nil
}

func (w *Writer) fail(err error) error { return fmt.Errorf("write %s: %w", w.path, err) }

// Write appends a frame, which must look like the first one. Its index and
// time are not used: frames follow one another at the movie's rate.
func (w *Writer) Write(f *picture.Frame) error {
	if w.first == nil {
		if err := w.begin(f); err != nil {
			return w.fail(err)
		}
		w.first = f
	}
	if !sameFormat(f, w.first) {
		return w.fail(fmt.Errorf("frame %d differs from the first one in size or format", w.frames))
	}
	if err := w.fill(f); err != nil {
		return w.fail(err)
	}
	w.frame.SetPts(w.frames)
	w.frames++
	if err := w.send(w.frame); err != nil {
		return w.fail(err)
	}
	return nil
}

// begin opens the encoder and writes the file's header.
func (w *Writer) begin(f *picture.Frame) error {
	pixels, err := pixelFormat(f)
	if err != nil {
		return err
	}
	c := codecs[w.movie.Codec]
	encoder := astiav.FindEncoderByName(c.encoder)
	if encoder == nil {
		return fmt.Errorf("the installed FFmpeg has no encoder %s", c.encoder)
	}
	w.coder = astiav.AllocCodecContext(encoder)
	if w.coder == nil {
		return errors.New("out of memory")
	}
	w.coder.SetWidth(f.Width())
	w.coder.SetHeight(f.Height())
	w.coder.SetPixelFormat(pixels)
	w.coder.SetTimeBase(astiav.NewRational(w.movie.RateDen, w.movie.RateNum))
	w.coder.SetFramerate(astiav.NewRational(w.movie.RateNum, w.movie.RateDen))
	w.coder.SetSampleAspectRatio(aspect(f))
	// More threads would let the bytes depend on the machine.
	w.coder.SetThreadCount(1)
	flags := w.coder.Flags().Add(astiav.CodecContextFlagBitexact)
	if w.movie.Codec != ProRes {
		flags = flags.Add(astiav.CodecContextFlagGlobalHeader)
	}
	w.coder.SetFlags(flags)

	options := astiav.NewDictionary()
	defer options.Free()
	for _, o := range append(w.options(), colourOptions(f.Colour)...) {
		if err := options.Set(o[0], o[1], 0); err != nil {
			return err
		}
	}
	if err := w.coder.Open(encoder, options); err != nil {
		return fmt.Errorf("%s of %s: %w", w.movie.Codec, pixels, err)
	}

	w.stream = w.format.NewStream(nil)
	if w.stream == nil {
		return errors.New("out of memory")
	}
	if err := w.coder.ToCodecParameters(w.stream.CodecParameters()); err != nil {
		return err
	}
	w.stream.SetTimeBase(w.coder.TimeBase())
	w.stream.SetAvgFrameRate(w.coder.Framerate())
	w.stream.SetSampleAspectRatio(aspect(f))
	tags := astiav.NewDictionary()
	defer tags.Free()
	for _, t := range w.tags() {
		if err := tags.Set(t[0], t[1], 0); err != nil {
			return err
		}
	}
	setTags(w.format, w.stream, tags)
	return w.format.WriteHeader(nil)
}

// options lists what is asked of the encoder.
func (w *Writer) options() [][2]string {
	switch w.movie.Codec {
	case ProRes:
		return [][2]string{{"profile", "3"}, {"vendor", "apl0"}}
	case H264:
		options := [][2]string{{"preset", "veryfast"}, {"crf", fmt.Sprint(w.movie.Quality)}}
		if w.movie.Packed {
			// Frame packing arrangement 3 of Rec. ITU-T H.264, D.2: side by side.
			options = append(options, [2]string{"x264-params", "frame-packing=3"})
		}
		return options
	default:
		return [][2]string{{"level", "3"}, {"slices", "4"}, {"slicecrc", "1"}}
	}
}

func (w *Writer) tags() [][2]string {
	var tags [][2]string
	if w.movie.Timecode != "" {
		tags = append(tags, [2]string{"timecode", w.movie.Timecode})
	}
	if !w.movie.Created.IsZero() {
		tags = append(tags, [2]string{"creation_time", w.movie.Created.UTC().Format("2006-01-02T15:04:05.000000Z")})
	}
	if w.movie.Packed && w.movie.Codec == FFV1 {
		tags = append(tags, [2]string{"stereo_mode", "left_right"})
	}
	return tags
}

// send passes a frame to the encoder, or nil at the end, and writes what comes.
func (w *Writer) send(f *astiav.Frame) error {
	if err := w.coder.SendFrame(f); err != nil {
		return err
	}
	for {
		err := w.coder.ReceivePacket(w.packet)
		if errors.Is(err, astiav.ErrEagain) || errors.Is(err, astiav.ErrEof) {
			return nil
		}
		if err != nil {
			return err
		}
		w.packet.SetStreamIndex(w.stream.Index())
		if w.packet.Duration() == 0 {
			w.packet.SetDuration(1)
		}
		w.packet.RescaleTs(w.coder.TimeBase(), w.stream.TimeBase())
		if err := w.format.WriteInterleavedFrame(w.packet); err != nil {
			return err
		}
	}
}

// Close writes what is still held back and closes the file. A file without a
// frame is an error.
func (w *Writer) Close() error {
	defer w.free()
	if w.first == nil {
		return w.fail(errors.New("no frames"))
	}
	if err := w.send(nil); err != nil {
		return w.fail(err)
	}
	if err := w.format.WriteTrailer(); err != nil {
		return w.fail(err)
	}
	file := w.file
	w.file = nil
	if err := file.Close(); err != nil {
		return w.fail(err)
	}
	return nil
}

func (w *Writer) free() {
	if w.coder != nil {
		w.coder.Free()
		w.coder = nil
	}
	if w.file != nil {
		w.file.Close()
		w.file = nil
	}
	if w.format != nil {
		w.format.Free()
		w.format = nil
	}
	if w.packet != nil {
		w.packet.Free()
		w.frame.Free()
		w.packet, w.frame = nil, nil
	}
}

// WriteAll writes a file of the given frames.
func WriteAll(path string, m Movie, frames ...*picture.Frame) (err error) {
	w, err := Create(path, m)
	if err != nil {
		return err
	}
	for _, f := range frames {
		if err := w.Write(f); err != nil {
			w.free()
			return err
		}
	}
	return w.Close()
}
