package light

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// Sample is one place as both eyes show it.
type Sample struct {
	Left, Right [3]float64 // signals of red, green and blue, black 0 and white 1
	placeError  float64    // standard error of a signal by an error of the parallax
	Clipped     bool       // or nearly: an eye is above Brightest there
	Tile        int        // number of the part of the picture that holds it, from 0
	part        int        // number of the large part of the picture, see partsAcross
}

// tilesPerHeight is how many tiles a picture height has: neighbouring places share their
// errors, so standard errors sum over tiles.
const tilesPerHeight = 6

// Samples returns at most so many places, evenly spaced over those that lie on a surface;
// none where there are none.
func (l *Overlap) Samples(limit int) []Sample { return l.samplesAt(l.surfacePlaces(), limit) }

// flatSamples returns at most so many places for fitting, evenly spaced over those that do
// not clip, have a signal of at least half of dark in one channel, and lie where the light
// changes little. The fit itself leaves out what is too dark: selecting here, by the signal
// of one eye, would select what noise makes dark.
func (l *Overlap) flatSamples(dark float64, limit int) []Sample {
	return l.samplesAt(l.flattest(l.surfacePlaces(), float32(dark/2)), limit)
}

// surfacePlaces returns the indices of the places that lie on a surface, see onSurface.
func (l *Overlap) surfacePlaces() (at []int) {
	for y := range l.Height {
		for x := range l.Width {
			if l.onSurface(x, y) {
				at = append(at, y*l.Width+x)
			}
		}
	}
	return at
}

const (
	// flatShare is the share of the places of one level of brightness that is used, the
	// flattest: a blur of one eye spreads light between bright and dark places, which
	// passes for a lifted black where there is much texture.
	flatShare = 0.33
	// flatLevels is the number of levels of brightness; selecting within each keeps the
	// range of light.
	flatLevels = 16
	// flatRanked is how many places of a level are enough to find the quantile.
	flatRanked = 300
)

// flattest returns, in ascending order, the places of each level of brightness around which
// the light changes the least in both eyes.
func (l *Overlap) flattest(at []int, dark float32) (flat []int) {
	type place struct {
		at     int
		change float64
	}
	var levels [flatLevels][]place
	for _, i := range at {
		lit := float32(0)
		for c := range l.Left.Signal {
			lit = max(lit, min(l.Left.Signal[c][i], l.Right.Signal[c][i]))
		}
		if lit < dark || max(l.Left.Peak[i], l.Right.Peak[i]) > Brightest {
			continue
		}
		change := float32(0)
		for _, c := range [2]*Cells{l.Left, l.Right} {
			g := c.Signal[1]
			low, high := g[i], g[i]
			for _, j := range [...]int{i - 1, i + 1, i - l.Width, i + l.Width} {
				low, high = min(low, g[j]), max(high, g[j])
			}
			change = max(change, high-low)
		}
		k := min(int(lit*flatLevels), flatLevels-1)
		levels[k] = append(levels[k], place{i, float64(change)})
	}
	for _, level := range levels {
		limit := math.Inf(1)
		if len(level) > MinSamples {
			changes := make([]float64, min(len(level), flatRanked))
			for k := range changes {
				changes[k] = level[k*len(level)/len(changes)].change
			}
			limit = stat.Quantile(changes, max(flatShare, MinSamples/float64(len(level))))
		}
		for _, p := range level {
			if p.change <= limit {
				flat = append(flat, p.at)
			}
		}
	}
	slices.Sort(flat)
	return flat
}

// samplesAt returns at most so many samples, evenly spaced over the places given.
func (l *Overlap) samplesAt(at []int, limit int) []Sample {
	side := max(1, l.Height/tilesPerHeight)
	across := l.Width/side + 1
	n := min(len(at), limit)
	samples := make([]Sample, 0, n)
	for k := range n {
		i := at[k*len(at)/n]
		s := Sample{
			placeError: float64(l.placeError[i]),
			Clipped:    max(l.Left.Peak[i], l.Right.Peak[i]) > Brightest,
			Tile:       i/l.Width/side*across + i%l.Width/side,
			part:       i/l.Width*partsDown/l.Height*partsAcross + i%l.Width*partsAcross/l.Width,
		}
		for c := range 3 {
			s.Left[c], s.Right[c] = float64(l.Left.Signal[c][i]), float64(l.Right.Signal[c][i])
		}
		samples = append(samples, s)
	}
	return samples
}
