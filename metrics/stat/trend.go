package stat

import (
	"math"
	"slices"
)

// TheilSen returns the median of the slopes between all pairs of points (Theil
// 1950, Sen 1968) and its standard error: half the width of Sen's confidence
// interval at one standard deviation. It reports false where no two points
// differ in time. It takes time and memory that grow with the square of the
// number of points.
func TheilSen(time, value []float64) (slope, se float64, ok bool) {
	var slopes []float64
	for i := range time {
		for j := range i {
			if dt := time[i] - time[j]; dt != 0 {
				slopes = append(slopes, (value[i]-value[j])/dt)
			}
		}
	}
	if len(slopes) == 0 {
		return 0, 0, false
	}
	slices.Sort(slopes)
	low, high := senInterval(slopes, value, 1)
	return Quantile(slopes, 0.5), (high - low) / 2, true
}

// senInterval returns the range of the slopes, which are sorted, that holds the
// true one with the confidence of z standard deviations (Sen 1968).
func senInterval(slopes, value []float64, z float64) (low, high float64) {
	n := float64(len(slopes))
	c := z * math.Sqrt(kendallVariance(value))
	i := int(math.Round((n-c)/2)) - 1
	j := int(math.Round((n + c) / 2))
	return slopes[max(i, 0)], slopes[min(j, len(slopes)-1)]
}

// MannKendall tests values in the order of time for a trend: z is the test's
// statistic in standard deviations, positive when they rise, and p the chance
// to see as much without a trend (two-sided, normal approximation; Mann 1945,
// Kendall 1975). Values that follow one another closely are alike without any
// trend, so p alone must never raise an alarm: the size of the trend counts too.
func MannKendall(value []float64) (z, p float64) {
	s := 0.0
	for i := range value {
		for j := range i {
			switch {
			case value[i] > value[j]:
				s++
			case value[i] < value[j]:
				s--
			}
		}
	}
	if s != 0 {
		z = (s - math.Copysign(1, s)) / math.Sqrt(kendallVariance(value))
	}
	return z, math.Erfc(math.Abs(z) / math.Sqrt2)
}

// kendallVariance is the variance of Kendall's sum without a trend, with the
// correction for equal values.
func kendallVariance(value []float64) float64 {
	part := func(n float64) float64 { return n * (n - 1) * (2*n + 5) / 18 }
	variance := part(float64(len(value)))
	sorted := slices.Sorted(slices.Values(value))
	for i := 0; i < len(sorted); {
		j := i
		for j < len(sorted) && sorted[j] == sorted[i] {
			j++
		}
		variance -= part(float64(j - i))
		i = j
	}
	return variance
}
