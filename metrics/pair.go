package metrics

import "math"

// Pair is a left and a right frame of one instant, upright and in the right
// order, with the costly steps that the measurements share. Each step is done
// once, when it is first asked for. A Pair serves one goroutine.
type Pair struct {
	Left, Right *Frame
	// Motion is there when the eyes are known to be out of time.
	Motion *Motion

	levels   *[2]*level // left, right
	evenness *evenness
	fine     [2]*raster // likewise, until there are matches; nil where the full rasters are as fine
	matching *matching
	fitting  *fitting // of what the pictures show
	rigging  *fitting // of what the rig makes
	depth    *disparity
	grain    *[2]*grain // left, right
	lighting *lighting
	grading  *grading
	detail   *detail // see softDetail
	lenses   *[2]Measurement

	letters *[2]*lettering // left, right
}

type matching struct {
	matches []Match
	tried   int // how many places were looked for
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
		p.levels = new([2]*level)
		for i, f := range [2]*Frame{p.Left, p.Right} {
			full, fine := rasters(f)
			p.levels[i], p.fine[i] = newLevel(full), fine
		}
	}
	return p.levels
}

type lighting struct {
	leftCells, rightCells *cells

	lights *lights
	reason string // why there are none
}

// grading is what the eyes' light says of how they are exposed and balanced.
type grading struct {
	spots   []spotLight
	balance *balance
	reason  string // why there is no balance

	unlike       *unlike
	unlikeReason string // why it is not known what is unlike
}

// Matches returns places found in both pictures, well spread, in the order of
// the left picture's rows; or none and the reason why.
func (p *Pair) Matches() (matches []Match, reason string) {
	if p.matching == nil {
		m := &matching{}
		if l, r := p.Left, p.Right; l.Width() != r.Width() || l.Height() != r.Height() {
			m.reason = "the eyes' pictures differ in size"
		} else {
			m.matches, m.tried, m.reason = findMatches(p.even().levels, p.fine)
		}
		p.fine = [2]*raster{}
		p.matching = m
	}
	return p.matching.matches, p.matching.reason
}

// geometry returns the fit of the vertical disparity that the pictures show, or nil
// and the reason why there is none; see rig for what the rig alone makes.
func (p *Pair) geometry() (g *geometry, reason string) {
	if p.fitting == nil {
		f := &fitting{}
		matches, reason := p.Matches()
		if reason != "" {
			f.reason = reason
		} else {
			f.geometry, f.reason = fitGeometry(matches, p.matching.tried)
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
		p.depth = newDisparity(p.even().levels[0], p.even().levels[1], g)
	}
	return p.depth, ""
}

// grains returns the noise of the left and of the right eye.
func (p *Pair) grains() *[2]*grain {
	if p.grain == nil {
		p.grain = &[2]*grain{newGrain(p.Left, p.left().full), newGrain(p.Right, p.right().full)}
	}
	return p.grain
}

// leftNoise returns what noise does to the left eye's signals.
func (p *Pair) leftNoise() *noiseCurve { return p.grains()[0].curve() }

// light returns what both eyes show of the same places. The lights are nil where the
// reason says why there are none.
func (p *Pair) light() *lighting {
	if p.lighting == nil {
		p.lighting = &lighting{}
		g, _ := p.geometry()
		d, reason := p.disparity()
		switch {
		case d == nil:
			p.lighting.reason = reason
		case p.Left.Colour.Transfer.settled() != p.Right.Colour.Transfer.settled():
			p.lighting.reason = "the eyes' files are coded by different curves"
		default:
			p.lighting.leftCells, p.lighting.rightCells = newCells(p.Left, p.left()), newCells(p.Right, p.right())
			p.lighting.lights = newLights(p.lighting.leftCells, p.lighting.rightCells, p.right().quarter, d, g)
		}
	}
	return p.lighting
}

// unlikeMuch is the share of the picture that is unlike in light from which on the
// balance is fitted to the rest of it alone.
const unlikeMuch = 0.02

// grade returns what the light of both eyes, made equally soft, says of how they are
// exposed and balanced, and where no balance makes them alike.
func (p *Pair) grade() *grading {
	if p.grading != nil {
		return p.grading
	}
	g := &grading{}
	p.grading = g
	both := p.light()
	if both.lights == nil {
		g.reason, g.unlikeReason = both.reason, both.reason
		return g
	}
	l, noise := p.alike()
	nx, ny := reduction(p.Left)
	pixels := float64(quarter * quarter * nx * ny)
	g.spots = l.spots(balanceMost)
	if g.balance, g.reason = fitBalance(l, p.Left.Colour.Transfer, noise, pixels); g.balance == nil {
		g.unlikeReason = g.reason
		return g
	}
	if g.unlike, g.unlikeReason = p.findUnlike(g.balance); g.unlike == nil || g.unlike.share < unlikeMuch {
		return g
	}
	if b, _ := fitBalance(l.without(g.unlike.patch), p.Left.Colour.Transfer, noise, pixels); b != nil {
		g.balance = b
		g.unlike, g.unlikeReason = p.findUnlike(b)
	}
	return g
}

// softCells is the blur, as a share of a cell's width, below which a soft eye shows the
// light of cells well enough.
const softCells = 0.1

// alike returns what both eyes show of the same places when the sharper eye is as soft
// as the other, with the noise of both: a soft eye spreads light between what is bright
// and dark, which looks like less contrast.
func (p *Pair) alike() (l *lights, noise *[2]*grain) {
	both, noise := p.light(), p.grains()
	soft := p.softer(everywhere)
	sigma := math.Abs(soft.Value) * float64(p.Left.Width()) / 1920
	if nx, _ := reduction(p.Left); !soft.OK() || sigma < softCells*float64(quarter*nx) {
		return both.lights, noise
	}
	left, right := both.leftCells, both.rightCells
	if soft.Value > 0 {
		left, noise = left.softened(p.Left, sigma), &[2]*grain{noise[0].softened(sigma), noise[1]}
	} else {
		right, noise = right.softened(p.Right, sigma), &[2]*grain{noise[0], noise[1].softened(sigma)}
	}
	g, _ := p.geometry()
	d, _ := p.disparity()
	return newLights(left, right, p.right().quarter, d, g), noise
}

// balance returns the fitted balance of light, or nil and the reason why there
// is none.
func (p *Pair) balance() (b *balance, reason string) {
	g := p.grade()
	return g.balance, g.reason
}
