package stat

import "math"

// Sorted returns values in ascending order as float64. There must be no NaN among
// them. It is a radix sort by three groups of their bits, which takes a third of the
// time of sorting by comparison for as many values as a dense map of parallax has.
func Sorted(values []float32) []float64 {
	const bits, parts = 11, 3 // 33 bits, of which 32 are needed
	keys, other := make([]uint32, len(values)), make([]uint32, len(values))
	var counts [parts][1 << bits]int32
	for i, v := range values {
		// Floats are ordered as their bits are, once all bits of negative ones and the
		// sign of the others are inverted.
		k := math.Float32bits(v)
		k ^= uint32(int32(k)>>31) | 1<<31
		keys[i] = k
		for p := range counts {
			counts[p][k>>(p*bits)&(1<<bits-1)]++
		}
	}
	for p := range counts {
		var at int32
		for i, n := range counts[p] {
			counts[p][i] = at
			at += n
		}
		for _, k := range keys {
			part := k >> (p * bits) & (1<<bits - 1)
			other[counts[p][part]] = k
			counts[p][part]++
		}
		keys, other = other, keys
	}
	out := make([]float64, len(keys))
	for i, k := range keys {
		k ^= ^uint32(int32(k)>>31) | 1<<31
		out[i] = float64(math.Float32frombits(k))
	}
	return out
}
