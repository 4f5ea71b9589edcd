package decode

import (
	"context"
	"errors"
	"io"
	"os"

	"github.com/asticode/go-astiav"
)

// container reads the packets of one video stream in the order of the file.
type container struct {
	path   string
	format *astiav.FormatContext
	stream *astiav.Stream
	number int
	buffer *astiav.Packet // the latest packet read
	colour colourTags     // as the container itself has them
}

// protocols keeps playlists and reference movies from reaching out of the
// machine.
const protocols = "file"

// openHeader opens a file and reads no more than what FFmpeg takes for its header.
func openHeader(w *worker, path string) (*container, error) {
	c := &container{path: path, format: astiav.AllocFormatContext(), buffer: astiav.AllocPacket()}
	prepareFormat(c.format, w.stop)
	options := astiav.NewDictionary()
	defer options.Free()
	if err := options.Set("protocol_whitelist", protocols, 0); err != nil {
		c.buffer.Free()
		c.format.Free()
		return nil, fail(path, "open", err)
	}
	// The prefix keeps a colon in a name from being read as a protocol.
	if err := c.format.OpenInput("file:"+path, nil, options); err != nil {
		// FFmpeg has freed the context.
		c.buffer.Free()
		return nil, openError(w, path, err)
	}
	return c, nil
}

func openContainer(w *worker, path string) (*container, error) {
	c, err := openHeader(w, path)
	if err != nil {
		return nil, err
	}
	// FFmpeg replaces these by what the bit stream says, even where that says
	// nothing.
	var tags []colourTags
	for _, s := range c.format.Streams() {
		tags = append(tags, containerColour(s.CodecParameters()))
	}
	if err := c.format.FindStreamInfo(nil); err != nil {
		c.close()
		return nil, openError(w, path, err)
	}
	if err := c.choose(); err != nil {
		c.close()
		return nil, err
	}
	if c.number < len(tags) {
		c.colour = tags[c.number]
	}
	return c, nil
}

// choose takes the video stream that FFmpeg takes for the best.
func (c *container) choose() error {
	c.number = bestVideo(c.format)
	if c.number < 0 {
		return &Error{File: c.path, Op: "open", Reason: "holds no video", Err: ErrNotVideo}
	}
	c.stream = c.format.Streams()[c.number]
	readOnly(c.format, c.number)
	return nil
}

func openError(w *worker, path string, err error) *Error {
	if !errors.Is(err, astiav.ErrInvaliddata) {
		return fail(path, "open", err)
	}
	if w.notes.mentions("moov atom not found") && startsWithBox(path) {
		return &Error{File: path, Op: "open", Reason: "truncated: the table of contents (moov) that is written last is missing", Err: ErrTruncated}
	}
	return &Error{File: path, Op: "open", Reason: "not a video file that FFmpeg can read", Err: ErrNotVideo}
}

// startsWithBox says whether a file begins as MP4 and QuickTime files do; the
// name alone makes FFmpeg take it for one.
func startsWithBox(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	var head [8]byte
	if _, err := io.ReadFull(f, head[:]); err != nil {
		return false
	}
	switch string(head[4:]) {
	case "ftyp", "mdat", "wide", "free", "skip", "pnot":
		return true
	}
	return false
}

func (c *container) close() {
	c.buffer.Free()
	c.format.CloseInput()
}

// textCodecs draw letters: FFmpeg reads any text file as such a film.
var textCodecs = map[string]bool{"ansi": true, "xbin": true, "bintext": true, "idf": true}

// decoderFor finds the decoder and refuses what cannot be decoded.
func (c *container) decoderFor() (*astiav.Codec, error) {
	params := c.stream.CodecParameters()
	name := params.CodecID().Name()
	if textCodecs[name] {
		return nil, &Error{File: c.path, Op: "open", Reason: "a text file, not a video", Err: ErrNotVideo}
	}
	if len(c.stream.SideData(astiav.PacketSideDataTypeEncryptionInitInfo)) > 0 || params.CodecTag() == encryptedTag {
		return nil, &Error{File: c.path, Op: "open", Reason: "encrypted", Err: ErrEncrypted}
	}
	codec := astiav.FindDecoder(params.CodecID())
	if codec == nil {
		return nil, &Error{File: c.path, Op: "open", Reason: "the installed FFmpeg has no decoder for " + name, Err: astiav.ErrDecoderNotFound}
	}
	return codec, nil
}

// encryptedTag is "encv", the sample entry of encrypted video (ISO/IEC
// 14496-12, 8.12).
const encryptedTag = 'e' | 'n'<<8 | 'c'<<16 | 'v'<<24

// next reads the next packet of the stream into c.buffer. io.EOF is the end.
func (c *container) next(ctx context.Context) error {
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		c.buffer.Unref()
		err := c.format.ReadFrame(c.buffer)
		switch {
		case errors.Is(err, astiav.ErrEof):
			return io.EOF
		case errors.Is(err, astiav.ErrExit) && ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			return err
		case c.buffer.StreamIndex() == c.number:
			return nil
		}
	}
}

