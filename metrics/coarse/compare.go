package coarse

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// Prior is what is known of a clip's geometry before a frame is compared.
type Prior struct {
	// Offset, Roll and Zoom are about what the frame may have: picture heights, radians
	// and a share, signed as the metrics of these names are.
	Offset, Roll, Zoom float64
	// Near and Far are the nearest and the farthest parallax that is expected, in picture
	// heights.
	Near, Far float64
	// Rest returns the vertical disparity in picture heights that the fine geometry gives
	// a place at (x, y) of the left and column xr of the right picture beyond offset,
	// roll and zoom; nil for none.
	Rest func(x, y, xr float64) float64
}

// Reading is how the right eye differs from the left in one frame.
type Reading struct {
	// Offset is in % of the picture height, Roll in degrees, Zoom in %, each signed as the
	// metric of its name, with one standard error.
	Offset, Roll, Zoom       float64
	OffsetSE, RollSE, ZoomSE float64
	// Exposure is in stops of linear light. ExposureSE is 0 where it is not known.
	Exposure, ExposureSE float64
	// Blur is the variance of the Gaussian blur that the right eye has beyond the left, in
	// squared pixels of a picture 1920 wide, but for a factor (see BlurGain); negative where the
	// left eye is the softer one. BlurSE is 0 where it is not known.
	Blur, BlurSE float64
	// Places is how many places agree; 0 where nothing could be compared.
	Places int
}

const (
	// minPlaces is how many places must agree, and minShare which share of those that were
	// found in both eyes.
	minPlaces = 12
	minShare  = 0.4
	// placeFloor is the least scatter of places, and placeBias what they have in common in
	// one part of the picture, in small pixels. Measured on drawn scenes.
	placeFloor = 0.02
	placeBias  = 0.02
	// tiles is into how many parts across and down the picture is divided for the
	// standard errors.
	tiles = 4
	// searchMargin is how far beyond the expected parallax places are searched, in picture
	// heights.
	searchMargin = 0.06
	// Signals between these tell the exposure.
	minSignal, maxSignal = 0.08, 0.9
)

// Compare holds one frame's small pictures against each other. It returns no places where
// the eyes show too little in common.
//
// What the prior expects is looked for within three per cent of the picture height, and where
// that shows too little in common, as after a knock, within twelve.
func Compare(left, right *Small, prior Prior) Reading {
	if left.Width != right.Width || left.Height != right.Height {
		return Reading{}
	}
	l, m := left.sheet(), right.sheet()
	p := sheets{
		left: l, right: m, places: l.places(),
		search: search{left: l.halved(), right: m.halved()},
	}
	p.search.leftSums, p.search.rightSums = p.search.left.patchSums(), p.search.right.patchSums()
	r := p.compare(left, right, prior, searchRows)
	if r.Places == 0 {
		r = p.compare(left, right, prior, wideRows)
	}
	return r
}

// sheets are both eyes' small pictures with what looking for places needs of them.
type sheets struct {
	left, right sheet
	places      [][2]int // of the left one
	search      search
}

// compare looks for places in so many half-size rows above and below the expected one.
func (s *sheets) compare(left, right *Small, prior Prior, rows int) (r Reading) {
	near, far := int(math.Floor((prior.Near-searchMargin)/left.sx/2)), int(math.Ceil((prior.Far+searchMargin)/left.sx/2))
	fit := stat.Regression{Columns: 3, Floor: placeFloor * left.sy, Prior: []float64{math.Inf(1), math.Inf(1), math.Inf(1)}}
	var cluster []int
	var t template
	light := left.transfer.Effective().LightTable()
	var stops []float64
	var blur blurs
	for _, c := range s.places {
		x, y := (float64(c[0])-left.cx)*left.sx, (float64(c[1])-left.cy)*left.sy
		down := int(math.Round((prior.Offset + prior.Roll*x + prior.Zoom*y) / left.sy / 2))
		hx, hy, ok := s.search.find(c[0]/2, c[1]/2, down, near, far, rows)
		if !ok || !t.take(s.left, c[0], c[1]) {
			continue
		}
		p, ok := t.refine(s.right, float64(c[0]+2*(hx-c[0]/2)), float64(c[1]+2*(hy-c[1]/2)))
		if !ok {
			continue
		}
		xr, yr := (p.x-right.cx)*right.sx, (p.y-right.cy)*right.sy
		dy := yr - y
		if prior.Rest != nil {
			dy -= prior.Rest(x, y, xr)
		}
		fit.Rows = append(fit.Rows, 1, xr, y)
		fit.Y = append(fit.Y, dy)
		se := p.se * left.sy
		fit.Base = append(fit.Base, 1/(se*se+stat.Sq(placeFloor*left.sy)))
		cluster = append(cluster, c[1]*tiles/left.Height*tiles+c[0]*tiles/left.Width)
		blur.add(s.left, c[0], c[1], s.right, int(math.Round(p.x)), int(math.Round(p.y)))
		if a, b := left.signal(t.mean), right.signal(p.mean); min(a, b) > minSignal && max(a, b) < maxSignal {
			stops = append(stops, math.Log2(light.At(b)/light.At(a)))
		}
	}
	n := len(fit.Y)
	if n < minPlaces {
		return r
	}
	// Weights about 1 keep the scale of the residuals a distance.
	typical := stat.Median(slices.Clone(fit.Base))
	for i := range fit.Base {
		fit.Base[i] /= typical
	}
	if !fit.Fit(false) {
		return r
	}
	agree := 0
	for _, w := range fit.W {
		if w > 0 {
			agree++
		}
	}
	if agree < minPlaces || float64(agree) < minShare*float64(n) {
		return r
	}
	cov := fit.Sandwich(fit.Inverse(), cluster)
	// What places of one part of the picture have in common goes with the parts.
	bias := stat.Sq(placeBias*left.sy) / tiles
	const degrees = 180 / math.Pi
	r.Places = agree
	r.Offset, r.Roll, r.Zoom = 100*fit.Coef[0], degrees*math.Atan(fit.Coef[1]), 100*fit.Coef[2]
	r.OffsetSE = 100 * math.Sqrt(cov.At(0, 0)+bias/tiles)
	r.RollSE = degrees * math.Sqrt(cov.At(1, 1)+12*bias/tiles/stat.Sq(float64(left.Width)*left.sx))
	r.ZoomSE = 100 * math.Sqrt(cov.At(2, 2)+12*bias/tiles)
	r.Blur, r.BlurSE = blur.variance(stat.Sq(1920 / float64(left.Width)))
	if len(stops) >= minPlaces {
		r.Exposure = stat.Median(slices.Clone(stops))
		r.ExposureSE = stat.Scatter(stops, r.Exposure)*math.Sqrt(math.Pi/2/float64(len(stops))) + 1e-3
	}
	return r
}

// Revision is raised whenever the readings change, so that records made before are measured
// again.
const Revision = 2
