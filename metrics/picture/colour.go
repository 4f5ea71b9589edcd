package picture

// Colour says how code values become light. The zero value means that the
// file does not say.
type Colour struct {
	Range     Range
	Matrix    Matrix
	Transfer  Transfer
	Primaries Primaries
}

// Range says which code values stand for black and white. Unspecified is read
// as narrow for YCbCr and as full for RGB and grey stills.
type Range uint8

const (
	RangeUnspecified Range = iota
	NarrowRange            // 16 to 235 of 255 for luma, 16 to 240 for chroma (Rec. ITU-R BT.709)
	FullRange              // 0 to 2^Depth − 1
)

// Matrix names the luma coefficients. Unspecified is read as BT.709 from 720
// lines on and as BT.601 below (common practice).
type Matrix uint8

const (
	MatrixUnspecified Matrix = iota
	BT601
	BT709
	BT2020
)

// Transfer names the curve from code values to light. Unspecified is read as
// BT.1886, the display curve of BT.709 and BT.2020 material.
type Transfer uint8

const (
	TransferUnspecified Transfer = iota
	BT1886
	SRGB
	Linear
	PQ
	HLG
	LogCurve // a camera's log curve of unknown shape: kept as code values
)

// Primaries names the colours of red, green and blue. Unspecified is read as
// BT.709.
type Primaries uint8

const (
	PrimariesUnspecified Primaries = iota
	PrimariesBT709
	PrimariesBT2020
	PrimariesP3
)

// LumaWeights returns the coefficients of red, green and blue in luma, which sum to 1 (Rec. ITU-R
// BT.601, BT.709-6, BT.2020-2), for a picture of the given number of lines.
func (c Colour) LumaWeights(lines int) (kr, kg, kb float64) {
	switch c.matrix(lines) {
	case BT601:
		return 0.299, 0.587, 0.114
	case BT2020:
		return 0.2627, 0.6780, 0.0593
	default:
		return 0.2126, 0.7152, 0.0722
	}
}

// matrix returns the matrix of a picture of so many lines, whether or not the file says.
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

// ToBT709 returns the matrix that takes linear light in primaries p to linear
// light in the primaries of BT.709, row by row.
func (p Primaries) ToBT709() [3][3]float64 {
	switch p {
	case PrimariesBT2020:
		// Rec. ITU-R BT.2407, by way of the chromaticities of BT.2020 and BT.709.
		return [3][3]float64{
			{1.660491, -0.587641, -0.072850},
			{-0.124550, 1.132900, -0.008349},
			{-0.018151, -0.100579, 1.118730},
		}
	case PrimariesP3:
		// From the chromaticities of SMPTE EG 432-1 with the white point D65.
		return [3][3]float64{
			{1.224940, -0.224940, 0},
			{-0.042057, 1.042057, 0},
			{-0.019638, -0.078636, 1.098274},
		}
	default:
		return [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	}
}
