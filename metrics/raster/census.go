package raster

import "math/bits"

// Census holds for each pixel of a raster which of its 48 neighbours in a 7×7 window are
// darker than itself, a bit each: the census transform. The codes do not change under any
// rising curve of brightness. Those of pixels without a whole window are 0.
type Census struct {
	Width, Height int
	Codes         []uint64
}

const (
	// CensusRadius is half the window of a code, in pixels.
	CensusRadius = 3
	// Places are compared by the codes of nine pixels, blockStep apart, which together
	// see 11×11 pixels. BlockReach is how far from the centre that is.
	blockStep  = 2
	BlockReach = blockStep + CensusRadius
	// BlockBits is how many bits a Block has, and BlockRandom by how many those of two
	// unrelated places differ in the mean.
	BlockBits   = 9 * 48
	BlockRandom = BlockBits / 2
)

// NewCensus returns the census transform of r.
func NewCensus(r *Raster) *Census {
	c := &Census{Width: r.Width, Height: r.Height, Codes: make([]uint64, r.Width*r.Height)}
	w := r.Width
	if w <= 2*CensusRadius {
		return c // too narrow for a window
	}
	for y := CensusRadius; y < r.Height-CensusRadius; y++ {
		out := c.Codes[y*w:][:w]
		centre := r.Row(y)
		for dy := -CensusRadius; dy <= CensusRadius; dy++ {
			other := r.Row(y + dy)
			for dx := -CensusRadius; dx <= CensusRadius; dx++ {
				if dx == 0 && dy == 0 {
					continue
				}
				mid := centre[CensusRadius : w-CensusRadius]
				near := other[CensusRadius+dx:][:len(mid)]
				dst := out[CensusRadius:][:len(mid)]
				for x, v := range mid {
					var bit uint64
					if near[x] < v {
						bit = 1
					}
					dst[x] = dst[x]<<1 | bit
				}
			}
		}
	}
	return c
}

// Inside reports whether a block around the place lies in the picture.
func (c *Census) Inside(x, y int) bool {
	return x >= BlockReach && y >= BlockReach && x < c.Width-BlockReach && y < c.Height-BlockReach
}

// Block describes a place by the codes of nine pixels.
type Block [9]uint64

// Block returns the block around a place that is Inside.
func (c *Census) Block(x, y int) (b Block) {
	i := 0
	for dy := -blockStep; dy <= blockStep; dy += blockStep {
		row := c.Codes[(y+dy)*c.Width:]
		for dx := -blockStep; dx <= blockStep; dx += blockStep {
			b[i] = row[x+dx]
			i++
		}
	}
	return b
}

// Distances writes to dst the Hamming distances of b to the places of row y from column x on:
// 0 to BlockBits differing bits. All these places must be Inside.
func (c *Census) Distances(dst []uint16, b *Block, x, y int) {
	n := len(dst)
	up := c.Codes[(y-blockStep)*c.Width+x-blockStep:][:n+2*blockStep]
	mid := c.Codes[y*c.Width+x-blockStep:][:n+2*blockStep]
	down := c.Codes[(y+blockStep)*c.Width+x-blockStep:][:n+2*blockStep]
	for i := range dst {
		u, m, d := up[i:i+5:i+5], mid[i:i+5:i+5], down[i:i+5:i+5]
		dst[i] = uint16(bits.OnesCount64(b[0]^u[0]) + bits.OnesCount64(b[1]^u[2]) + bits.OnesCount64(b[2]^u[4]) +
			bits.OnesCount64(b[3]^m[0]) + bits.OnesCount64(b[4]^m[2]) + bits.OnesCount64(b[5]^m[4]) +
			bits.OnesCount64(b[6]^d[0]) + bits.OnesCount64(b[7]^d[2]) + bits.OnesCount64(b[8]^d[4]))
	}
}

// CensusGrid returns census codes, of windows of the given radius up to 3, for a grid of
// places: so many columns, step pixels apart, and so many rows, two apart. The raster is
// padded by radius: the first place is at (radius, radius).
func (r *Raster) CensusGrid(radius, step, columns, rows int) []uint64 {
	codes := make([]uint64, columns*rows)
	for y := range rows {
		at := 2*y + radius
		out := codes[y*columns:][:columns]
		mid := r.Row(at)[radius:]
		for dy := -radius; dy <= radius; dy++ {
			for dx := range 2*radius + 1 {
				if dy == 0 && dx == radius {
					continue
				}
				near := r.Row(at + dy)[dx:]
				for i := range out {
					var bit uint64
					if near[i*step] < mid[i*step] {
						bit = 1
					}
					out[i] = out[i]<<1 | bit
				}
			}
		}
	}
	return codes
}
