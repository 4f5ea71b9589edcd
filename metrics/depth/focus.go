package depth

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	// focusFlat is the depth, in % of the picture width from the nearest to the
	// farthest twentieth, up to which all is at one distance.
	minDepth = 0.25
	// focusBin is how finely parallax is told apart, in % of the picture width,
	// and minFocusShare the least share of the claimed places that a bin must hold.
	focusBin      = 0.1
	minFocusShare = 0.004
	// focusRank is the rank of sharpness within a bin that speaks for it: surfaces
	// are smooth in most places, edges and texture tell.
	focusRank = 0.85
	// Focus can be told when at least this share of the places lies at parallaxes
	// that are so much less sharp than the sharpest, as a ratio, and no sharper
	// than noise makes blurred things seem: texture alone differs by less. The
	// project's own choice, measured on drawn scenes.
	minSoftShare = 0.2
	softRatio    = 0.6
	maxSoft      = 0.42
	// Bands at least this sharp, as a share of the sharpest, are in focus, and
	// their deviation, in % of the picture width, must not exceed this.
	inFocus     = 0.85
	focusSpread = 0.25
	// focusSE is what telling focus by texture leaves uncertain, in % of the picture
	// width. Measured on drawn scenes.
	focusSE = 0.1
)

// Focus measures the parallax of what is in focus in a left picture of that noise, in %
// of the picture width. Full is its raster.
func (m *Map) Focus(f *picture.Frame, full *raster.Raster, noise func() *raster.NoiseCurve) stat.Measurement {
	all := m.Ascending()
	if float64(len(all)) < minCoverage*float64(len(m.Parallax)) {
		return stat.Missing(tooLittleMeasured)
	}
	percent := 100 / float64(full.Width)
	if (stat.Quantile(all, 0.95)-stat.Quantile(all, 0.05))*percent < minDepth {
		return stat.Measured(stat.Quantile(all, 0.5)*percent, surfaceSE*percent)
	}
	profile := m.focusProfile(sharpness(f, noise(), m.Width, m.Height), percent)
	best := -1
	for i, b := range profile {
		if b.n > 0 && (best < 0 || b.sharp > profile[best].sharp) {
			best = i
		}
	}
	if best < 0 {
		return stat.Missing("too little contrast to tell what is in focus")
	}
	peak := profile[best].sharp
	soft, measured := 0, 0
	for _, b := range profile {
		measured += b.n
		if b.sharp < min(softRatio*peak, maxSoft) {
			soft += b.n
		}
	}
	if float64(soft) < minSoftShare*float64(measured) {
		return stat.Missing("everything is equally sharp")
	}
	floor := inFocus * peak
	var sum, weight, square float64
	for _, b := range profile {
		if w := b.sharp - floor; w > 0 {
			sum += w * b.parallax
			square += w * b.parallax * b.parallax
			weight += w
		}
	}
	mean := sum / weight
	// Focus reaches over a depth; where within it the lens was set is as uncertain
	// as the sharp places are spread.
	spread := math.Sqrt(max(square/weight-mean*mean, 0))
	if spread > focusSpread {
		return stat.Missing("what is sharp lies at several distances")
	}
	return stat.Measured(mean, math.Hypot(math.Hypot(spread, focusSE), surfaceSE*percent))
}

// focusBand is the sharpness at one parallax.
type profileBin struct {
	n        int     // places that tell
	sharp    float64 // see sharpness
	parallax float64 // their mean, % of picture width
}

// focusProfile returns the sharpness by parallax from the nearest to the
// farthest; bands without enough places have none.
func (m *Map) focusProfile(sharp []float32, percent float64) []profileBin {
	all := m.Ascending()
	first := all[0] * percent
	values := make([][]float64, int((all[len(all)-1]*percent-first)/focusBin)+1)
	sums := make([]float64, len(values))
	nearest := m.nearestAround(sharpReach)
	for i, p := range m.Parallax {
		// An edge of something nearer is none of what is seen beside it.
		if s := sharp[i]; p == p && s == s && float64(p-nearest[i])*percent < focusBin {
			v := float64(p) * percent
			k := min(max(int((v-first)/focusBin), 0), len(values)-1)
			values[k] = append(values[k], float64(s))
			sums[k] += v
		}
	}
	profile := make([]profileBin, len(values))
	for k, v := range values {
		if float64(len(v)) < minFocusShare*float64(len(all)) {
			continue
		}
		profile[k] = profileBin{n: len(v), sharp: stat.SelectQuantile(v, focusRank), parallax: sums[k] / float64(len(v))}
	}
	return profile
}

