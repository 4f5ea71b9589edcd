package raster

import "math/bits"

// Census holds, for each pixel of a raster, which of its 48 neighbours in a 7×7
// window are darker than itself (R. Zabih, J. Woodfill, "Non-parametric local
// transforms for computing visual correspondence", ECCV 1994; from memory). It
// does not change under any rising curve of brightness, so the eyes may differ
// in exposure, gamma and lift.
type Census struct {
	Width, Height int
	Codes         []uint64
}

const (
	CensusRadius = 3
	// A place is compared by the codes of nine pixels, two apart, which together
	// look at 11×11 pixels.
	blockStep   = 2
	BlockReach  = blockStep + CensusRadius
	BlockBits   = 9 * 48
	BlockRandom = BlockBits / 2 // the distance of two places that have nothing in common
)

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

// block is the look of a place: the codes of its nine pixels.
type Block [9]uint64

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

// Distances writes to dst how much b differs from the places of row y that
// start at column x: the number of differing bits out of BlockBits.
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

// Codes returns census codes of a padded raster for a grid of places, every
// step across and every other one down.
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
