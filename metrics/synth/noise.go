package synth

import "math"

// lattice returns smooth noise in −1 to 1 with one random value for each whole
// number of x, y and z, joined by quintic fades: twice differentiable, so that
// a picture of it can be resampled.
func lattice(x, y, z float64, seed uint32) float64 {
	fx, fy, fz := math.Floor(x), math.Floor(y), math.Floor(z)
	x0, y0, z0 := uint32(int64(fx))*73856093, uint32(int64(fy))*19349663, uint32(int64(fz))*83492791
	x1, y1, z1 := x0+73856093, y0+19349663, z0+83492791
	u, v, w := fade(x-fx), fade(y-fy), fade(z-fz)
	z0 ^= seed
	z1 ^= seed
	a := mix(mix(scatter(x0^y0^z0), scatter(x1^y0^z0), u), mix(scatter(x0^y1^z0), scatter(x1^y1^z0), u), v)
	b := mix(mix(scatter(x0^y0^z1), scatter(x1^y0^z1), u), mix(scatter(x0^y1^z1), scatter(x1^y1^z1), u), v)
	return mix(a, b, w)
}

func fade(t float64) float64      { return t * t * t * (t*(t*6-15) + 10) }
func mix(a, b, k float64) float64 { return a + (b-a)*k }

// scatter turns an integer into a number from −1 to 1.
func scatter(h uint32) float64 {
	h ^= h >> 16
	h *= 0x7feb352d
	h ^= h >> 15
	h *= 0x846ca68b
	h ^= h >> 16
	return float64(int32(h)) * (1.0 / (1 << 31))
}

// rough returns noise of many sizes, from features of the given size down to
// those that a footprint of the given width can hold, with about unit standard
// deviation, and its coarse part. Each octave is weaker by persistence.
func rough(p Vec, size, footprint, persistence float64, seed uint32) (all, coarse float64) {
	const octaves = 8
	amplitude := 2.2 * math.Sqrt((1-persistence*persistence)/(1-math.Pow(persistence, 2*octaves)))
	k := 1 / size
	for i := range octaves {
		// Features of fewer than 2 pixels would alias; from 4 on they are safe.
		held := (1/(k*footprint) - 2) / 2
		if held <= 0 {
			break
		}
		// A shift for each octave keeps the lattices from lying on one another.
		o := float64(i)*17.31 + 0.37
		n := amplitude * lattice(p.X*k+o, p.Y*k+1.7*o, p.Z*k+2.3*o, seed+uint32(i)*0x9e3779b9)
		if held < 1 {
			n *= held * held * (3 - 2*held)
		}
		all += n
		if i < 2 {
			coarse += n
		}
		amplitude *= persistence
		k *= 2.03
	}
	return all, coarse
}
