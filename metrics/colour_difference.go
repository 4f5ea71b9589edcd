package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var colourDifference = Metric{
	Name: "colour_difference", Unit: "ΔE00", Decimals: 1,
	Doc:   "Colour difference of what both eyes show of the same places, CIEDE2000, the median over the picture, with all differences of exposure and lift left in. Never negative.",
	Ideal: 0, Swap: SwapKeep, Conditional: true, Revision: 3,
	Measure: func(p *Pair) stat.Measurement {
		l := p.grade()
		if l.spots == nil {
			return stat.Missing(l.reason)
		}
		if len(l.spots) < light.MinSamples {
			return stat.Missing("too few matched places")
		}
		toLight := p.Left.Colour.Transfer.Table()
		left, right := light.LabFrom(p.Left.Colour.Primaries), light.LabFrom(p.Right.Colour.Primaries)
		step := (len(l.spots) + maxDifferences - 1) / maxDifferences
		var differences []float64
		tiles := map[int]bool{}
		for i := 0; i < len(l.spots); i += step {
			s := &l.spots[i]
			a := left(toLight.At(s.Left[0]), toLight.At(s.Left[1]), toLight.At(s.Left[2]))
			b := right(toLight.At(s.Right[0]), toLight.At(s.Right[1]), toLight.At(s.Right[2]))
			differences = append(differences, light.Ciede2000(a, b))
			tiles[s.Tile] = true
		}
		// The rank of the median is known as well as the picture's tiles are many.
		rank := 0.5 / math.Sqrt(float64(len(tiles)))
		low, high := stat.Quantile(differences, 0.5-rank), stat.Quantile(differences, 0.5+rank)
		return stat.Measured(stat.Median(differences), (high-low)/2)
	},
}

// maxDifferences is how many places are enough for a median.
const maxDifferences = 2000
