package light

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

const (
	// rivalrySignal is the difference of the signals of a cell in one channel, as a share
	// of full scale, from which on it counts as rivalry. The project's own choice: seven
	// code values of 8 bits, a fifth of a stop in the middle of the scale.
	rivalrySignal = 0.03
	// minCompared is the least share of the picture that must be comparable.
	minCompared = 0.2
)

// Rivalry is where the eyes differ in light though not in shape, on the quarter
// raster of the left picture.
type Rivalry struct {
	Width, Height int
	Patch         []bool // the cells that count
	// Share is the share of the picture that counts, 0 to 1, with its standard error.
	Share, ShareSE float64
	// LeftClipped and RightClipped are the shares of the picture, 0 to 1, where one eye
	// clips at a ceiling below white while the other shows that it should be brighter.
	LeftClipped, RightClipped float64

	// excess is by how much the right eye's signal lies outside the range that the left
	// eye's cell and its neighbours predict, in the channel where that is largest; 0
	// within the range, NaN where nothing can be compared.
	excess []float32
	// direct is the right eye's signal less the one predicted from the left eye's cell
	// alone, by channel; NaN but for cells on a surface whose parallax is known.
	direct [3][]float32
}

// RivalryInputs is what FindRivalry takes.
type RivalryInputs struct {
	Lights                    *Overlap
	LeftCells, RightCells     *Cells
	Geometry                  *geometry.Fit
	Right                     *raster.Raster // the right picture's quarter raster
	LeftCeiling, RightCeiling float32        // see Ceiling
	LeftLetters, RightLetters *Lettering
}

// FindRivalry finds where the right eye's light is not what the left eye's and the balance
// between them predict, or returns the reason why that cannot be seen. Lettering and early
// clipping do not count as rivalry: they are faults of their own.
func (v *RivalryInputs) FindRivalry(balance *Balance) (*Rivalry, string) {
	l, leftCeiling, rightCeiling := v.Lights, v.LeftCeiling, v.RightCeiling
	w, h := l.Width, l.Height
	c := prediction{
		lights: l, geometry: v.Geometry, right: v.Right,
		from: v.RightCells, low: make([][3]float32, w*h), high: make([][3]float32, w*h),
	}
	c.clipped, c.ceiling = make([]bool, w*h), rightCeiling
	c.predict(v.LeftCells, balance)
	m := &Rivalry{Width: w, Height: h, excess: make([]float32, w*h)}
	for ch := range m.direct {
		m.direct[ch] = make([]float32, w*h)
		for i := range m.direct[ch] {
			m.direct[ch][i] = l.Right.Signal[ch][i] - c.plain[ch][i]
			if !l.onSurface(i%w, i/w) || max(l.Left.Peak[i], l.Right.Peak[i]) > Brightest {
				m.direct[ch][i] = float32(math.NaN())
			}
		}
	}
	compared := 0
	for y := range h {
		compared += c.row(m.excess[y*w:][:w], y)
	}
	if float64(compared) < minCompared*float64(w*h) {
		return nil, "too little of the picture can be compared"
	}
	c.explain(m)
	left, right := v.LeftLetters, v.RightLetters
	leftClipped, rightClipped := 0, 0
	for i, excess := range m.excess {
		x, y := i%w, i/w
		switch {
		case left.covers(raster.Quarter*x, raster.Quarter*y) || right.covers(raster.Quarter*(x+int(math.Round(float64(l.Parallax[i])))), raster.Quarter*y):
		case v.LeftCells.Peak[i] > leftCeiling-ceilingMargin:
			if excess > minClipLoss {
				leftClipped++
			}
		case l.Right.Peak[i] > rightCeiling-ceilingMargin || c.clipped[i]:
			if excess < -minClipLoss {
				rightClipped++
			}
		default:
			continue
		}
		m.excess[i] = 0
		for ch := range m.direct {
			m.direct[ch][i] = float32(math.NaN())
		}
	}
	m.LeftClipped, m.RightClipped = float64(leftClipped)/float64(w*h), float64(rightClipped)/float64(w*h)
	patch, share := m.patches(rivalrySignal)
	// The share at other thresholds tells how well it is known.
	_, more := m.patches(rivalrySignal * 0.8)
	_, less := m.patches(rivalrySignal * 1.2)
	m.Patch, m.Share, m.ShareSE = patch, share, (more-less)/2
	return m, ""
}

// suspect reports whether a cell may differ in light at the parallax found for it.
func (m *Rivalry) suspect(i int) bool {
	if abs32(m.excess[i]) > rivalrySignal/2 {
		return true
	}
	for ch := range m.direct {
		if abs32(m.direct[ch][i]) > rivalrySignal/2 {
			return true
		}
	}
	return false
}

// apart reports whether a parallax differs from a cell's own and from all others by more
// than neighbours on one surface do.
func apart(at, own float64, others []float64) bool {
	if math.Abs(at-own) <= maxSurfaceStep {
		return false
	}
	for _, v := range others {
		if math.Abs(at-v) <= maxSurfaceStep {
			return false
		}
	}
	return true
}
