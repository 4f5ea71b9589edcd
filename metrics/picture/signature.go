package picture

// Signature is a frame reduced to what changes over time: the mean luma of the cells of a
// coarse grid, in 8-bit code values, row by row from the top. Signatures are cheap enough
// to be made of every frame of a clip.
type Signature struct {
	Luma [SignatureHeight][SignatureWidth]float32
}

// The cells of a signature, across and down.
const (
	SignatureWidth  = 64
	SignatureHeight = 36
)

// Signature returns the signature of the frame's reduced picture.
func (f *Frame) Signature() *Signature { return Reduce(f).Signature() }

// Signature returns the picture's signature. Its cells part the whole of the picture evenly:
// a pixel on the border of cells counts for each by the share that lies in it. A picture
// smaller than the grid is enlarged to it.
func (r *Reduced) Signature() *Signature {
	p := r.Frame.Planes[0]
	columns, rows := shares(p.Width, SignatureWidth), shares(p.Height, SignatureHeight)
	scale := 1 / float32(int(1)<<(r.Frame.Depth-8))
	s := &Signature{}
	var across [SignatureWidth]float32
	for y := range p.Height {
		clear(across[:])
		row := p.Row(y)
		for _, c := range columns {
			across[c.cell] += c.weight * float32(row[c.sample])
		}
		for ; len(rows) > 0 && rows[0].sample == y; rows = rows[1:] {
			weight := rows[0].weight * scale
			cell := &s.Luma[rows[0].cell]
			for i, v := range across {
				cell[i] += weight * v
			}
		}
	}
	return s
}

// share is what a sample of a row or column gives to a cell: the length of it that lies
// there over the length of the cell.
type share struct {
	sample, cell int
	weight       float32
}

// shares returns the shares of n samples in cells that part them evenly, in the samples'
// order.
func shares(n, cells int) (list []share) {
	// In units of 1/cells of a sample a cell is n long and every border is a whole number.
	for i := range n {
		for c := i * cells / n; c < cells && c*n < (i+1)*cells; c++ {
			within := min((i+1)*cells, (c+1)*n) - max(i*cells, c*n)
			list = append(list, share{i, c, float32(within) / float32(n)})
		}
	}
	return list
}

// Oriented returns the signature of the frame with o applied; nil of none.
func (s *Signature) Oriented(o Orientation) *Signature {
	if o == Upright || s == nil {
		return s
	}
	oriented := &Signature{}
	for j := range s.Luma {
		from := j
		if o == Flip || o == Turn {
			from = SignatureHeight - 1 - j
		}
		for i := range s.Luma[j] {
			at := i
			if o == Flop || o == Turn {
				at = SignatureWidth - 1 - i
			}
			oriented.Luma[j][i] = s.Luma[from][at]
		}
	}
	return oriented
}
