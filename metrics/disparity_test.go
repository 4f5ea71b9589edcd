package metrics

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// The Middlebury 2014 motorcycle with the truth that comes with it
// (scikit-image, D. Scharstein et al., GCPR 2014), on the map's own raster.
func TestDisparityOfMotorcycle(t *testing.T) {
	left, right := motorcycle(t)
	truth := motorcycleTruth(t)
	p := &Pair{Left: left, Right: right}
	m, reason := p.depth()
	require.Empty(t, reason)

	w, h := left.Width(), left.Height()
	hidden := hiddenPlaces(truth, w, h)
	var all, claimed, judged, good int
	for y := range m.Height {
		for x := range m.Width {
			all++
			got := float64(m.Parallax[y*m.Width+x])
			if math.IsNaN(got) {
				continue
			}
			claimed++
			// The place lies between four pixels.
			var want float64
			skip := false
			for _, at := range [4]int{0, 1, w, w + 1} {
				i := (raster.Quarter*y+1)*w + raster.Quarter*x + 1 + at
				want -= float64(truth[i]) / 4
				skip = skip || hidden[i] || math.IsInf(float64(truth[i]), 0)
			}
			if skip {
				continue
			}
			judged++
			if math.Abs(got-want) <= 1 {
				good++
			}
		}
	}
	t.Logf("%.1f %% claimed, %.1f %% of the judged within 1 px", 100*float64(claimed)/float64(all), 100*float64(good)/float64(judged))
	require.Greater(t, float64(claimed), 0.75*float64(all))
	require.Greater(t, float64(good), 0.85*float64(judged))

	var known []float64
	for i, d := range truth {
		if !hidden[i] && !math.IsInf(float64(d), 0) {
			known = append(known, -float64(d))
		}
	}
	near, far := nearParallax.Measure(p), farParallax.Measure(p)
	t.Logf("near %.2f px, truth %.2f; far %.2f px, truth %.2f",
		near.Value/100*float64(w), stat.Quantile(known, 0.01), far.Value/100*float64(w), stat.Quantile(known, 0.99))
	require.InDelta(t, stat.Quantile(known, 0.01), near.Value/100*float64(w), 0.5)
	require.InDelta(t, stat.Quantile(known, 0.99), far.Value/100*float64(w), 0.5)
}

// hiddenPlaces says which pixels of the left picture the right one does not
// show: outside of it or behind what is nearer by more than a pixel.
func hiddenPlaces(truth []float32, w, h int) []bool {
	hidden := make([]bool, w*h)
	nearest := make([]float64, w)
	for y := range h {
		for x := range nearest {
			nearest[x] = math.Inf(-1)
		}
		row := truth[y*w:][:w]
		for x, d := range row {
			if at := int(math.Round(float64(x) - float64(d))); !math.IsInf(float64(d), 0) && at >= 0 {
				nearest[at] = max(nearest[at], float64(d))
			}
		}
		for x, d := range row {
			at := int(math.Round(float64(x) - float64(d)))
			hidden[y*w+x] = at < 0 || at < w && nearest[at] > float64(d)+1
		}
	}
	return hidden
}

// OpenCV's chessboard pairs, 640×480, have more parallax than is searched for
// where nothing points to it; their lenses distort so much that not every pair's
// geometry can be fitted. The map is held against the matches, which were
// measured on the full raster by other means.
func TestDisparityBeyondTheUsualRange(t *testing.T) {
	var off []float64
	fitted := 0
	for n := range 15 {
		if n == 0 || n == 10 {
			continue // there is none
		}
		p := &Pair{
			Left:  readStill(t, fmt.Sprintf("%sleft%02d.jpg", chessboardDir, n), needOpenCVDoc),
			Right: readStill(t, fmt.Sprintf("%sright%02d.jpg", chessboardDir, n), needOpenCVDoc),
		}
		m, reason := p.depth()
		if m == nil {
			t.Logf("pair %d: %s", n, reason)
			continue
		}
		fitted++
		g, _ := p.geometry()
		full := p.left().Full
		for i := range g.Matches {
			k := &g.Matches[i]
			got := float64(m.Parallax[k.Row/raster.Quarter*m.Width+k.Column/raster.Quarter])
			want := (k.RightX - k.LeftX) / full.Sx
			if want < -geometry.SearchParallax*float64(full.Width) && !math.IsNaN(got) {
				off = append(off, math.Abs(got-want))
			}
		}
	}
	t.Logf("%d places, median %.2f px off, 90 %% within %.2f px", len(off), stat.Quantile(off, 0.5), stat.Quantile(off, 0.9))
	require.GreaterOrEqual(t, fitted, 9, "of 13 pairs")
	require.Greater(t, len(off), 300)
	require.Less(t, stat.Quantile(off, 0.5), 0.5)
	require.Less(t, stat.Quantile(off, 0.9), 1.5)
}
