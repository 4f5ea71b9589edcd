package metrics

// Pair is a left and a right frame of one instant, upright and in the right
// order, with the costly steps that the measurements share. Each step is done
// once, when it is first asked for. A Pair serves one goroutine.
type Pair struct {
	Left, Right *Frame

	levels   *[2]*level // left, right
	matching *matching
	fitting  *fitting
	depth    *disparity
}

type matching struct {
	matches []Match
	reason  string
}

type fitting struct {
	geometry *geometry
	reason   string
}

func (p *Pair) left() *level  { return p.rasters()[0] }
func (p *Pair) right() *level { return p.rasters()[1] }

func (p *Pair) rasters() *[2]*level {
	if p.levels == nil {
		p.levels = &[2]*level{newLevel(lumaRaster(p.Left)), newLevel(lumaRaster(p.Right))}
	}
	return p.levels
}

// Matches returns places found in both pictures, well spread, in the order of
// the left picture's rows; or none and the reason why.
func (p *Pair) Matches() (matches []Match, reason string) {
	if p.matching == nil {
		m := &matching{}
		if l, r := p.Left, p.Right; l.Width() != r.Width() || l.Height() != r.Height() {
			m.reason = "the eyes' pictures differ in size"
		} else {
			m.matches, m.reason = match(p.left(), p.right())
		}
		p.matching = m
	}
	return p.matching.matches, p.matching.reason
}

// geometry returns the fit of the vertical disparity, or nil and the reason why
// there is none.
func (p *Pair) geometry() (g *geometry, reason string) {
	if p.fitting == nil {
		f := &fitting{}
		matches, reason := p.Matches()
		if reason != "" {
			f.reason = reason
		} else {
			f.geometry, f.reason = fitGeometry(matches)
		}
		p.fitting = f
	}
	return p.fitting.geometry, p.fitting.reason
}

// halfWidth returns half the width of the picture in units of its height.
func (p *Pair) halfWidth() float64 {
	return float64(p.Left.Width()) * p.Left.Aspect() / float64(2*p.Left.Height())
}

// disparity returns the dense map of parallax, or nil and the reason why there
// is none.
func (p *Pair) disparity() (m *disparity, reason string) {
	g, reason := p.geometry()
	if g == nil {
		return nil, reason
	}
	if p.depth == nil {
		p.depth = newDisparity(p.left(), p.right(), g)
	}
	return p.depth, ""
}
