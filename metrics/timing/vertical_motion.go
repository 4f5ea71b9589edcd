package timing

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

// VerticalMotion is how the picture as a whole moves up or down, turns and grows from one
// frame to the next: by so much a frame of delay between the eyes would look like
// a fault of the rig. Each is the median over the bursts of its size.
type VerticalMotion struct {
	Offset float64 `json:"offset"` // % of picture height per frame
	Roll   float64 `json:"roll"`   // degrees per frame
	Zoom   float64 `json:"zoom"`   // % per frame
}

// VerticalMotionOf returns the heave in the bursts, or nil when there are none.
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

// plane fits the places' vertical speeds by c₀ + c₁·x + c₂·y, robustly.
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
