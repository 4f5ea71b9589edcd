package depth

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	// minDepth is the range of parallax, in % of the picture width between its 5th and 95th
	// percentile, below which everything counts as one distance.
	minDepth = 0.25
	// focusBin is the width of the bins of parallax, in % of the picture width,
	// and minFocusShare the smallest share of the map's values that a bin must hold.
	focusBin      = 0.1
	minFocusShare = 0.004
	// focusRank is the quantile of sharpness within a bin that counts: surfaces
	// are smooth in most places, edges and texture show the focus.
	focusRank = 0.85
	// The focus is known if at least minSoftShare of the values lie in bins that are softer
	// than softRatio times the sharpest, as texture alone differs by less, and also softer than
	// maxSoft, as noise makes blurred things seem that sharp. The project's own choice,
	// measured on drawn scenes.
	minSoftShare = 0.2
	softRatio    = 0.6
	maxSoft      = 0.42
	// Bins at least inFocus times as sharp as the sharpest are in focus. The standard
	// deviation of their parallax, in % of the picture width, must not exceed focusSpread.
	inFocus     = 0.85
	focusSpread = 0.25
	// focusSE is the uncertainty that comes of different textures, in % of the picture
	// width. Measured on drawn scenes.
	focusSE = 0.1
)

// Focus measures the parallax of what is in focus in the left picture f, in % of the picture
// width. Full is its full raster, and noise returns its noise. It is missing where everything is
// equally sharp, or sharp things lie at several distances; where everything is at one
// distance, that is the focus.
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
	// The depth of field covers a range; where in it the lens was set is as uncertain as
	// the parallax of the sharp places is spread.
	spread := math.Sqrt(max(square/weight-mean*mean, 0))
	if spread > focusSpread {
		return stat.Missing("what is sharp lies at several distances")
	}
	return stat.Measured(mean, math.Hypot(math.Hypot(spread, focusSE), surfaceSE*percent))
}

// FocusBand is how sharp what stands at one parallax is in the left picture.
type FocusBand struct {
	Parallax float64 `json:"parallax"` // % of picture width
	// Sharpness is the largest step from one pixel of the frame to the next over the range of
	// values around it: some 0.5 for the sharpest edges that pixels show.
	Sharpness float64 `json:"sharp"`
}

// FocusBands returns the sharpness of the left picture f by parallax, from the nearest to the
// farthest, without bins that hold too few values. Full is its full raster.
func (m *Map) FocusBands(f *picture.Frame, full *raster.Raster, noise *raster.NoiseCurve) (bands []FocusBand) {
	for _, b := range m.focusProfile(sharpness(f, noise, m.Width, m.Height), 100/float64(full.Width)) {
		if b.n > 0 {
			bands = append(bands, FocusBand{Parallax: stat.Rounded(b.parallax, 3), Sharpness: stat.Rounded(b.sharp, 3)})
		}
	}
	return bands
}

// profileBin is the sharpness in one bin of parallax.
type profileBin struct {
	n        int     // values in the bin; 0 for a bin that has too few
	sharp    float64 // see sharpness
	parallax float64 // their mean, % of picture width
}

// focusProfile returns the sharpness in each bin of parallax from the nearest to the farthest.
// Percent is what a pixel of the full raster is in % of the picture width.
func (m *Map) focusProfile(sharp []float32, percent float64) []profileBin {
	all := m.Ascending()
	first := all[0] * percent
	values := make([][]float64, int((all[len(all)-1]*percent-first)/focusBin)+1)
	sums := make([]float64, len(values))
	nearest := m.nearestAround(sharpReach)
	for i, p := range m.Parallax {
		// The edge of a nearer thing does not belong to what is seen beside it.
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
