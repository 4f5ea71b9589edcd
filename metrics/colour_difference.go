package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var colourDifference = Metric{
	Name: "colour_difference", Unit: "ΔE00", Decimals: 1,
	Doc:   "Colour difference between the eyes, CIEDE2000: the median over places that both show, including differences of exposure and black. Never negative.",
	Ideal: 0, Swap: SwapKeep, Conditional: true, Revision: colourDifferenceRevision,
	Measure: func(p *Pair) Measurement {
		grading := p.grade()
		if grading.samples == nil {
			return stat.Missing(grading.reason)
		}
		samples := grading.samples
		if len(samples) < light.MinSamples {
			return stat.Missing("too few matched places")
		}
		toLight := p.Left.Colour.Transfer.LightTable()
		left, right := light.LabFrom(p.Left.Colour.Primaries), light.LabFrom(p.Right.Colour.Primaries)
		step := (len(samples) + maxDifferences - 1) / maxDifferences
		var differences []float64
		tiles := map[int]bool{}
		for i := 0; i < len(samples); i += step {
			s := &samples[i]
			a := left(toLight.At(s.Left[0]), toLight.At(s.Left[1]), toLight.At(s.Left[2]))
			b := right(toLight.At(s.Right[0]), toLight.At(s.Right[1]), toLight.At(s.Right[2]))
			differences = append(differences, light.Ciede2000(a, b))
			tiles[s.Tile] = true
		}
		// The standard error of the median's rank, tiles of the picture being independent.
		rank := 0.5 / math.Sqrt(float64(len(tiles)))
		low, high := stat.Quantile(differences, 0.5-rank), stat.Quantile(differences, 0.5+rank)
		return stat.Measured(stat.Median(differences), (high-low)/2)
	},
}

// maxDifferences is how many places are enough for the median.
const maxDifferences = 2000
