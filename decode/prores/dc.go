package prores

import (
	"encoding/binary"
	"errors"
	"math/bits"
)

var (
	errCode    = errors.New("no code of a coefficient")
	errOverrun = errors.New("ends within the dc coefficients")
)

// maxZeros is how many zeros a code may begin with. Coefficients lie between ±4096,
// as weight times quantiser is at least 2, so differences between ±8192, which even
// the code that fits them worst writes with 14.
const maxZeros = 14

// readDC reads the DC coefficients of the blocks of one plane of a slice, which its
// data begins with. The first stands by itself; each later one is a difference from
// the one before, in a code chosen by the size of the difference before it, and with
// the sign of that one carried on.
func readDC(data []byte, dc []int32) error {
	const firstOrder = 5
	w := window(data, 0)
	zeros := bits.LeadingZeros64(w)
	if zeros > maxZeros {
		return errCode
	}
	at := 2*zeros + 1 + firstOrder
	value := signed(int32(w>>(64-at)) - 1<<firstOrder)
	dc[0] = value
	change := int32(len(codes)) // the first difference is coded as after a large one
	for i := 1; i < len(dc); i++ {
		w := window(data, at)
		zeros := bits.LeadingZeros64(w)
		if zeros > maxZeros {
			return errCode
		}
		c := &codes[min(max(change, -change), int32(len(codes)-1))]
		length := 2*zeros + 1 + c.order
		number := int32(w>>((64-length)&63)) - c.less
		if zeros < c.rice {
			length = zeros + 1 + riceBits
			number = int32(zeros)<<riceBits + int32(w>>((64-length)&63))&(1<<riceBits-1)
		}
		at += length
		difference := signed(number)
		if change < 0 {
			difference = -difference
		}
		value += difference
		dc[i] = value
		change = difference
	}
	if at > 8*len(data) {
		return errOverrun
	}
	return nil
}

// codes are those of differences, by the size of the difference before. A code is an
// exp-Golomb code: zeros, as many bits more and an order's worth, the first of which
// is one, stand for the number that these bits make less a constant. The third begins
// as a Rice code, while there are fewer zeros than rice.
var codes = [...]struct {
	order int
	less  int32
	rice  int
}{
	{order: 0, less: 1},
	{order: 1, less: 2},
	{order: 1, less: 0, rice: 2},
	{order: 3, less: 8},
}

// riceBits are the bits that follow the first one in a Rice code.
const riceBits = 2

// signed undoes the numbering 0, −1, 1, −2, 2, …
func signed(n int32) int32 { return n>>1 ^ -(n & 1) }

// window returns the bits of data from a bit on, 57 of them at least and zeros past
// the end, the first of them as the highest.
func window(data []byte, at int) uint64 {
	i := at >> 3
	if i+8 <= len(data) {
		return binary.BigEndian.Uint64(data[i:]) << (at & 7)
	}
	var tail [8]byte
	if i < len(data) {
		copy(tail[:], data[i:])
	}
	return binary.BigEndian.Uint64(tail[:]) << (at & 7)
}
