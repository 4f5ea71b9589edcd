package metrics

import "math"

var colourDifference = Metric{
	Name: "colour_difference", Unit: "ΔE00", Decimals: 1,
	Doc:   "Colour difference of what both eyes show of the same places, CIEDE2000, the median over the picture, with all differences of exposure and lift left in. Never negative.",
	Ideal: 0, Swap: SwapKeep, Conditional: true, Revision: 3,
	Measure: func(p *Pair) Measurement {
		l := p.grade()
		if l.spots == nil {
			return Missing(l.reason)
		}
		if len(l.spots) < balanceLeast {
			return Missing("too few matched places")
		}
		toLight := p.Left.Colour.Transfer.table()
		left, right := labFrom(p.Left.Colour.Primaries), labFrom(p.Right.Colour.Primaries)
		step := (len(l.spots) + differenceMost - 1) / differenceMost
		var differences []float64
		tiles := map[int]bool{}
		for i := 0; i < len(l.spots); i += step {
			s := &l.spots[i]
			a := left(toLight.at(s.left[0]), toLight.at(s.left[1]), toLight.at(s.left[2]))
			b := right(toLight.at(s.right[0]), toLight.at(s.right[1]), toLight.at(s.right[2]))
			differences = append(differences, ciede2000(a, b))
			tiles[s.tile] = true
		}
		// The rank of the median is known as well as the picture's tiles are many.
		rank := 0.5 / math.Sqrt(float64(len(tiles)))
		low, high := quantile(differences, 0.5-rank), quantile(differences, 0.5+rank)
		return Measured(median(differences), (high-low)/2)
	},
}

// differenceMost is how many places are enough for a median.
const differenceMost = 2000
