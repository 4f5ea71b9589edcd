package picture

// Luma returns the coefficients of red, green and blue in luma (Rec. ITU-R
// BT.709-6, BT.2020-2, BT.601) for a picture of the given number of lines.
func (c Colour) Luma(lines int) (kr, kg, kb float64) {
	switch c.matrix(lines) {
	case BT601:
		return 0.299, 0.587, 0.114
	case BT2020:
		return 0.2627, 0.6780, 0.0593
	default:
		return 0.2126, 0.7152, 0.0722
	}
}

// matrix returns the matrix that holds, also where the file does not say.
func (c Colour) matrix(lines int) Matrix {
	switch {
	case c.Matrix != MatrixUnspecified:
		return c.Matrix
	case lines >= 720:
		return BT709
	default:
		return BT601
	}
}
