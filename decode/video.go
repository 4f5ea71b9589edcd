package decode

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/asticode/go-astiav"
)

// video reads the frames of one stream by number.
type video struct {
	path  string
	w     *worker
	in    *container
	dec   *decoder
	scale scaler
	table *table
	find  map[packet]int // number of each packet, by its look
	intra bool           // every packet decodes alone
	grey  bool           // colour is left out, see File.Luma

	byTime bool // the table knows packets by their time stamps alone

	// Where the container stands: the number of the packet that it gives next,
	// or -1, and whether that packet has been read already.
	next   int
	peeked bool
	linear bool // seeking has failed: start from the top instead

	// The run of decoding since the decoder was last opened.
	from int // first packet
	low  int // frames from here on are still to come
	gap  int // low, before the frame in hand came
	held int // number of the frame in hand, -1 for none
	fed  int // number of the latest packet sent
	want int // packet of the frame that is asked for, -1 for any

	mirrored int  // which packed view is stored flipped, see Stereo
	looked   bool // whether the first packet has been searched for that

	damaged map[int]bool // packets that did not decode cleanly
	missing map[int]bool // frames that never come
}

func newVideo(ctx context.Context, w *worker, path string, opt Options) (*video, error) {
	in, err := openContainer(w, path)
	if err != nil {
		return nil, err
	}
	v := &video{path: path, w: w, in: in, next: 0, held: -1, damaged: map[int]bool{}, missing: map[int]bool{}}
	if err := v.begin(ctx, opt); err != nil {
		v.close()
		return nil, err
	}
	return v, nil
}

func (v *video) begin(ctx context.Context, opt Options) error {
	codec, err := v.in.decoderFor()
	if err != nil {
		return err
	}
	params := astiav.AllocCodecParameters()
	if err := v.in.stream.CodecParameters().Copy(params); err != nil {
		return fail(v.path, "open", err)
	}
	v.dec = &decoder{w: v.w, codec: codec, params: params, timeBase: v.in.stream.TimeBase(), threads: opt.Threads}
	if err := v.tabulate(ctx); err != nil {
		return err
	}
	return v.probe(ctx)
}

// tabulate finds out which packets there are and which frames they give.
func (v *video) tabulate(ctx context.Context) error {
	v.intra = intraOnly(v.dec.params.CodecID())
	packets, lacking := v.in.fromIndex(v.intra)
	if len(packets) > 0 {
		trusted, err := v.trust(ctx, packets)
		if err != nil {
			return err
		}
		if !trusted {
			packets = nil
		}
	}
	if packets == nil && v.intra && v.in.format.InputFormat().Name() == "mxf" {
		var err error
		if packets, err = v.in.fromDuration(ctx); err != nil {
			return err
		}
		v.next, v.byTime = -1, packets != nil
		if packets == nil {
			if err := v.rewind(ctx); err != nil {
				return err
			}
		}
	}
	if packets == nil {
		var trouble error
		var err error
		if packets, trouble, err = v.in.scan(ctx); err != nil {
			return fail(v.path, "index", err)
		}
		v.next = -1
		if trouble != nil {
			v.w.notes.tell("reading stopped early: " + trouble.Error())
		}
		packets, lacking = v.in.whole(packets, trouble)
	}
	if lacking > 0 {
		v.w.notes.tell(fmt.Sprintf("truncated: %d of %d frames are there", len(packets), len(packets)+lacking))
	}
	if len(packets) == 0 {
		if lacking > 0 {
			return &Error{File: v.path, Op: "index", Reason: "truncated before the first frame", Err: ErrTruncated}
		}
		return &Error{File: v.path, Op: "index", Reason: "holds no frames", Err: ErrNotVideo}
	}
	v.table = byTime(packets)
	if len(v.table.order) == 0 {
		return &Error{File: v.path, Op: "index", Reason: "its edit list hides every frame", Err: ErrNotVideo}
	}
	v.intra = v.intra || v.table.allKey() && !v.table.reorders()
	v.find = make(map[packet]int, len(packets))
	for i, p := range packets {
		if _, twice := v.find[v.look(p)]; twice {
			v.linear = true
		}
		v.find[v.look(p)] = i
		if p.flawed {
			v.markDamaged(i)
		}
	}
	if !v.intra && !v.table.timed() {
		return v.order(ctx)
	}
	return nil
}

// trust compares the container's index with the first packet. The index may
// point to the header of each packet, a few bytes before it.
func (v *video) trust(ctx context.Context, packets []packet) (bool, error) {
	const maxHeader = 16
	if err := v.in.next(ctx); err != nil {
		if ctx.Err() != nil {
			return false, err
		}
		return false, v.rewind(ctx)
	}
	first := v.in.packet()
	header := first.pos - packets[0].pos
	if header < 0 || header > maxHeader || first.pts != packets[0].pts || first.size != packets[0].size {
		return false, v.rewind(ctx)
	}
	for i := range packets {
		packets[i].pos += header
	}
	v.peeked = true
	return true, nil
}