// nearestAround returns for each place the least parallax that is claimed within
// so many places across and down.
func (m *Map) nearestAround(reach int) []float32 {
	w, h := m.Width, m.Height
	across, out := make([]float32, w*h), make([]float32, w*h)
	for y := range h {
		for x := range w {
			nearest := float32(math.Inf(1))
			for u := max(x-reach, 0); u <= min(x+reach, w-1); u++ {
				if p := m.Parallax[y*w+u]; p < nearest {
					nearest = p
				}
			}
			across[y*w+x] = nearest
		}
	}
	for y := range h {
		for x := range w {
			nearest := float32(math.Inf(1))
			for v := max(y-reach, 0); v <= min(y+reach, h-1); v++ {
				nearest = min(nearest, across[v*w+x])
			}
			out[y*w+x] = nearest
		}
	}
	return out
}

// sharpness returns, for each place of the map, how steep the steepest edge
// about it is in the left picture: the largest change from one pixel of the frame
// to the next over all the change there is, some 0.5 for an edge as sharp as
// pixels show, 1/(σ√2π) for one blurred by a Gaussian. The measure does not
// depend on contrast. NaN where there is too little of it to be told from noise.
func sharpness(f *picture.Frame, noise *raster.NoiseCurve, width, height int) []float32 {
	plane := f.Planes[0]
	noiseGain := 1.0 // how much of a channel's noise variance the plane has
	switch f.Layout {
	case picture.RGB:
		plane = f.Planes[1]
	case picture.YCbCr:
		kr, kg, kb := f.Colour.Luma(f.Height())
		noiseGain = kr*kr + kg*kg + kb*kb
	}
	s := f.Signal()
	scale := float64(s.White - s.Black)
	nx, ny := raster.Reduction(f)
	cw, ch := raster.Quarter*nx, raster.Quarter*ny

	type cell struct{ low, high, step int32 }
	cells := make([]cell, width*height)
	for i := range cells {
		cells[i].low = math.MaxInt32
	}
	for y := range height * ch {
		row := plane.Row(y)
		below := plane.Row(min(y+1, plane.Height-1))
		line := cells[y/ch*width:][:width]
		for x := range line {
			c := &line[x]
			from, to := x*cw, min((x+1)*cw, plane.Width-1)
			if from >= to {
				continue
			}
			low, high, step := c.low, c.high, c.step
			v := int32(row[from])
			next := row[from+1 : to+1]
			for i, b := range below[from:to] {
				low, high = min(low, v), max(high, v)
				right := int32(next[i])
				// Of a change and what it is the other way one is the larger.
				step = max(step, right-v, v-right, int32(b)-v, v-int32(b))
				v = right
			}
			c.low, c.high, c.step = low, high, step
		}
	}
	out := make([]float32, width*height)
	for y := range height {
		for x := range width {
			t := cell{low: math.MaxInt32}
			for v := max(y-1, 0); v <= min(y+1, height-1); v++ {
				for u := max(x-1, 0); u <= min(x+1, width-1); u++ {
					c := cells[v*width+u]
					t.low, t.high, t.step = min(t.low, c.low), max(t.high, c.high), max(t.step, c.step)
				}
			}
			out[y*width+x] = float32(math.NaN())
			swing := float64(t.high - t.low)
			variance, _ := noise.At((float64(t.high+t.low)/2 - float64(s.Black)) / scale)
			if deviation := math.Sqrt(noiseGain*variance*scale*scale + 1.0/12); swing > sharpClear*deviation {
				out[y*width+x] = float32(t.step) / float32(swing)
			}
		}
	}
	return out
}

// sharpReach is how far, in places of the map, an edge may lie that sharpness
// sees, and what matching may put on the wrong side of it.
const sharpReach = 3

// sharpClear is how many times the noise the picture must change about a place:
// noise alone swings by six.
const sharpClear = 12

// FocusBand is how sharp what stands at one parallax is in the left picture.
type FocusBand struct {
	Parallax float64 `json:"parallax"` // % of picture width
	// Sharp is the largest change from one pixel to the next over all the change
	// about an edge: some 0.5 for the sharpest that pixels show.
	Sharp float64 `json:"sharp"`
}

// FocusBands returns the sharpness by parallax from the nearest to the farthest.
func (m *Map) FocusBands(f *picture.Frame, full *raster.Raster, noise *raster.NoiseCurve) (bands []FocusBand) {
	for _, b := range m.focusProfile(sharpness(f, noise, m.Width, m.Height), 100/float64(full.Width)) {
		if b.n > 0 {
			bands = append(bands, FocusBand{Parallax: stat.Rounded(b.parallax, 3), Sharp: stat.Rounded(b.sharp, 3)})
		}
	}
	return bands
}
