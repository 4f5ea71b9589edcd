package decode

import (
	"strings"

	"github.com/asticode/go-astiav"

	"nightpair/metrics/picture"
)

// Code points of ITU-T H.273, as FFmpeg and most files use them.
const (
	rangeNarrow = 1 // FFmpeg's own numbering
	rangeFull   = 2

	primariesBT709  = 1
	primariesBT2020 = 9
	primariesP3DCI  = 11
	primariesP3D65  = 12

	transferBT709     = 1
	transferGamma22   = 4
	transferGamma28   = 5
	transferSMPTE170M = 6
	transferLinear    = 8
	transferLog       = 9
	transferLogRoot   = 10
	transferSRGB      = 13
	transferBT2020x10 = 14
	transferBT2020x12 = 15
	transferPQ        = 16
	transferHLG       = 18

	matrixBT709      = 1
	unspecified      = 2
	matrixBT470BG    = 5
	matrixSMPTE170M  = 6
	matrixBT2020     = 9
	matrixBT2020Fine = 10
)

// colour gives the tags of a picture in the terms of metrics. What metrics has
// no name for stays unspecified; the words of colourLabel keep it.
func (p pixelLayout) colour() picture.Colour {
	var c picture.Colour
	switch p.rang {
	case rangeNarrow:
		c.Range = picture.NarrowRange
	case rangeFull:
		c.Range = picture.FullRange
	}
	if p.fullFormat {
		c.Range = picture.FullRange
	}
	switch p.matrix {
	case matrixBT709:
		c.Matrix = picture.BT709
	case matrixBT470BG, matrixSMPTE170M:
		c.Matrix = picture.BT601
	case matrixBT2020, matrixBT2020Fine:
		c.Matrix = picture.BT2020
	}
	switch p.transferCode {
	case transferBT709, transferGamma22, transferGamma28, transferSMPTE170M, transferBT2020x10, transferBT2020x12:
		c.Transfer = picture.BT1886
	case transferSRGB:
		c.Transfer = picture.SRGB
	case transferLinear:
		c.Transfer = picture.Linear
	case transferPQ:
		c.Transfer = picture.PQ
	case transferHLG:
		c.Transfer = picture.HLG
	case transferLog, transferLogRoot:
		c.Transfer = picture.LogCurve
	}
	switch p.primaries {
	case primariesBT709:
		c.Primaries = picture.PrimariesBT709
	case primariesBT2020:
		c.Primaries = picture.PrimariesBT2020
	case primariesP3DCI, primariesP3D65:
		c.Primaries = picture.PrimariesP3
	}
	return c
}

// colourTags are the four code points that describe colour.
type colourTags struct{ rang, matrix, primaries, transfer int }

func containerColour(params *astiav.CodecParameters) colourTags {
	return colourTags{
		rang: int(params.ColorRange()), matrix: int(params.ColorSpace()),
		primaries: int(params.ColorPrimaries()), transfer: int(params.ColorTransferCharacteristic()),
	}
}

// tagged fills in from the container what the picture itself leaves open.
// Matrix 0 means RGB, and on any other picture nothing.
func (p pixelLayout) tagged(c colourTags) pixelLayout {
	if p.rang == 0 {
		p.rang = c.rang
	}
	if p.matrix == unspecified || p.matrix == 0 && !p.rgb {
		p.matrix = c.matrix
	}
	if p.matrix == 0 && !p.rgb {
		p.matrix = unspecified
	}
	if p.primaries == unspecified || p.primaries == 0 {
		p.primaries = c.primaries
	}
	if p.transferCode == unspecified || p.transferCode == 0 {
		p.transferCode = c.transfer
	}
	return p
}

// colourLabel names every tag that is set, in FFmpeg's short names.
func (p pixelLayout) colourLabel() string {
	var words []string
	switch {
	case p.rang == rangeFull || p.fullFormat:
		words = append(words, "full range")
	case p.rang == rangeNarrow:
		words = append(words, "narrow range")
	}
	if p.matrix != unspecified && !p.rgb {
		words = append(words, "matrix "+matrixName(p.matrix))
	}
	if p.primaries != unspecified && p.primaries != 0 {
		words = append(words, "primaries "+primariesName(p.primaries))
	}
	if p.transferCode != unspecified && p.transferCode != 0 {
		words = append(words, "transfer "+transferName(p.transferCode))
	}
	return strings.Join(words, ", ")
}
