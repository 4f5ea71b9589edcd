package metrics

// Pair is a left and a right frame of one instant, upright and in the right
// order, with the costly steps that the measurements share. Each step is done
// once, when it is first asked for. A Pair serves one goroutine.
type Pair struct {
	Left, Right *Frame
}
