package picture

// Signal turns the code values of a frame into non-linear red, green and blue
// from 0 to 1.
type Signal struct {
	layout           Layout
	Black, White     float32 // code values of luma, or of each of R, G, B
	neutral, chroma  float32 // code value of no colour, and the codes from −0.5 to +0.5
	crRed, cbBlue    float32
	crGreen, cbGreen float32
}

func (f *Frame) Signal() Signal {
	kr, kg, kb := f.Colour.Luma(f.Height())
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
