package metrics

import (
	"math"

	"nightpair/metrics/focus"
	"nightpair/metrics/light"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// lettering returns the burnt-in graphics of the left and of the right eye alone. The eyes'
// pictures must have one size.
func (p *Pair) lettering() (left, right *light.Lettering) {
	if p.letters == nil {
		letters := light.FindLettering(p.left().Full, p.right().Full)
		p.letters = &letters
	}
	return p.letters[0], p.letters[1]
}

// ceilings returns the signals at which the left and the right eye clip, see light.Ceiling.
func (p *Pair) ceilings() (left, right float32) {
	return light.Ceiling(p.Left, p.left().Full), light.Ceiling(p.Right, p.right().Full)
}

// overlapping is what both eyes record of the same places.
type overlapping struct {
	leftCells, rightCells *light.Cells
	lights                *light.Overlap
	reason                string // why lights is nil
}

// overlap returns what both eyes record of the same places.
func (p *Pair) overlap() *overlapping {
	if p.overlapping == nil {
		o := &overlapping{}
		p.overlapping = o
		g, _ := p.geometry()
		d, reason := p.depth()
		switch {
		case d == nil:
			o.reason = reason
		case p.Left.Colour.Transfer.Effective() != p.Right.Colour.Transfer.Effective():
			o.reason = "the eyes' files are coded by different curves"
		default:
			o.leftCells, o.rightCells = light.NewCells(p.Left, p.left()), light.NewCells(p.Right, p.right())
			o.lights = light.NewOverlap(o.leftCells, o.rightCells, p.right().Quarter, d, g)
		}
	}
	return p.overlapping
}

// minCellBlur is the sigma of a blur, in cells, from which on it changes the light of cells.
const minCellBlur = 0.1

// equallySoft returns the overlap with the sharper eye blurred as much as the other is, and
// the noise of both: a soft eye spreads light between bright and dark places, which passes
// for less contrast. The overlap must not be nil.
func (p *Pair) equallySoft() (l *light.Overlap, noise *[2]*raster.NoiseModel) {
	both, noise := p.overlap(), p.noise()
	soft := p.softness(focus.Everywhere)
	sigma := math.Abs(soft.Value) * float64(p.Left.Width()) / 1920
	if nx, _ := raster.Reduction(p.Left); !soft.OK() || sigma < minCellBlur*float64(raster.Quarter*nx) {
		return both.lights, noise
	}
	left, right := both.leftCells, both.rightCells
	if soft.Value > 0 {
		left, noise = left.Blurred(p.Left, sigma), &[2]*raster.NoiseModel{noise[0].Blurred(sigma), noise[1]}
	} else {
		right, noise = right.Blurred(p.Right, sigma), &[2]*raster.NoiseModel{noise[0], noise[1].Blurred(sigma)}
	}
	g, _ := p.geometry()
	d, _ := p.depth()
	return light.NewOverlap(left, right, p.right().Quarter, d, g), noise
}

// grading is how the right eye is exposed and balanced against the left.
type grading struct {
	samples []light.Sample
	balance *light.Balance
	reason  string // why there is no balance

	rivalry       *light.Rivalry
	rivalryReason string // why there is none
}

// maxBalanceRivalry is the share of the picture with rivalry from which on the balance is
// fitted to the rest of it alone.
const maxBalanceRivalry = 0.02

// grade fits the balance of light between the eyes, made equally soft, and finds where it
// does not explain the right eye.
func (p *Pair) grade() *grading {
	if p.grading != nil {
		return p.grading
	}
	g := &grading{}
	p.grading = g
	both := p.overlap()
	if both.lights == nil {
		g.reason, g.rivalryReason = both.reason, both.reason
		return g
	}
	l, noise := p.equallySoft()
	nx, ny := raster.Reduction(p.Left)
	pixels := float64(raster.Quarter * raster.Quarter * nx * ny)
	g.samples = l.Samples(light.MaxSamples)
	if g.balance, g.reason = light.FitBalance(l, p.Left.Colour.Transfer, noise, pixels); g.balance == nil {
		g.rivalryReason = g.reason
		return g
	}
	if g.rivalry, g.rivalryReason = p.findRivalry(g.balance); g.rivalry == nil || g.rivalry.Share < maxBalanceRivalry {
		return g
	}
	if b, _ := light.FitBalance(l.Without(g.rivalry.Patch), p.Left.Colour.Transfer, noise, pixels); b != nil {
		g.balance = b
		g.rivalry, g.rivalryReason = p.findRivalry(b)
	}
	return g
}

// findRivalry finds where a balance of light does not explain the right eye. There must be an
// overlap.
func (p *Pair) findRivalry(balance *light.Balance) (*light.Rivalry, string) {
	both := p.overlap()
	g, _ := p.geometry()
	in := light.RivalryInputs{
		Lights: both.lights, LeftCells: both.leftCells, RightCells: both.rightCells,
		Geometry: g, Right: p.right().Quarter,
	}
	in.LeftCeiling, in.RightCeiling = p.ceilings()
	in.LeftLetters, in.RightLetters = p.lettering()
	return in.FindRivalry(balance)
}

// rivalry returns where the light of the eyes differs though their shapes match.
func (p *Pair) rivalry() (m *light.Rivalry, reason string) {
	g := p.grade()
	return g.rivalry, g.rivalryReason
}

// balanced measures something of the balance of light.
func (p *Pair) balanced(of func(b *light.Balance) Measurement) Measurement {
	g := p.grade()
	if g.balance == nil {
		return stat.Missing(g.reason)
	}
	return of(g.balance)
}

// Swatches returns at most so many places, evenly spaced over what both eyes show and neither
// clips; none where the eyes' primaries differ.
func (p *Pair) Swatches(limit int) light.Swatches {
	s := light.Swatches{Transfer: p.Left.Colour.Transfer, Primaries: p.Left.Colour.Primaries}
	samples := p.grade().samples
	if len(samples) == 0 || p.Left.Colour.Primaries != p.Right.Colour.Primaries {
		return s
	}
	var unclipped []*light.Sample
	for i := range samples {
		if !samples[i].Clipped {
			unclipped = append(unclipped, &samples[i])
		}
	}
	n := min(limit, len(unclipped))
	for k := range n {
		at := unclipped[k*len(unclipped)/n]
		s.Places = append(s.Places, light.Swatch{Left: at.Left, Right: at.Right})
	}
	return s
}
