package stat

import (
	"math"
	"slices"
)

// Quantile returns the q-quantile of values, 0 ≤ q ≤ 1, interpolated between
// the neighbouring order statistics. It sorts values; there must be one at least.
func Quantile(values []float64, q float64) float64 {
	slices.Sort(values)
	at := q * float64(len(values)-1)
	i := min(int(at), len(values)-1)
	j := min(i+1, len(values)-1)
	return values[i] + (at-math.Floor(at))*(values[j]-values[i])
}

// Selected returns the same quantile without sorting values, which it reorders.
func Selected(values []float64, q float64) float64 {
	at := q * float64(len(values)-1)
	i := min(int(at), len(values)-1)
	selectAt(values, i)
	if i+1 == len(values) {
		return values[i]
	}
	return values[i] + (at-math.Floor(at))*(slices.Min(values[i+1:])-values[i])
}

// Median returns the median of values, which it reorders; there must be one at
// least.
func Median(values []float64) float64 {
	middle := len(values) / 2
	selectAt(values, middle)
	if len(values)%2 == 1 {
		return values[middle]
	}
	return (slices.Max(values[:middle]) + values[middle]) / 2
}

// selectAt reorders values so that the one at index k is where sorting would
// put it, with none larger before and none smaller behind (C. A. R. Hoare,
// "Find", Communications of the ACM 4(7), 1961; from memory).
func selectAt(values []float64, k int) {
	low, high := 0, len(values)-1
	for low < high {
		// The median of three as a pivot keeps ordered values from costing a square.
		a, b, c := values[low], values[(low+high)/2], values[high]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := low, high
		for i <= j {
			for values[i] < pivot {
				i++
			}
			for values[j] > pivot {
				j--
			}
			if i <= j {
				values[i], values[j] = values[j], values[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return
		}
	}
}
