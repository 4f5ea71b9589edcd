package timing

import (
	"slices"

	"nightpair/metrics/picture"
)

// A picture is black when the cells of its signature range over less than blackFlat 8-bit
// code values and all are darker than blackDark, a few steps above the narrow range's
// black.
const (
	blackFlat = 4
	blackDark = 24
)

// blacks finds black frames of an eye where the other eye has a picture. Frame t of the one
// goes with frame t+slip of the other.
func blacks(of, other []*picture.Signature, slip int, right bool) []FrameFault {
	return runs(len(of), right, Black, func(t int) bool {
		o := t + slip
		return o >= 0 && o < len(other) && of[t] != nil && other[o] != nil && isBlack(of[t]) && isPictured(other[o])
	})
}

// isBlack reports whether a frame is black.
func isBlack(s *picture.Signature) bool {
	low, high := lumaRange(s)
	return high < blackDark && high-low < blackFlat
}

// isPictured reports whether a frame certainly has a picture; one of a fade is neither
// black nor pictured.
func isPictured(s *picture.Signature) bool {
	low, high := lumaRange(s)
	return high-low > 4*blackFlat
}

// lumaRange returns the darkest and the brightest cell.
func lumaRange(s *picture.Signature) (low, high float32) {
	low, high = s.Luma[0][0], s.Luma[0][0]
	for j := range s.Luma {
		low, high = min(low, slices.Min(s.Luma[j][:])), max(high, slices.Max(s.Luma[j][:]))
	}
	return low, high
}

// dropRepeatsOfBlack leaves out repeats that overlap black frames of the same eye or adjoin
// them.
func dropRepeatsOfBlack(list []FrameFault) []FrameFault {
	return slices.DeleteFunc(list, func(h FrameFault) bool {
		return h.Kind == Repeated && slices.ContainsFunc(list, func(b FrameFault) bool {
			return b.Kind == Black && b.Right == h.Right && h.Frame <= b.Frame+b.Count && b.Frame <= h.Frame+h.Count
		})
	})
}
