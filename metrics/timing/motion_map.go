package timing

import (
	"math"

	"nightpair/metrics/picture"
)

// The cells of a motion map, across and down.
const (
	mapColumns = 16
	mapRows    = 9
	mapCells   = mapColumns * mapRows
)

// MotionMap says how much changes in which part of a frame since the frame before, row by row
// from the top: the logarithm of the mean absolute change of luma in each of 16 × 9 cells,
// without that of the whole frame, in sixteenths of an octave above a 16th of an 8-bit code
// value. The logarithm makes gain and contrast an offset, and keeps what flashes from
// outweighing what moves. A map takes 144 bytes, so that those of a long clip are kept.
type MotionMap [mapCells]uint8

const (
	mapFloor = 1.0 / 16 // 8-bit code values
	mapSteps = 16       // per octave
)

// MotionMaps returns the motion maps of consecutive frames; nil for the first and where a
// signature is missing.
func MotionMaps(signatures []*picture.Signature) []*MotionMap {
	list := make([]*MotionMap, len(signatures))
	for t := 1; t < len(signatures); t++ {
		if signatures[t-1] != nil && signatures[t] != nil {
			list[t] = NewMotionMap(signatures[t-1], signatures[t])
		}
	}
	return list
}

// NewMotionMap returns what changes between two signatures. Neighbours in a row are mixed, as
// parallax moves things from one to the next.
func NewMotionMap(before, s *picture.Signature) *MotionMap {
	const across, down = picture.SignatureWidth / mapColumns, picture.SignatureHeight / mapRows
	var light float32
	for j := range s.Luma {
		for i, v := range s.Luma[j] {
			light += v - before.Luma[j][i]
		}
	}
	light /= picture.SignatureWidth * picture.SignatureHeight
	m := &MotionMap{}
	for row := range mapRows {
		var energy [mapColumns]float64
		for j := row * down; j < (row+1)*down; j++ {
			for i, v := range s.Luma[j] {
				energy[i/across] += math.Abs(float64(v - before.Luma[j][i] - light))
			}
		}
		for i := range energy {
			mixed := (energy[max(i-1, 0)] + 2*energy[i] + energy[min(i+1, mapColumns-1)]) / (4 * across * down)
			m[row*mapColumns+i] = uint8(min(mapSteps*math.Log2(1+mixed/mapFloor), 255))
		}
	}
	return m
}

// Oriented returns the map of the frame with o applied.
func (m *MotionMap) Oriented(o picture.Orientation) *MotionMap {
	if o == picture.Upright {
		return m
	}
	oriented := &MotionMap{}
	for k := range m {
		column, row := k%mapColumns, k/mapColumns
		if o == picture.Flop || o == picture.Turn {
			column = mapColumns - 1 - column
		}
		if o == picture.Flip || o == picture.Turn {
			row = mapRows - 1 - row
		}
		oriented[k] = m[row*mapColumns+column]
	}
	return oriented
}
