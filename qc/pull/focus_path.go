package pull

import (
	"math"

	"nightpair/metrics/depth"
)

// focusPath is where the focus is at each of some frames, told from how sharp
// everything is throughout them. What stands at depth d, as parallax less that of
// the convergence, is sharp by
//
//	S(d, t) = S₀ + T(d) / √(1 + (d − f(t))²/w²)
//
// with S₀ what everything seems to have, T what its texture allows, f where the focus is and w how deep it reaches:
// the blur of a lens grows in proportion to the distance in parallax (similar
// triangles), and adds to the smallest blur by squares. Since the scene rests, T is
// the same at all times, so that texture does not pass for focus.
type focusPath struct {
	at    []float64 // f of each frame, % of picture width
	reach float64   // w
	rest  float64   // scatter of ln S about the model
}

const (
	// pathBin is how finely depth is told apart, in % of the picture width.
	pathBin = 0.1
	// minDepths is the smallest number of depths that have to be seen at most frames.
	minDepths = 6
	// pathRounds is how often texture, focus and reach are put right in turn.
	pathRounds = 30
	// pathFloor is the sharpness that even what is wholly blurred seems to have: between
	// a twelfth, as a ramp across the places of the map that sharpness looks at shows,
	// and a third, which noise makes of the smallest contrast that is believed. What is no
	// sharper than pathFaint says nothing.
	pathFloor = 0.2
	pathFaint = 0.3
	// pathOff is the misfit of ln S beyond which a depth is wrong rather than
	// uncertain.
	pathOff = 0.4
)

// findFocusPath fits the model to the bands of frames whose convergence is known;
// false where too few depths tell.
func findFocusPath(bands [][]depth.FocusBand, converge []float64) (focusPath, bool) {
	low, high := math.Inf(1), math.Inf(-1)
	for t, list := range bands {
		for _, b := range list {
			low, high = min(low, b.Parallax-converge[t]), max(high, b.Parallax-converge[t])
		}
	}
	n := int((high - low) / pathBin)
	if n < minDepths || math.IsInf(low, 0) {
		return focusPath{}, false
	}
	// ln(S − S₀) by depth and frame, NaN where it is not told.
	seen := make([][]float64, n)
	for k := range seen {
		seen[k] = make([]float64, len(bands))
		for t, list := range bands {
			seen[k][t] = math.NaN()
			d := low + (float64(k)+0.5)*pathBin + converge[t]
			for i := 1; i < len(list); i++ {
				a, b := list[i-1], list[i]
				if a.Parallax <= d && d < b.Parallax && b.Parallax-a.Parallax < 2.5*pathBin {
					s := a.Sharpness + (d-a.Parallax)/(b.Parallax-a.Parallax)*(b.Sharpness-a.Sharpness)
					if s > pathFaint {
						seen[k][t] = math.Log(s - pathFloor)
					}
				}
			}
		}
	}
	depth := func(k int) float64 { return low + (float64(k)+0.5)*pathBin }
	p := focusPath{at: make([]float64, len(bands)), reach: 3 * pathBin}
	texture := make([]float64, n)
	// At first all textures count as equal.
	for round := range pathRounds {
		for t := range p.at {
			p.at[t] = p.place(t, seen, texture, depth, low, high)
		}
		for k := range texture {
			var sum, count float64
			for t := range p.at {
				if v := seen[k][t]; v == v {
					sum += v + p.fall(depth(k)-p.at[t])
					count++
				}
			}
			if count > 0 {
				texture[k] = sum / count
			}
		}
		if round%3 == 2 {
			p.widen(seen, texture, depth)
		}
	}
	p.rest = math.Sqrt(p.misfit(seen, texture, depth))
	return p, true
}

// fall is −ln of how much sharpness is lost so far from the focus.
func (p *focusPath) fall(d float64) float64 { return 0.5 * math.Log1p(d*d/(p.reach*p.reach)) }

// place returns where the focus of one frame fits best.
func (p *focusPath) place(t int, seen [][]float64, texture []float64, depth func(int) float64, low, high float64) float64 {
	cost := func(f float64) float64 {
		var sum float64
		for k := range seen {
			if v := seen[k][t]; v == v {
				e := v - texture[k] + p.fall(depth(k)-f)
				sum += math.Min(e*e, pathOff*pathOff)
			}
		}
		return sum
	}
	best, at := math.Inf(1), low
	for f := low; f <= high; f += pathBin / 2 {
		if c := cost(f); c < best {
			best, at = c, f
		}
	}
	for step := pathBin / 4; step > pathBin/200; step /= 2 {
		for _, f := range []float64{at - step, at + step} {
			if c := cost(f); c < best {
				best, at = c, f
			}
		}
	}
	return at
}

// widen puts the reach right.
func (p *focusPath) widen(seen [][]float64, texture []float64, depth func(int) float64) {
	best, reach := math.Inf(1), p.reach
	for _, k := range []float64{0.8, 0.9, 1, 1.1, 1.25} {
		q := *p
		q.reach = p.reach * k
		if m := q.misfit(seen, texture, depth); m < best {
			best, reach = m, q.reach
		}
	}
	p.reach = reach
}

// misfit returns the mean square of what the model does not explain.
func (p *focusPath) misfit(seen [][]float64, texture []float64, depth func(int) float64) float64 {
	var sum, count float64
	for k := range seen {
		for t := range p.at {
			if v := seen[k][t]; v == v {
				e := v - texture[k] + p.fall(depth(k)-p.at[t])
				sum += math.Min(e*e, pathOff*pathOff)
				count++
			}
		}
	}
	if count == 0 {
		return math.Inf(1)
	}
	return sum / count
}
