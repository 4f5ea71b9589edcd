package prores

import (
	"encoding/binary"
	"errors"
	"math/bits"
)

// BlockSize is the side of a block, in samples.
const BlockSize = 8

const macroblockSize = 2 * BlockSize

var (
	errShort      = errors.New("truncated")
	errNotProRes  = errors.New("no prores frame")
	errVersion    = errors.New("unknown version of the bit stream")
	errReserved   = errors.New("reserved value")
	errHeaderSize = errors.New("a header of the wrong size")
	errNoPixels   = errors.New("no pixels")
	errFields     = errors.New("fields of different sizes")
	errWeight     = errors.New("weights out of range")
	errSizes      = errors.New("sizes of the slices and the picture disagree")
	errRest       = errors.New("data after the last picture")
)

// header is what a frame header says that matters here.
type header struct {
	width, height int
	fields        int // pictures of the frame: 1, or 2 if interlaced
	across, down  int // macroblocks of a picture
	chromaAcross  int // chroma blocks side by side in a macroblock: 1 for 4:2:2, 2 for 4:4:4
	// Weights of the DC coefficient in the quantisation matrices.
	lumaWeight, chromaWeight int
}

// Sizes of a frame's parts in bytes, and the weight of a matrix that is not sent.
const (
	containerSize  = 8 // size and identifier, before the frame header
	headerSize     = 20
	matrixSize     = 64
	defaultWeight  = 4
	minWeight      = 2
	maxWeight      = 63
	pictureMinSize = 8
)

// readHeader reads the frame header and returns with it what follows up to the
// end of the frame.
func readHeader(packet []byte) (h header, rest []byte, err error) {
	if len(packet) < containerSize+headerSize {
		return header{}, nil, errShort
	}
	if string(packet[4:8]) != "icpf" {
		return header{}, nil, errNotProRes
	}
	size := uint64(binary.BigEndian.Uint32(packet))
	if size > uint64(len(packet)) {
		return header{}, nil, errShort
	}
	if size < containerSize+headerSize {
		return header{}, nil, errHeaderSize
	}
	b := packet[containerSize:size]
	n := int(binary.BigEndian.Uint16(b))
	if n < headerSize || n > len(b) {
		return header{}, nil, errHeaderSize
	}
	// Version 0 is 4:2:2 without alpha, version 1 all there is.
	if b[3] > 1 {
		return header{}, nil, errVersion
	}
	h = header{
		width: int(binary.BigEndian.Uint16(b[8:])), height: int(binary.BigEndian.Uint16(b[10:])),
		fields: 1, lumaWeight: defaultWeight,
	}
	switch b[12] >> 6 {
	case 2:
		h.chromaAcross = 1
	case 3:
		h.chromaAcross = 2
	default:
		return header{}, nil, errReserved
	}
	// The order of the fields does not matter, as cells are means of both.
	switch b[12] >> 2 & 3 {
	case 0:
	case 1, 2:
		h.fields = 2
	default:
		return header{}, nil, errReserved
	}
	if h.width == 0 || h.height == 0 {
		return header{}, nil, errNoPixels
	}
	h.across = macroblocks(h.width)
	h.down = macroblocks((h.height + h.fields - 1) / h.fields)
	// The top field has the odd line, which must not need macroblocks of its own.
	if h.down != macroblocks(h.height/h.fields) {
		return header{}, nil, errFields
	}
	// The matrices that are sent follow, the DC weight first in each. Chroma has
	// that of luma if it has none.
	matrices := b[headerSize:n]
	if b[19]&2 != 0 {
		if h.lumaWeight, matrices, err = readWeight(matrices); err != nil {
			return header{}, nil, err
		}
	}
	h.chromaWeight = h.lumaWeight
	if b[19]&1 != 0 {
		if h.chromaWeight, _, err = readWeight(matrices); err != nil {
			return header{}, nil, err
		}
	}
	return h, b[n:], nil
}

// readWeight reads the DC weight of a matrix and returns with it what follows that.
func readWeight(b []byte) (int, []byte, error) {
	if len(b) < matrixSize {
		return 0, nil, errHeaderSize
	}
	if b[0] < minWeight || b[0] > maxWeight {
		return 0, nil, errWeight
	}
	return int(b[0]), b[matrixSize:], nil
}

// macroblocks returns how many macroblocks cover n samples.
func macroblocks(n int) int { return (n + macroblockSize - 1) / macroblockSize }

// pictureHeader is a progressive frame or a field.
type pictureHeader struct {
	slice int    // macroblocks of a slice, apart from the last ones of a row
	sizes []byte // of the slices, 16 bits each
	data  []byte // slices
}

// readPicture reads a picture header and the table of slices, and returns with
// them what follows the picture.
func readPicture(b []byte, h header) (pictureHeader, []byte, error) {
	if len(b) < pictureMinSize {
		return pictureHeader{}, nil, errShort
	}
	n := int(b[0] >> 3)
	if n < pictureMinSize {
		return pictureHeader{}, nil, errHeaderSize
	}
	// The number of slices that follows the size is deprecated.
	size := uint64(binary.BigEndian.Uint32(b[1:]))
	if size > uint64(len(b)) {
		return pictureHeader{}, nil, errShort
	}
	p := pictureHeader{slice: 1 << (b[7] >> 4 & 3)}
	// A row ends with slices of half, a quarter and so on of the usual length.
	row := h.across/p.slice + bits.OnesCount(uint(h.across%p.slice))
	table := row * h.down * 2
	if uint64(n+table) > size {
		return pictureHeader{}, nil, errSizes
	}
	p.sizes, p.data = b[n:][:table], b[n+table:size]
	total := 0
	for i := 0; i < len(p.sizes); i += 2 {
		one := int(binary.BigEndian.Uint16(p.sizes[i:]))
		if one < sliceHeaderSize {
			return pictureHeader{}, nil, errSizes
		}
		total += one
	}
	if total != len(p.data) {
		return pictureHeader{}, nil, errSizes
	}
	return p, b[size:], nil
}
