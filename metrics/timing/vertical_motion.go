package timing

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

// VerticalMotion is how fast the picture as a whole moves up or down, turns and grows: what
// a delay of one frame between the eyes would add to the rig's vertical offset, roll and
// zoom. Each is the median of its size over the bursts, never negative.
type VerticalMotion struct {
	Offset float64 `json:"offset"` // % of picture height per frame
	Roll   float64 `json:"roll"`   // degrees per frame
	Zoom   float64 `json:"zoom"`   // % per frame
}

// VerticalMotionOf returns the vertical motion in the bursts, or nil where none has places.
func VerticalMotionOf(bursts []*Burst) *VerticalMotion {
	var offset, roll, zoom []float64
	for _, b := range bursts {
		if b.missing != "" {
			continue
		}
		if motion, ok := b.plane(); ok {
			offset = append(offset, 100*math.Abs(motion[0]))
			roll = append(roll, math.Abs(motion[1])*180/math.Pi)
			zoom = append(zoom, 100*math.Abs(motion[2]))
		}
	}
	if len(offset) == 0 {
		return nil
	}
	return &VerticalMotion{Offset: stat.Median(offset), Roll: stat.Median(roll), Zoom: stat.Median(zoom)}
}

// plane fits the places' vertical speeds by c₀ + c₁·x + c₂·y, robustly, in picture heights
// per frame. It reports false where the places do not determine it.
func (b *Burst) plane() (c [3]float64, ok bool) {
	n := len(b.places)
	r := stat.Regression{Columns: 3, Floor: geometry.ResidualFloor, Prior: []float64{math.Inf(1), math.Inf(1), math.Inf(1)},
		Rows: make([]float64, 0, 3*n), Y: make([]float64, n), Base: make([]float64, n)}
	for i := range b.places {
		p := &b.places[i]
		r.Rows = append(r.Rows, 1, p.LeftX, p.LeftY)
		r.Y[i], r.Base[i] = p.Vy, 1
	}
	if !r.Fit(false) {
		return c, false
	}
	copy(c[:], r.Coef)
	return c, true
}
