package synth

import "math"

// lattice returns smooth noise in −1 to 1 with one random value for each whole
// number of x, y and z, joined by quintic fades: twice differentiable, so that
// a picture of it can be resampled.
func lattice(x, y, z float64, seed uint32) float64 {
	// Far enough from 0, truncating is rounding down.
	const far = 1 << 30
	ix, iy, iz := int64(x+far), int64(y+far), int64(z+far)
	u, v, w := fade(x-float64(ix-far)), fade(y-float64(iy-far)), fade(z-float64(iz-far))
	x0, y0, z0 := uint32(ix)*73856093, uint32(iy)*19349663, uint32(iz)*83492791^seed
	x1, y1, z1 := x0+73856093, y0+19349663, uint32(iz+1)*83492791^seed
	a := mix(mix(scatter(x0^y0^z0), scatter(x1^y0^z0), u), mix(scatter(x0^y1^z0), scatter(x1^y1^z0), u), v)
	b := mix(mix(scatter(x0^y0^z1), scatter(x1^y0^z1), u), mix(scatter(x0^y1^z1), scatter(x1^y1^z1), u), v)
	return mix(a, b, w)
}

// sheet is lattice on a plane, at less than half the cost.
func sheet(x, y float64, seed uint32) float64 {
	const far = 1 << 30
	ix, iy := int64(x+far), int64(y+far)
	u, v := fade(x-float64(ix-far)), fade(y-float64(iy-far))
	x0, y0 := uint32(ix)*73856093, uint32(iy)*19349663^seed
	x1, y1 := x0+73856093, uint32(iy+1)*19349663^seed
	return mix(mix(scatter(x0^y0), scatter(x1^y0), u), mix(scatter(x0^y1), scatter(x1^y1), u), v)
}

func fade(t float64) float64      { return t * t * t * (t*(t*6-15) + 10) }
func mix(a, b, k float64) float64 { return a + (b-a)*k }

// scatter turns an integer into a number from −1 to 1.
func scatter(h uint32) float64 {
	h *= 0x7feb352d
	h ^= h >> 15
	h *= 0x846ca68b
	h ^= h >> 16
	return float64(int32(h)) * (1.0 / (1 << 31))
}

// octaves is how many sizes of features noise has at most.
const octaves = 8

// strength returns the amplitude of the coarsest octave that gives noise of
// about unit standard deviation when each finer one is weaker by persistence.
func strength(persistence float64) float64 {
	q := persistence * persistence
	sum, term := 0.0, 1.0
	for range octaves {
		sum += term
		term *= q
	}
	return 2.2 / math.Sqrt(sum)
}

// rough returns noise of many sizes, from features of the given size down to
// those that a footprint of the given width can hold, and its coarse part, each
// octave weaker by persistence. It is the mean over a strip along which the
// pixel sees the surface at a slant, one pixel being as long as strip, and its
// width the footprint's. flat says that Z does not matter.
func rough(p Vec, flat bool, size, footprint float64, strip Vec, amplitude, persistence float64, seed uint32) (all, coarse float64) {
	k := 1 / size
	length := strip.norm()
	for i := range octaves {
		// Features of fewer than 2 pixels would alias; from 4 on they are safe.
		held := (1/(k*footprint) - 2) / 2
		if held <= 0 {
			break
		}
		// A shift for each octave keeps the lattices from lying on one another.
		o := float64(i)*17.31 + 0.37
		salt := seed + uint32(i)*0x9e3779b9
		// Features much longer than the strip need but one place in it.
		n := 0.0
		places := min(1+int(4*length*k), 16)
		for j := range places {
			at := p
			if places > 1 {
				at = p.along(strip, aperture((float64(j)+0.5)/float64(places)))
			}
			if flat {
				n += sheet(at.X*k+o, at.Y*k+1.7*o, salt)
			} else {
				n += lattice(at.X*k+o, at.Y*k+1.7*o, at.Z*k+2.3*o, salt)
			}
		}
		n *= amplitude / float64(places)
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
