package history

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// excess returns the variance that values of the given own variances have on top of these: the
// one that brings the median of their squares, in parts of their whole variances, to that of a
// squared normal variable. Values are departures from zero.
func excess(values, variances []float64) float64 {
	if len(values) < minForScatter {
		return 0
	}
	ratio := make([]float64, len(values))
	median := func(more float64) float64 {
		for i, v := range values {
			ratio[i] = v * v / (variances[i] + more)
		}
		return stat.Median(ratio)
	}
	if median(0) <= medianOfSquare {
		return 0
	}
	low, high := 0.0, 0.0
	for _, v := range values {
		high = max(high, v*v/medianOfSquare)
	}
	for range 60 {
		if middle := (low + high) / 2; median(middle) > medianOfSquare {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// medianOfSquare is the median of the square of a normal variable: of χ² with one degree of
// freedom.
const medianOfSquare = 0.4549364

// minForScatter is how many values tell anything of their scatter.
const minForScatter = 4

// commonSlope returns what the level changes by with parallax as all clips together tell it,
// whatever steps there are in it: the weighted median of what each clip tells by itself and of
// what each two clips in a row tell.
func commonSlope(all []observation) float64 {
	type vote struct{ slope, weight float64 }
	var votes []vote
	sum := 0.0
	cast := func(slope, weight float64) {
		if weight > 0 {
			votes = append(votes, vote{slope, weight})
			sum += weight
		}
	}
	for i, o := range all {
		if w := o.w.slope - o.w.both*o.w.both/o.w.level; w > 0 {
			cast(o.slope, math.Sqrt(w))
		}
		if i == 0 {
			continue
		}
		if d := o.parallax - all[i-1].parallax; d != 0 {
			cast((o.level-all[i-1].level)/d, math.Abs(d)/math.Hypot(o.se, all[i-1].se))
		}
	}
	slices.SortFunc(votes, func(a, b vote) int {
		if a.slope < b.slope {
			return -1
		}
		return 1
	})
	for _, v := range votes {
		if sum -= 2 * v.weight; sum <= 0 || v == votes[len(votes)-1] {
			return v.slope
		}
	}
	return 0
}

// secondDifferences returns by how much each value but the first and last departs from the
// middle of its neighbours, as large as its own error would make it, and its variance.
func secondDifferences(values, variances []float64) (d, v []float64) {
	const own = 1.5 // the variance of a departure over that of a value
	for i := 1; i+1 < len(values); i++ {
		d = append(d, (values[i]-(values[i-1]+values[i+1])/2)/math.Sqrt(own))
		v = append(v, (variances[i]+(variances[i-1]+variances[i+1])/4)/own)
	}
	return d, v
}

// Clips beside a clip that tell whether it is odd, and by how many standard deviations it is
// then off. The middle of five outvotes two. The project's own choice.
const (
	beside    = 5
	minBeside = 3
	oddClip   = 5
)

// odd reports of each value whether it agrees with neither those before nor those after. At the
// ends, where one side is missing, it must depart from the line through the others.
func odd(values, sigmas []float64) []bool {
	is := make([]bool, len(values))
	for i, v := range values {
		before, after := values[max(0, i-beside):i], values[i+1:min(len(values), i+1+beside)]
		switch {
		case len(before) >= minBeside && len(after) >= minBeside:
			b := v - stat.Median(slices.Clone(before))
			a := v - stat.Median(slices.Clone(after))
			is[i] = a*b > 0 && min(math.Abs(a), math.Abs(b)) > oddClip*sigmas[i]
		case len(after) >= beside:
			is[i] = math.Abs(v-extrapolated(after, -1)) > 2*oddClip*sigmas[i]
		case len(before) >= beside:
			is[i] = math.Abs(v-extrapolated(before, len(before))) > 2*oddClip*sigmas[i]
		}
	}
	return is
}

// extrapolated returns what a robust line through values makes of the place at.
func extrapolated(values []float64, at int) float64 {
	places := make([]float64, len(values))
	for i := range places {
		places[i] = float64(i)
	}
	slope, _, _ := stat.TheilSen(places, values)
	rest := make([]float64, len(values))
	for i, v := range values {
		rest[i] = v - slope*(float64(i)-float64(at))
	}
	return stat.Median(rest)
}