// packet describes c.buffer.
func (c *container) packet() packet {
	flags := int(c.buffer.Flags())
	return packet{
		pts: c.buffer.Pts(), dts: c.buffer.Dts(), pos: c.buffer.Pos(), size: c.buffer.Size(),
		key:     flags&packetKey != 0,
		discard: flags&packetDiscard != 0,
		spare:   flags&packetSpare != 0,
		flawed:  flags&packetCorrupt != 0,
	}
}

// Flags of a packet, as in libavcodec/packet.h.
const (
	packetKey     = 1
	packetCorrupt = 2
	packetDiscard = 4
	packetSpare   = 16
)

// fromIndex takes the packets from the container's own index, without reading
// them. That is safe only for codecs that never reorder, and where the index
// lists every picture; it returns nil otherwise. Pictures that lie beyond the
// end of the file are left out and counted in lacking.
func (c *container) fromIndex(intra bool) (packets []packet, lacking int) {
	if !intra {
		return nil, 0
	}
	entries := indexEntries(c.format, c.number)
	if len(entries) < 2 || int64(len(entries)) != c.stream.NbFrames() {
		return nil, 0
	}
	info, err := os.Stat(c.path)
	if err != nil {
		return nil, 0
	}
	for i, e := range entries {
		if !e.key || e.discard || e.size <= 0 || i > 0 && (e.timestamp <= entries[i-1].timestamp || e.pos <= entries[i-1].pos) {
			return nil, 0
		}
		if e.pos+int64(e.size) > info.Size() {
			return packets, len(entries) - i
		}
		packets = append(packets, packet{pts: e.timestamp, dts: e.timestamp, pos: e.pos, size: e.size, key: true})
	}
	return packets, 0
}

// fromDuration takes the packets of an MXF file from its length in frames, if
// looking at the first, the middle and the last one bears it out: the file has
// an index that FFmpeg seeks by and does not show. It returns nil otherwise.
// Only time stamps are known of such packets.
func (c *container) fromDuration(ctx context.Context) ([]packet, error) {
	n := c.stream.Duration()
	if n < 2 {
		return nil, nil
	}
	for _, want := range []int64{0, n / 2, n - 1} {
		if c.format.SeekFrame(c.number, want, astiav.NewSeekFlags(astiav.SeekFlagBackward)) != nil {
			return nil, nil
		}
		if err := c.next(ctx); err != nil {
			return nil, ctx.Err()
		}
		if p := c.packet(); p.pts != want || p.flawed || c.buffer.Duration() != 1 {
			return nil, nil
		}
	}
	if err := c.next(ctx); err != io.EOF {
		return nil, ctx.Err()
	}
	packets := make([]packet, n)
	for i := range packets {
		packets[i] = packet{pts: int64(i), dts: int64(i), pos: -1, key: true}
	}
	return packets, nil
}

// scan reads every packet of the stream without decoding. It stops at the
// first place that cannot be read and says why in trouble.
func (c *container) scan(ctx context.Context) (packets []packet, trouble error, err error) {
	for {
		switch err := c.next(ctx); {
		case err == io.EOF:
			return packets, nil, nil
		case ctx.Err() != nil:
			return nil, nil, ctx.Err()
		case err != nil:
			return packets, err, nil
		}
		if len(c.buffer.SideData(astiav.PacketSideDataTypeEncryptionInfo)) > 0 {
			return nil, nil, &Error{File: c.path, Op: "open", Reason: "encrypted", Err: ErrEncrypted}
		}
		packets = append(packets, c.packet())
	}
}

// whole drops a last packet that the end of the file truncated, and says how many
// pictures the container promised beyond those that are there.
func (c *container) whole(packets []packet, trouble error) ([]packet, int) {
	promised := int(c.stream.NbFrames())
	truncated := trouble != nil || promised > len(packets)
	if n := len(packets); n > 0 && packets[n-1].flawed && (truncated || promised == n) {
		packets = packets[:n-1]
		return packets, max(promised-len(packets), 1)
	}
	return packets, max(promised-len(packets), 0)
}

// timecode returns the label of the first frame as the container's tags have it: the video
// stream's own first, then that of any stream, such as a timecode track, then the file's.
func (c *container) timecode() string {
	sets := []map[string]string{tagsOf(c.stream.Metadata())}
	for _, s := range c.format.Streams() {
		sets = append(sets, tagsOf(s.Metadata()))
	}
	return first("timecode", append(sets, tagsOf(c.format.Metadata()))...)
}

// stereo returns what the container says of two eyes in the stream, or else what a frame
// says; nil for no frame.
func (c *container) stereo(frame *astiav.Frame) Stereo {
	stereo := stereo3D(c.stream.SideData(astiav.PacketSideDataTypeStereo3D))
	if stereo.Packing == Mono && frame != nil {
		if side := frame.SideData(astiav.FrameSideDataTypeStereo3D); side != nil {
			stereo = stereo3D(side.Data())
		}
	}
	return stereo
}
