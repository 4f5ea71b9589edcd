package stat

import (
	"math"
	"slices"
)

// Quantile returns the q-quantile of values, 0 ≤ q ≤ 1, interpolated linearly between
// neighbouring order statistics. It sorts values, which makes further quantiles of
// them cheap. There must be at least one value.
func Quantile(values []float64, q float64) float64 {
	slices.Sort(values)
	i, share := rank(len(values), q)
	j := min(i+1, len(values)-1)
	return values[i] + share*(values[j]-values[i])
}

// SelectQuantile returns what Quantile does, without sorting all values: cheaper where
// one quantile is wanted. It reorders values. There must be at least one.
func SelectQuantile(values []float64, q float64) float64 {
	i, share := rank(len(values), q)
	selectAt(values, i)
	if i+1 == len(values) {
		return values[i]
	}
	return values[i] + share*(slices.Min(values[i+1:])-values[i])
}

// rank returns between which of n order statistics the q-quantile lies: i and i+1, and
// which share of the way from the one to the other.
func rank(n int, q float64) (i int, share float64) {
	at := q * float64(n-1)
	return min(int(at), n-1), at - math.Floor(at)
}

// Median returns the median of values, which it reorders. There must be at least one.
func Median(values []float64) float64 {
	middle := len(values) / 2
	selectAt(values, middle)
	if len(values)%2 == 1 {
		return values[middle]
	}
	return (slices.Max(values[:middle]) + values[middle]) / 2
}

// selectAt reorders values so that the one at index k is where sorting would
// put it, with none larger before and none smaller behind it: quickselect (C. A. R.
// Hoare, "Algorithm 65: Find", Communications of the ACM 4(7), 1961; from memory).
func selectAt(values []float64, k int) {
	low, high := 0, len(values)-1
	for low < high {
		// The median of three as pivot keeps sorted values from taking quadratic time.
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
