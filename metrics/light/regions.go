package light

// regions returns the connected regions of a mask, by 4-neighbourhood, as indices into it.
func regions(mask []bool, width int) (parts [][]int) {
	seen := make([]bool, len(mask))
	for start, set := range mask {
		if !set || seen[start] {
			continue
		}
		part := []int{start}
		seen[start] = true
		for n := 0; n < len(part); n++ {
			i := part[n]
			x := i % width
			for _, j := range [...]int{i - 1, i + 1, i - width, i + width} {
				if j < 0 || j >= len(mask) || j == i-1 && x == 0 || j == i+1 && x == width-1 {
					continue
				}
				if mask[j] && !seen[j] {
					seen[j] = true
					part = append(part, j)
				}
			}
		}
		parts = append(parts, part)
	}
	return parts
}
