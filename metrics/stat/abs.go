package stat

func Abs(n int) int { return max(n, -n) }