// look is what a packet is known again by.
func (v *video) look(p packet) packet {
	if v.byTime {
		return packet{pts: p.pts}
	}
	return packet{pts: p.pts, pos: p.pos, size: p.size}
}

// probe decodes the first frame and puts right what the packets alone do not
// tell: pictures at the start of a trimmed file that lack what they are predicted
// from, and pairs of packets that are the two fields of one frame.
func (v *video) probe(ctx context.Context) error {
	if v.intra {
		return nil
	}
	if key, lead := v.table.leading(); lead > 0 {
		first, err := v.firstFrom(ctx, key)
		switch {
		case err == io.EOF:
			first = lead
		case err != nil:
			return err
		}
		if n := min(lead, first); n > 0 || key > 0 {
			v.table.startAt(key, n)
			if v.frames() == 0 {
				return &Error{File: v.path, Op: "decode", Reason: "not one frame decodes", Err: ErrDamaged}
			}
			v.w.notes.tell(fmt.Sprintf("starts inside a group of pictures: %d frames cannot be decoded and are not counted", n))
		}
	}
	// Fields that come in packets of their own leave every second number out.
	const enough = 6
	var seen []int
	for j, err := v.firstFrom(ctx, v.table.first); err == nil && len(seen) < enough; j, err = v.step(ctx) {
		if desc, ok := describe(v.dec.frame); ok && (desc.interlaced || hiddenFrames[v.dec.params.CodecID().Name()]) {
			seen = append(seen, j)
		} else {
			break
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	contiguous := true
	for i, j := range seen {
		contiguous = contiguous && j == seen[0]+i
	}
	v.forget()
	if len(seen) > 1 && !contiguous || hiddenFrames[v.dec.params.CodecID().Name()] {
		return v.order(ctx)
	}
	return nil
}

// hiddenFrames are codecs with packets that are decoded and never shown.
var hiddenFrames = map[string]bool{"vp8": true}

// order finds the frames by decoding the whole file once, for streams whose
// packets do not tell.
func (v *video) order(ctx context.Context) error {
	v.dec.options = map[string]string{"skip_loop_filter": "all"}
	defer func() { v.dec.options = nil }()
	all := make([]int, len(v.table.packets))
	for i := range all {
		all[i] = i
	}
	v.table = byOrder(v.table.packets, all)
	var shown []int
	j, err := v.firstFrom(ctx, 0)
	for ; err == nil; j, err = v.step(ctx) {
		if !slices.Contains(shown[max(len(shown)-16, 0):], j) {
			shown = append(shown, j)
		}
	}
	if err != io.EOF {
		return err
	}
	if len(shown) == 0 {
		return &Error{File: v.path, Op: "decode", Reason: "not one frame decodes", Err: ErrDamaged}
	}
	v.table = byOrder(v.table.packets, shown)
	v.forget()
	return nil
}

// forget ends the run of decoding, so that the next one starts afresh.
func (v *video) forget() {
	v.held = -1
	v.w.notes.mute(false)
	v.dec.shut()
}

// firstFrom starts decoding at packet k and gives the first frame that comes.
func (v *video) firstFrom(ctx context.Context, k int) (int, error) {
	if err := v.start(ctx, k); err != nil {
		return 0, err
	}
	return v.step(ctx)
}

func (v *video) frames() int { return len(v.table.order) }

// frame decodes frame i and leaves it in v.dec.frame.
func (v *video) frame(ctx context.Context, i int) error {
	if i >= v.frames() {
		return io.EOF
	}
	if v.missing[i] || v.held > i && i >= v.gap {
		v.missing[i] = true
		return v.spoilt(i, "could not be decoded")
	}
	if v.held != i {
		if err := v.reach(ctx, i); err != nil {
			return err
		}
	}
	return v.judge(i)
}

// reach decodes until frame i is in hand.
func (v *video) reach(ctx context.Context, i int) error {
	err := v.decodeTo(ctx, i)
	if errors.Is(err, errStrayed) {
		// Seeking led into another row of packets: read from the top.
		v.linear, v.next, v.peeked = true, -1, false
		v.forget()
		err = v.decodeTo(ctx, i)
	}
	if errors.Is(err, errStrayed) {
		return &Error{File: v.path, Op: "read", Reason: "the file changed while it was read", Err: err}
	}
	if err != nil && ctx.Err() == nil {
		return fail(v.path, "read", err)
	}
	return err
}

func (v *video) decodeTo(ctx context.Context, i int) error {
	start := v.table.startFor(i)
	onward := v.dec.context != nil && !v.dec.drained && i >= v.low &&
		(v.intra || v.next == v.fed+1) // a read that was broken off loses its place
	switch {
	case onward && v.intra:
		// One packet, one frame: what lies between needs no decoding.
		if err := v.skipTo(ctx, start); err != nil {
			return err
		}
		v.low = i
	case !onward || start > v.fed+1:
		if err := v.start(ctx, start); err != nil {
			return err
		}
	}
	v.want = v.table.order[i]
	for {
		j, err := v.step(ctx)
		switch {
		case err == nil && j < i:
			continue
		case err == nil && j == i:
			return nil
		case err != nil && err != io.EOF:
			return err
		}
		// The frame did not come. A start at a key picture that is none in
		// truth may be the reason: try the one before, once.
		if v.from == start && start > v.table.first && !v.intra {
			if err := v.start(ctx, v.table.startBefore(start)); err != nil {
				return err
			}
			v.want = v.table.order[i]
			continue
		}
		v.missing[i] = true
		return v.spoilt(i, "could not be decoded")
	}
}

// judge refuses frame i, which is in hand, if its packet or one that it is
// predicted from did not decode cleanly.
func (v *video) judge(i int) error {
	number := v.table.order[i]
	start := v.table.startFor(i)
	for d := range v.damaged {
		switch {
		case d == number:
			return v.spoilt(i, "is damaged")
		case d >= start && d < number && !v.table.packets[d].spare && !v.intra:
			return v.spoilt(i, "is predicted from a damaged one")
		}
	}
	return nil
}

// markDamaged remembers that a packet did not decode cleanly.
func (v *video) markDamaged(number int) {
	if !v.damaged[number] {
		v.damaged[number] = true
		v.w.notes.tell(fmt.Sprintf("damaged: packet %d of the stream", number))
	}
}

func (v *video) spoilt(i int, how string) error {
	return &Error{File: v.path, Op: "decode", Reason: fmt.Sprintf("frame %d %s", i, how), Err: ErrDamaged}
}

// step decodes up to the next frame and gives its number; io.EOF at the end.
// After a damaged packet it goes on with the next one.
func (v *video) step(ctx context.Context) (int, error) {
	v.held = -1
	for {
		number, err := v.dec.receive()
		switch {
		case err == nil:
			if number < 0 || number >= len(v.table.packets) || v.table.index[number] < 0 {
				continue
			}
			if desc, ok := describe(v.dec.frame); ok && desc.damaged {
				v.markDamaged(number)
			}
			v.held = v.table.index[number]
			v.gap = v.low
			v.low = v.held + 1
			return v.held, nil
		case errors.Is(err, astiav.ErrEof):
			return 0, io.EOF
		case !errors.Is(err, astiav.ErrEagain):
			v.markDamaged(v.fed)
			continue
		}
		if err := v.feed(ctx); err != nil {
			return 0, err
		}
	}
}

// feed gives the decoder one packet.
func (v *video) feed(ctx context.Context) error {
	if v.intra && v.fed == v.want {
		return v.drain()
	}
	number, err := v.read(ctx)
	if err == io.EOF {
		return v.drain()
	}
	if err != nil {
		return err
	}
	v.fed = number
	if !v.looked {
		v.looked = true
		if v.dec.params.CodecID() == astiav.CodecIDH264 {
			v.mirrored = mirroredView(packetData(v.in.buffer), v.dec.params.ExtraData())
		}
	}
	before, brokenBefore := v.w.notes.complaints()
	if err := v.dec.send(v.in.buffer, number); err != nil && !errors.Is(err, astiav.ErrEof) {
		v.markDamaged(number)
	}
	// Where every packet stands alone, an error line tells which one is at
	// fault; some decoders patch the picture up and say no more. Elsewhere many
	// such lines are harmless and only the plainest count.
	if lines, broken := v.w.notes.complaints(); broken > brokenBefore || v.intra && lines > before {
		v.markDamaged(number)
	}
	return nil
}

// drain makes the decoder put out what it holds.
func (v *video) drain() error {
	if err := v.dec.send(nil, 0); err != nil && !errors.Is(err, astiav.ErrEof) {
		return fail(v.path, "decode", err)
	}
	return nil
}

// start opens the decoder afresh and makes packet k the next one.
func (v *video) start(ctx context.Context, k int) error {
	if err := v.skipTo(ctx, k); err != nil {
		return err
	}
	// Asked to leave colour out, decoders warn that they may not.
	v.w.notes.mute(v.grey)
	if err := v.dec.open(); err != nil {
		return fail(v.path, "decode", err)
	}
	v.from, v.fed, v.held, v.want = k, k-1, -1, -1
	// After a jump decoders complain of references that they never saw.
	v.w.notes.mute(k > v.table.first && !v.intra)
	v.low = max(v.table.index[k], 0)
	v.gap = v.low
	return nil
}

func (v *video) close() {
	v.scale.close()
	if v.dec != nil {
		v.dec.close()
		v.dec.params.Free()
	}
	v.in.close()
}
