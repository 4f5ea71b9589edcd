package picture

import "math"

// Constants of SMPTE ST 2084.
const (
	pqM1 = 2610.0 / 16384
	pqM2 = 2523.0 / 4096 * 128
	pqC1 = 3424.0 / 4096
	pqC2 = 2413.0 / 4096 * 32
	pqC3 = 2392.0 / 4096 * 32
)

// Constants of the hybrid log-gamma curve of Rec. ITU-R BT.2100.
const (
	hlgA = 0.17883277
	hlgB = 0.28466892
	hlgC = 0.55991073
)

// Light returns the light that a display shows for a non-linear value v, as a share of
// reference white: 0 is black, 1 is the white of a page or of a standard-range
// picture. High-dynamic-range curves go beyond 1. Values below 0 are read as 0. Values of
// a log curve of unknown shape are returned unchanged.
func (t Transfer) Light(v float64) float64 {
	v = max(v, 0)
	switch t {
	case SRGB:
		// IEC 61966-2-1.
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	case Linear, LogCurve:
		return v
	case PQ:
		// SMPTE ST 2084, in cd/m².
		p := math.Pow(min(v, 1), 1/pqM2)
		return 10000 * math.Pow(max(p-pqC1, 0)/(pqC2-pqC3*p), 1/pqM1) / referenceWhite
	case HLG:
		// Rec. ITU-R BT.2100, for a display of 1000 cd/m². Its system gamma
		// belongs to the luminance; taken channel by channel it is exact for greys
		// and saturates colours a little, which will do for looking at.
		scene := v * v / 3
		if v > 0.5 {
			scene = (math.Exp((v-hlgC)/hlgA) + hlgB) / 12
		}
		return 1000 * math.Pow(scene, 1.2) / referenceWhite
	default:
		// Rec. ITU-R BT.1886 with a perfect black.
		return math.Pow(v, 2.4)
	}
}

// Encode returns the non-linear value of light, a share of reference white: the inverse of
// Light. Light below 0 is read as 0.
func (t Transfer) Encode(light float64) float64 {
	light = max(light, 0)
	switch t {
	case SRGB:
		return encodeSRGB(light)
	case Linear, LogCurve:
		return light
	case PQ:
		y := math.Pow(light*referenceWhite/10000, pqM1)
		return math.Pow((pqC1+pqC2*y)/(1+pqC3*y), pqM2)
	case HLG:
		scene := math.Pow(light*referenceWhite/1000, 1/1.2)
		if scene > 1.0/12 {
			return hlgA*math.Log(12*scene-hlgB) + hlgC
		}
		return math.Sqrt(3 * scene)
	default:
		return math.Pow(light, 1/2.4)
	}
}

// Effective returns the curve as it is read: BT.1886 where the file does not say.
func (t Transfer) Effective() Transfer {
	if t == TransferUnspecified {
		return BT1886
	}
	return t
}

// referenceWhite is the luminance in cd/m² of reference white in high-range
// pictures (Report ITU-R BT.2408).
const referenceWhite = 203

// encodeSRGB returns the non-linear sRGB value of light from 0 to 1 (IEC
// 61966-2-1).
func encodeSRGB(light float64) float64 {
	if light <= 0.0031308 {
		return 12.92 * light
	}
	return 1.055*math.Pow(light, 1/2.4) - 0.055
}
