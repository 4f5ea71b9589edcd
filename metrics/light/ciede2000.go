package light

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// Lab is a colour in CIE 1976 L*a*b* (ISO/CIE 11664-4) against the white D65: lightness
// from 0 to 100, and the red-green and yellow-blue axes.
type Lab struct{ L, A, B float64 }

// LabFrom returns the function that converts linear light of primaries p, 1 being white, to
// L*a*b*. It works out the matrix once.
func LabFrom(p picture.Primaries) func(r, g, b float64) Lab {
	// BT.709 primaries to XYZ (IEC 61966-2-1), each row divided by the white's
	// own, so that white is 1, 1, 1.
	xyz := [3][3]float64{
		{0.4124564, 0.3575761, 0.1804375},
		{0.2126729, 0.7151522, 0.0721750},
		{0.0193339, 0.1191920, 0.9503041},
	}
	for y := range xyz {
		sum := xyz[y][0] + xyz[y][1] + xyz[y][2]
		for x := range xyz[y] {
			xyz[y][x] /= sum
		}
	}
	var m [3][3]float64
	for y := range m {
		for x := range m[y] {
			for k, row := range p.ToBT709() {
				m[y][x] += xyz[y][k] * row[x]
			}
		}
	}
	return func(r, g, b float64) Lab {
		x := cubeRoot(m[0][0]*r + m[0][1]*g + m[0][2]*b)
		y := cubeRoot(m[1][0]*r + m[1][1]*g + m[1][2]*b)
		z := cubeRoot(m[2][0]*r + m[2][1]*g + m[2][2]*b)
		return Lab{116*y - 16, 500 * (x - y), 200 * (y - z)}
	}
}

// cubeRoot is the f of L*a*b*: a cube root, linear near 0.
func cubeRoot(t float64) float64 {
	const d = 6.0 / 29
	if t > d*d*d {
		return math.Cbrt(t)
	}
	return t/(3*d*d) + 4.0/29
}

// Ciede2000 returns the colour difference ΔE00 (ISO/CIE 11664-6) of two colours, never
// negative, with all weights 1. It follows G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000
// color-difference formula: implementation notes, supplementary test data, and
// mathematical observations", Color Research and Application 30(1), 2005. Hues
// are kept in degrees, so that hues exactly opposite count as such.
func Ciede2000(p, q Lab) float64 {
	mean := (math.Hypot(p.A, p.B) + math.Hypot(q.A, q.B)) / 2
	g := 0.5 * (1 - math.Sqrt(seventh(mean)))
	c1, h1 := polar((1+g)*p.A, p.B)
	c2, h2 := polar((1+g)*q.A, q.B)

	dL, dC := q.L-p.L, c2-c1
	dh, h := 0.0, h1+h2
	if c1*c2 != 0 {
		dh, h = h2-h1, (h1+h2)/2
		if math.Abs(h1-h2) > 180 {
			if dh > 180 {
				dh -= 360
			} else {
				dh += 360
			}
			if h1+h2 < 360 {
				h += 180
			} else {
				h -= 180
			}
		}
	}
	dH := 2 * math.Sqrt(c1*c2) * sinDegrees(dh/2)

	l, c := (p.L+q.L)/2, (c1+c2)/2
	t := 1 - 0.17*cosDegrees(h-30) + 0.24*cosDegrees(2*h) + 0.32*cosDegrees(3*h+6) - 0.20*cosDegrees(4*h-63)
	sL := 1 + 0.015*stat.Sq(l-50)/math.Sqrt(20+stat.Sq(l-50))
	sC := 1 + 0.045*c
	sH := 1 + 0.015*c*t
	rT := -sinDegrees(60*math.Exp(-stat.Sq((h-275)/25))) * 2 * math.Sqrt(seventh(c))
	a, b, d := dL/sL, dC/sC, dH/sH
	return math.Sqrt(max(a*a+b*b+d*d+rT*b*d, 0))
}

// seventh returns c⁷/(c⁷ + 25⁷).
func seventh(c float64) float64 {
	c7 := c * stat.Sq(c*stat.Sq(c))
	const k = 25 * 25 * 25 * 25 * 25 * 25 * 25
	return c7 / (c7 + k)
}

// polar returns chroma and hue, the latter from 0 to 360 degrees.
func polar(a, b float64) (c, h float64) {
	h = math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return math.Hypot(a, b), h
}

func sinDegrees(v float64) float64 { return math.Sin(v * math.Pi / 180) }
func cosDegrees(v float64) float64 { return math.Cos(v * math.Pi / 180) }
