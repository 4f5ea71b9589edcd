package prores

import (
	"encoding/binary"
	"errors"
	"fmt"
)

var (
	errQuantiser  = errors.New("quantiser out of range")
	errPlaneSizes = errors.New("sizes of the planes and the slice disagree")
	errRange      = errors.New("a mean that no picture has")
)

const (
	sliceHeaderSize      = 6
	alphaSliceHeaderSize = 8 // with the size of Cr, as alpha follows it
	maxQuantiser         = 224
	linearQuantisers     = 128 // above, each is four times as far from the next
	maxSliceBlocks       = 8 * 4
)

// In code values of 10 bits.
const (
	midGrey  = 512
	allWhite = 1023
)

// dcUnit is what a DC coefficient is divided by, after it has been multiplied by
// weight and quantiser, to become a mean in code values of 10 bits.
const dcUnit = 32

// readSlices reads all slices of a picture. The cells of a second picture are
// averaged with those of the first.
func (p *Picture) readSlices(h header, pic *pictureHeader, second, chroma bool) error {
	data, sizes := pic.data, pic.sizes
	for y := range h.down {
		count := pic.slice
		for x := 0; x < h.across; x += count {
			for count > h.across-x {
				count /= 2
			}
			size := int(binary.BigEndian.Uint16(sizes))
			if err := p.readSlice(h, data[:size], x, y, count, second, chroma); err != nil {
				return fmt.Errorf("prores slice at macroblock %d, %d: %w", x, y, err)
			}
			data, sizes = data[size:], sizes[2:]
		}
	}
	return nil
}

// readSlice reads a slice of count macroblocks that begins at macroblock x, y.
func (p *Picture) readSlice(h header, b []byte, x, y, count int, second, chroma bool) error {
	if len(b) < sliceHeaderSize {
		return errShort
	}
	n, quantiser := int(b[0]>>3), int(b[1])
	if n < sliceHeaderSize || n > len(b) {
		return errHeaderSize
	}
	if quantiser < 1 || quantiser > maxQuantiser {
		return errQuantiser
	}
	if quantiser > linearQuantisers {
		quantiser = linearQuantisers + 4*(quantiser-linearQuantisers)
	}
	luma, cb := int(binary.BigEndian.Uint16(b[2:])), int(binary.BigEndian.Uint16(b[4:]))
	cr := len(b) - n - luma - cb
	if n >= alphaSliceHeaderSize {
		cr = int(binary.BigEndian.Uint16(b[6:]))
	}
	if cr < 0 || n+luma+cb+cr > len(b) {
		return errPlaneSizes
	}
	planes := b[n:]
	var buffer [maxSliceBlocks]int32
	dc := buffer[:4*count]
	if err := readDC(planes[:luma], dc); err != nil {
		return err
	}
	if !p.Luma.place(dc, x, y, 2, false, h.lumaWeight*quantiser, second) {
		return errRange
	}
	if !chroma {
		return nil
	}
	across := h.chromaAcross
	dc = buffer[:2*across*count]
	for _, c := range []struct {
		data  []byte
		plane *ReducedPlane
	}{{planes[luma:][:cb], &p.Cb}, {planes[luma+cb:][:cr], &p.Cr}} {
		if err := readDC(c.data, dc); err != nil {
			return err
		}
		if !c.plane.place(dc, x, y, across, true, h.chromaWeight*quantiser, second) {
			return errRange
		}
	}
	return nil
}

// place turns the DC coefficients of a slice into means and puts them where they
// belong: macroblock by macroblock, in each row by row or, if upright, column by
// column. Step is weight times quantiser. It returns whether all means are such as
// a picture may have: those of samples between black and white, off by what the
// coefficient was rounded by.
func (p *ReducedPlane) place(dc []int32, x, y, across int, upright bool, step int, second bool) bool {
	scale := float32(step) / dcUnit
	low, high := -scale, allWhite+scale
	n := len(dc) / 2
	upper := p.Row(2 * y)[x*across:][:n]
	lower := p.Row(2*y + 1)[x*across:][:n]
	for i := range n {
		// Blocks of a macroblock count from its upper left.
		at, below := i*2, 1
		if !upright {
			at, below = i/2*4+i%2, 2
		}
		a, b := midGrey+scale*float32(dc[at]), midGrey+scale*float32(dc[at+below])
		if min(a, b) < low || max(a, b) > high {
			return false
		}
		a, b = min(max(a, 0), allWhite), min(max(b, 0), allWhite)
		if second {
			a, b = (upper[i]+a)/2, (lower[i]+b)/2
		}
		upper[i], lower[i] = a, b
	}
	return true
}
