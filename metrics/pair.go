package metrics

import (
	"math"

	"nightpair/metrics/depth"
	"nightpair/metrics/focus"
	"nightpair/metrics/geometry"
	"nightpair/metrics/light"
	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// Pair is a left and a right frame of one instant, upright and in the right
// order, with the costly steps that the measurements share. Each step is done
// once, when it is first asked for. A Pair serves one goroutine.
type Pair struct {
	Left, Right *picture.Frame
	// Motion is there when the eyes are known to be out of time.
	Motion *Motion

	levels   *[2]*raster.Level // left, right
	evenness *evenness
	fine     [2]*raster.Raster // likewise, until there are matches; nil where the full rasters are as fine
	matching *matching
	fitting  *fitting // of what the pictures show
	rigging  *fitting // of what the rig makes
	depth    *depth.Map
	grain    *[2]*raster.NoiseModel // left, right
	lighting *lighting
	grading  *grading
	detail   *focus.Detail // see softDetail
	lenses   *[2]stat.Measurement

	letters *[2]*light.Lettering // left, right
}

type matching struct {
	matches []geometry.Match
	tried   int // how many places were looked for
	reason  string
}

type fitting struct {
	geometry *geometry.Fit
	reason   string
}

func (p *Pair) left() *raster.Level  { return p.rasters()[0] }
func (p *Pair) right() *raster.Level { return p.rasters()[1] }

func (p *Pair) rasters() *[2]*raster.Level {
	if p.levels == nil {
		p.levels = new([2]*raster.Level)
		for i, f := range [2]*picture.Frame{p.Left, p.Right} {
			full, fine := raster.Rasters(f)
			p.levels[i], p.fine[i] = raster.NewLevel(full), fine
		}
	}
	return p.levels
}

type lighting struct {
	leftCells, rightCells *light.Cells

	lights *light.Overlap
	reason string // why there are none
}

// grading is what the eyes' light says of how they are exposed and balanced.
type grading struct {
	spots   []light.Sample
	balance *light.Balance
	reason  string // why there is no balance

	unlike       *light.Rivalry
	unlikeReason string // why it is not known what is unlike
}

// Matches returns places found in both pictures, well spread, in the order of
// the left picture's rows; or none and the reason why.
func (p *Pair) Matches() (matches []geometry.Match, reason string) {
	if p.matching == nil {
		m := &matching{}
		if l, r := p.Left, p.Right; l.Width() != r.Width() || l.Height() != r.Height() {
			m.reason = "the eyes' pictures differ in size"
		} else {
			m.matches, m.tried, m.reason = geometry.FindMatches(p.even().levels, p.fine)
		}
		p.fine = [2]*raster.Raster{}
		p.matching = m
	}
	return p.matching.matches, p.matching.reason
}

// geometry returns the fit of the vertical disparity that the pictures show, or nil
// and the reason why there is none; see rig for what the rig alone makes.
func (p *Pair) geometry() (g *geometry.Fit, reason string) {
	if p.fitting == nil {
		f := &fitting{}
		matches, reason := p.Matches()
		if reason != "" {
			f.reason = reason
		} else {
			f.geometry, f.reason = geometry.FitRig(matches, p.matching.tried)
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
func (p *Pair) disparity() (m *depth.Map, reason string) {
	g, reason := p.geometry()
	if g == nil {
		return nil, reason
	}
	if p.depth == nil {
		p.depth = depth.NewMap(p.even().levels[0], p.even().levels[1], g)
	}
	return p.depth, ""
}

// grains returns the noise of the left and of the right eye.
func (p *Pair) grains() *[2]*raster.NoiseModel {
	if p.grain == nil {
		p.grain = &[2]*raster.NoiseModel{raster.NewNoiseModel(p.Left, p.left().Full), raster.NewNoiseModel(p.Right, p.right().Full)}
	}
	return p.grain
}

// leftNoise returns what noise does to the left eye's signals.
func (p *Pair) leftNoise() *raster.NoiseCurve { return p.grains()[0].Curve() }

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
		case p.Left.Colour.Transfer.Effective() != p.Right.Colour.Transfer.Effective():
			p.lighting.reason = "the eyes' files are coded by different curves"
		default:
			p.lighting.leftCells, p.lighting.rightCells = light.NewCells(p.Left, p.left()), light.NewCells(p.Right, p.right())
			p.lighting.lights = light.NewOverlap(p.lighting.leftCells, p.lighting.rightCells, p.right().Quarter, d, g)
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
	nx, ny := raster.Reduction(p.Left)
	pixels := float64(raster.Quarter * raster.Quarter * nx * ny)
	g.spots = l.Samples(light.MaxSamples)
	if g.balance, g.reason = light.FitBalance(l, p.Left.Colour.Transfer, noise, pixels); g.balance == nil {
		g.unlikeReason = g.reason
		return g
	}
	if g.unlike, g.unlikeReason = p.findUnlike(g.balance); g.unlike == nil || g.unlike.Share < unlikeMuch {
		return g
	}
	if b, _ := light.FitBalance(l.Without(g.unlike.Patch), p.Left.Colour.Transfer, noise, pixels); b != nil {
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
func (p *Pair) alike() (l *light.Overlap, noise *[2]*raster.NoiseModel) {
	both, noise := p.light(), p.grains()
	soft := p.softer(focus.Everywhere)
	sigma := math.Abs(soft.Value) * float64(p.Left.Width()) / 1920
	if nx, _ := raster.Reduction(p.Left); !soft.OK() || sigma < softCells*float64(raster.Quarter*nx) {
		return both.lights, noise
	}
	left, right := both.leftCells, both.rightCells
	if soft.Value > 0 {
		left, noise = left.Blurred(p.Left, sigma), &[2]*raster.NoiseModel{noise[0].Blurred(sigma), noise[1]}
	} else {
		right, noise = right.Blurred(p.Right, sigma), &[2]*raster.NoiseModel{noise[0], noise[1].Blurred(sigma)}
	}
	g, _ := p.geometry()
	d, _ := p.disparity()
	return light.NewOverlap(left, right, p.right().Quarter, d, g), noise
}

// balance returns the fitted balance of light, or nil and the reason why there
// is none.
func (p *Pair) balance() (b *light.Balance, reason string) {
	g := p.grade()
	return g.balance, g.reason
}
