package metrics

func abs(n int) int { return max(n, -n) }
