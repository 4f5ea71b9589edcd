package measure

// Plan says at which moments a clip is looked at. The zero value is the usual
// plan.
type Plan struct {
	// Samples is how many moments a clip gets; 0 means DefaultSamples. A clip
	// with fewer frames gets a moment for each.
	Samples int `json:"samples,omitempty"`
}

// DefaultSamples is the number of moments of the usual plan: enough for a
// median and for the 5th and 95th percentile to mean something, at the price
// of decoding one second of the clip. The project's own choice.
const DefaultSamples = 24

// coarsest is the smallest number of moments of a first pass that is taken from a
// longer plan. Three show the beginning, the middle and the end.
const coarsest = 3

// passes returns the frames to look at in a clip of that many frames, in
// passes. Within a pass the frames ascend, which is how a file is read
// cheaply. The frames of the first passes, however many of them, are spread
// evenly over the clip, so that measuring may stop after any pass; the last
// pass completes a grid of equal steps whose ends lie half a step inside the
// clip. No frame comes twice. A clip without frames has no passes.
func (p Plan) passes(frames int) [][]int {
	n := min(p.Count(), frames)
	if n <= 0 {
		return nil
	}
	step := 1
	for n/(2*step) >= coarsest {
		step *= 2
	}
	pass := func(from, step int) []int {
		var at []int
		for slot := from; slot < n; slot += step {
			at = append(at, (2*slot+1)*frames/(2*n))
		}
		return at
	}
	if step == 1 {
		return [][]int{pass(0, 1)}
	}
	// The middles of the coarse steps, then their ends, and from there on the
	// middles of what the passes before have left open.
	passes := [][]int{pass(step/2, step), pass(0, step)}
	for half := step / 4; half > 0; half /= 2 {
		passes = append(passes, pass(half, 2*half))
	}
	return passes
}

// Count returns the number of moments wanted of a long clip.
func (p Plan) Count() int {
	if p.Samples <= 0 {
		return DefaultSamples
	}
	return p.Samples
}
