package picture

// Signal turns the code values of a frame into signals: non-linear red, green and blue,
// 0 at black and 1 at white. Values outside are kept.
type Signal struct {
	layout           Layout
	Black, White     float32 // code values of luma, or of each of R, G, B
	neutral, chroma  float32 // code value of no colour, and how many codes chroma ranges over
	crRed, cbBlue    float32 // how much of Cr is in red, and of Cb in blue
	crGreen, cbGreen float32 // how much of Cr and of Cb is taken from green
}

// Signal returns what turns the frame's code values into signals, by its layout, depth,
// range and matrix.
func (f *Frame) Signal() Signal {
	kr, kg, kb := f.Colour.LumaWeights(f.Height())
	s := Signal{
		layout:  f.Layout,
		crRed:   float32(2 * (1 - kr)),
		cbBlue:  float32(2 * (1 - kb)),
		crGreen: float32(2 * (1 - kr) * kr / kg),
		cbGreen: float32(2 * (1 - kb) * kb / kg),
		neutral: float32(int(1) << (f.Depth - 1)),
	}
	narrow := f.Colour.Range == NarrowRange || f.Colour.Range == RangeUnspecified && f.Layout == YCbCr
	if narrow {
		unit := float32(int(1) << (f.Depth - 8))
		s.Black, s.White, s.chroma = 16*unit, 235*unit, 224*unit
	} else {
		s.White = float32(int(1)<<f.Depth - 1)
		s.chroma = s.White
	}
	return s
}

// RGB returns the signals of one pixel by the code values of the planes: Y, Cb, Cr, or R,
// G, B, or grey in the first of them. Depth applies: codes are not scaled to 8 bits.
func (s Signal) RGB(code [3]float32) (r, g, b float32) {
	unit := func(v float32) float32 { return (v - s.Black) / (s.White - s.Black) }
	switch s.layout {
	case RGB:
		return unit(code[0]), unit(code[1]), unit(code[2])
	case YCbCr:
		y := unit(code[0])
		cb := (code[1] - s.neutral) / s.chroma
		cr := (code[2] - s.neutral) / s.chroma
		return y + s.crRed*cr, y - s.cbGreen*cb - s.crGreen*cr, y + s.cbBlue*cb
	default:
		y := unit(code[0])
		return y, y, y
	}
}
