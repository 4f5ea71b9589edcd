// Package prores reads an eighth-size picture out of a ProRes packet without
// decoding it.
//
// A ProRes frame is made of slices of at most eight macroblocks. In a slice each
// plane begins with the DC coefficients of all its blocks, and a DC coefficient is
// the mean of 8 × 8 samples. So the means over all blocks are had from the first
// bytes of each slice: no AC coefficient is read and nothing is transformed, at a
// twentieth of the price of decoding or less. The structure is that of SMPTE RDD
// 36:2015.
//
// What it costs: damage in the AC coefficients, which are most of a packet, is not
// seen. Sizes that disagree and values that no picture has are errors, and a frame
// with one should be decoded in full. A lost disk sector of 4096 bytes is larger than
// a slice and spoils the header of at least one.
package prores

import "fmt"

// Picture is a frame reduced to the means over its blocks. The zero value is
// ready for Read, and Read uses its memory again.
type Picture struct {
	Width, Height int // pixels of the frame
	// Interlaced says that the frame is two fields. A block then spans eight
	// lines of one field, so that both fields have one at each place; a cell is
	// the mean of the two, of sixteen lines of the frame. Means of the fields by
	// themselves would show what moves at two times and be half a cell off.
	Interlaced bool
	Luma       ReducedPlane
	Cb, Cr     ReducedPlane // empty unless asked for
}

// Depth is the number of bits of the code values that means are given in.
const Depth = 10

// ReducedPlane is a grid of means, row by row, in code values of 10 bits, from 0 to
// 1023: the stream itself has no bit depth, and a decoder that makes 12 bits of
// it makes each value four times as large. Where a decoder has to clip samples,
// their mean is moved by what it clips; these are not.
type ReducedPlane struct {
	// Columns and Rows count the cells of all macroblocks. Those on the right and
	// at the bottom may lie partly or wholly beyond the edge of the frame, where
	// samples are what the encoder made up; the first WholeColumns and WholeRows
	// lie inside.
	Columns, Rows           int
	WholeColumns, WholeRows int
	// CellWidth and CellHeight are the samples of this plane, in the decoded
	// frame, that a cell is the mean of: 8 × 8, or 8 × 16 if interlaced. A sample
	// of 4:2:2 chroma is two pixels wide.
	CellWidth, CellHeight int
	Means                 []float32
}

// Row returns the means of row y.
func (p *ReducedPlane) Row(y int) []float32 {
	return p.Means[y*p.Columns:][:p.Columns]
}

// Read reads the small picture out of a packet. With chroma it reads Cb and Cr too,
// which takes half as long again for 4:2:2. After an error, which may be damage or a
// kind of stream that is not known here, the picture is worth nothing.
func (p *Picture) Read(packet []byte, chroma bool) error {
	h, rest, err := readHeader(packet)
	if err != nil {
		return fmt.Errorf("prores frame header: %w", err)
	}
	var both [2]pictureHeader
	pictures := both[:h.fields]
	for i := range pictures {
		if pictures[i], rest, err = readPicture(rest, h); err != nil {
			return fmt.Errorf("prores picture header: %w", err)
		}
	}
	for _, b := range rest {
		if b != 0 {
			return fmt.Errorf("prores frame: %w", errRest)
		}
	}
	// Every slice of every picture is in the packet, so that the planes are in
	// proportion to it and no header can ask for more.
	p.prepare(h, chroma)
	for i := range pictures {
		if err := p.readSlices(h, &pictures[i], i == 1, chroma); err != nil {
			return err
		}
	}
	return nil
}

// prepare gives the planes their sizes.
func (p *Picture) prepare(h header, chroma bool) {
	p.Width, p.Height, p.Interlaced = h.width, h.height, h.fields == 2
	resize := func(plane *ReducedPlane, across, width int) {
		means := plane.Means[:0]
		if n := across * h.across * 2 * h.down; n <= cap(means) {
			means = means[:n]
		} else {
			means = make([]float32, n)
		}
		*plane = ReducedPlane{
			Columns: across * h.across, Rows: 2 * h.down,
			WholeColumns: width / BlockSize, WholeRows: h.height / (BlockSize * h.fields),
			CellWidth: BlockSize, CellHeight: BlockSize * h.fields,
			Means: means,
		}
	}
	resize(&p.Luma, 2, h.width)
	if !chroma {
		p.Cb.clear()
		p.Cr.clear()
		return
	}
	width := h.width
	if h.chromaAcross == 1 {
		width = (width + 1) / 2
	}
	resize(&p.Cb, h.chromaAcross, width)
	resize(&p.Cr, h.chromaAcross, width)
}

// clear empties the plane and keeps its memory.
func (p *ReducedPlane) clear() { *p = ReducedPlane{Means: p.Means[:0]} }
