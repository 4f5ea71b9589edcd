package decode

import (
	"context"
	"fmt"

	"github.com/asticode/go-astiav"

	"nightpair/decode/prores"
	"nightpair/metrics/picture"
)

// Small returns the reduced picture of the frame with that index, as picture.Reduce makes
// it of Luma. It is the cheapest way to look at every frame.
//
// Of ProRes it is read from the packet without decoding, where boxes are of whole blocks: from
// a width of 1440 on, unless the file is interlaced. Its means differ from those of the decoded
// frame by how samples are rounded and clipped: by half a 10-bit code value at most, or up to
// four where some samples of a box are blacker or whiter than the decoder gives. It
// disturbs neither Frame nor Luma.
//
// A packet that cannot be read so, or is less than half or more than twice as large as both
// of its neighbours, is decoded as by Luma, and the decoder tells whether it is damaged. What
// stays unseen here, and may be seen by Frame, is damage that spares the first bytes of every
// slice, where its header and the means of its blocks are, as of a few bytes only.
func (f *File) Small(ctx context.Context, index int) (*picture.Reduced, error) {
	return read(ctx, f, index, reader.small)
}

func (f *film) small(ctx context.Context, i int) (*picture.Reduced, error) {
	if f.inBlocks() && !f.odd(i) {
		if err := f.judge(i); err != nil {
			return nil, err
		}
		if small := f.fromPacket(ctx, i); small != nil {
			return small, nil
		}
	}
	luma, err := f.luma(ctx, i)
	if err != nil {
		return nil, err
	}
	return picture.Reduce(luma), nil
}

func (q *stills) small(ctx context.Context, i int) (*picture.Reduced, error) {
	frame, err := q.frame(ctx, i)
	if err != nil {
		return nil, err
	}
	return picture.Reduce(frame), nil
}

// inBlocks reports whether packets tell the means of blocks of which the boxes are made.
func (f *film) inBlocks() bool {
	nx, ny := picture.Boxes(f.about.Width, f.about.Height, f.aspect)
	return f.params.CodecID() == astiav.CodecIDProres && !f.about.Interlaced &&
		nx%prores.BlockSize == 0 && ny%prores.BlockSize == 0
}

// odd reports whether the packet of frame i is half or twice as large as both of its
// neighbours, or the one that it has: a whole frame changes little, but for cuts. Sizes
// that the container does not tell are not odd.
func (f *film) odd(i int) bool {
	size := func(i int) int { return f.table.packets[f.table.order[i]].size }
	smaller, larger := true, true
	for _, j := range [2]int{i - 1, i + 1} {
		if j >= 0 && j < f.frames() {
			smaller = smaller && 2*size(i) < size(j)
			larger = larger && size(i) > 2*size(j)
		}
	}
	return f.frames() > 1 && (smaller || larger)
}

// fromPacket reads the reduced picture of frame i out of its ProRes packet. It returns nil
// where that has to be decoded instead.
func (f *film) fromPacket(ctx context.Context, i int) *picture.Reduced {
	number := f.table.order[i]
	// What is wrong with the file itself, decoding will tell.
	if err := f.skipTo(ctx, number); err != nil {
		return nil
	}
	if _, err := f.read(ctx); err != nil {
		return nil
	}
	small, err := f.reduced(i, packetData(f.in.buffer))
	if err != nil {
		f.w.notes.tell(fmt.Sprintf("frame %d was decoded in full to be looked at: %v", i, err))
		f.next, f.peeked = number, true // for the decoder
		return nil
	}
	return small
}

// proresMargin is how many code values FFmpeg's ProRes decoder leaves free at either end,
// whatever the depth that it decodes to.
const proresMargin = 4

// reduced returns the reduced picture that a ProRes packet shows.
func (f *film) reduced(i int, packet []byte) (*picture.Reduced, error) {
	p := &f.prores
	if err := p.Read(packet, false); err != nil {
		return nil, err
	}
	if p.Width != f.about.Width || p.Height != f.about.Height || p.Interlaced {
		return nil, fmt.Errorf("a picture of another size or kind: %d×%d pixels", p.Width, p.Height)
	}
	small := picture.NewReduced(picture.Frame{
		Layout: picture.YCbCr, Colour: f.about.Colour, PixelAspect: f.aspect, Index: i, Time: f.time(i),
	}, p.Width, p.Height)
	nx, ny := small.BoxWidth/prores.BlockSize, small.BoxHeight/prores.BlockSize
	out := small.Frame.Planes[0]
	scale := float32(int(1)<<(small.Frame.Depth-prores.Depth)) / float32(nx*ny)
	unit := float32(int(1) << (f.about.Depth - prores.Depth))
	low, high := proresMargin/unit, (float32(int(1)<<f.about.Depth-1)-proresMargin)/unit
	sums := make([]float32, out.Width)
	for y := range out.Height {
		clear(sums)
		for k := range ny {
			cells := p.Luma.Row(y*ny + k)
			for x := range sums {
				for _, v := range cells[x*nx:][:nx] {
					sums[x] += min(max(v, low), high)
				}
			}
		}
		row := out.Row(y)
		for x, sum := range sums {
			row[x] = uint16(sum*scale + 0.5)
		}
	}
	return small, nil
}
