package judge

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// rig is a right eye's picture that is out of line, in the metrics' units.
type rig struct{ offset, roll, zoom, keystone float64 }

// see says where the right eye sees what the left one sees at p, for things at
// zero parallax.
func (g rig) see(p picturePoint, aspect float64) picturePoint {
	sin, cos := math.Sincos(g.roll * math.Pi / 180)
	s := 1 + g.zoom/100
	p = picturePoint{s * (cos*p.x - sin*p.y), s*(sin*p.x+cos*p.y) + g.offset/100}
	w := 1 - 4*g.keystone/100/aspect*p.x
	return picturePoint{p.x / w, p.y / w}
}

func (g rig) record() record.Record {
	return recordOf(map[string][]stat.Measurement{
		"vertical_offset": steady(5, g.offset, 0.01), "roll": steady(5, g.roll, 0.01),
		"zoom": steady(5, g.zoom, 0.01), "keystone": steady(5, g.keystone, 0.01),
	})
}

// TestRigOfTheTestReadsBack holds that the drawn rig shows what the metrics are
// defined to be: the terms of the vertical disparity over the picture.
func TestRigOfTheTestReadsBack(t *testing.T) {
	const aspect = 16.0 / 9
	want := rig{offset: 0.4, roll: 0.3, zoom: -0.5, keystone: 0.2}
	var rows, down []float64
	for _, y := range []float64{-0.5, -0.2, 0.1, 0.5} {
		for _, x := range []float64{-0.85, -0.3, 0.2, 0.8} {
			q := want.see(picturePoint{x, y}, aspect)
			rows = append(rows, 1, q.x, y, q.x*y)
			down = append(down, q.y-y)
		}
	}
	var fit mat.VecDense
	require.NoError(t, fit.SolveVec(mat.NewDense(len(down), 4, rows), mat.NewVecDense(len(down), down)))
	// To first order: products of the errors remain.
	require.InDelta(t, want.offset, 100*fit.AtVec(0), 0.01)
	require.InDelta(t, want.roll, fit.AtVec(1)*180/math.Pi, 0.02)
	require.InDelta(t, want.zoom, 100*fit.AtVec(2), 0.01)
	require.InDelta(t, want.keystone, 100*fit.AtVec(3)*aspect/4, 0.01)
}

func TestCorrectionUndoesTheRig(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	for range 200 {
		g := rig{offset: 3 * rng.NormFloat64(), roll: 2 * rng.NormFloat64(), zoom: 3 * rng.NormFloat64(), keystone: rng.NormFloat64()}
		c := Correct(g.record(), nil)
		require.Equal(t, 16.0/9, c.Aspect)
		for range 10 {
			p := picturePoint{(rng.Float64() - 0.5) * c.Aspect, rng.Float64() - 0.5}
			q := c.apply(g.see(p, c.Aspect))
			require.InDelta(t, p.x, q.x, 1e-9, "%+v", g)
			require.InDelta(t, p.y, q.y, 1e-9, "%+v", g)
		}
	}
}

func TestCropOfCorrections(t *testing.T) {
	for _, c := range []struct {
		name string
		rig  rig
		want float64
	}{
		{"nothing", rig{}, 0},
		// A picture moved by 2 % leaves 98 %, if the cut is moved along.
		{"offset", rig{offset: 2}, 2},
		{"offset up", rig{offset: -2}, 2},
		// A larger picture is made smaller and then fills 1/1.04 of the frame; a
		// smaller one is enlarged and fills it all.
		{"larger", rig{zoom: 4}, 100 * (1 - 1/1.04)},
		{"smaller", rig{zoom: -4}, 0},
		// The upright rectangle within one turned by θ, both of aspect a:
		// 1/(cos θ + a·sin θ) of its size.
		{"roll", rig{roll: 1}, 100 * (1 - 1/(math.Cos(math.Pi/180)+16.0/9*math.Sin(math.Pi/180)))},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.InDelta(t, c.want, Correct(c.rig.record(), nil).Crop, 1e-6)
		})
	}
	require.InDelta(t, 100, Correct(rig{offset: 120}.record(), nil).Crop, 1e-9)
}

// TestNoLargerCropFits tries rectangles somewhat larger than the one found.
func TestNoLargerCropFits(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	for range 30 {
		g := rig{offset: rng.NormFloat64(), roll: rng.NormFloat64(), zoom: 2 * rng.NormFloat64(), keystone: 0.5 * rng.NormFloat64()}
		c := Correct(g.record(), nil)
		fits := func(x, y, k float64) bool {
			for _, corner := range c.frame() {
				p := picturePoint{x + k*corner.x, y + k*corner.y}
				// A place of the corrected picture is filled if the right eye has it,
				// which the rig itself tells.
				q := g.see(p, c.Aspect)
				for _, r := range []picturePoint{p, q} {
					if math.Abs(r.x) > c.Aspect/2+1e-9 || math.Abs(r.y) > 0.5+1e-9 {
						return false
					}
				}
			}
			return true
		}
		k := 1 - c.Crop/100
		found := false
		for x := -0.05; x <= 0.05; x += 0.0005 {
			for y := -0.05; y <= 0.05; y += 0.0005 {
				require.False(t, fits(x, y, k+0.0005), "%+v", g)
				found = found || fits(x, y, k-0.002)
			}
		}
		require.True(t, found, "%+v: %v", g, c.Crop)
	}
}

func TestParallaxIsShiftedNoFurtherThanItTakes(t *testing.T) {
	limits := []Limit{
		{Metric: "near_parallax", Statistic: Lowest, Low: -3, High: math.Inf(1), Severity: Warn},
		{Metric: "near_parallax", Statistic: Lowest, Low: -4, High: math.Inf(1), Severity: Fail},
		{Metric: "far_parallax", Statistic: Top, Low: math.Inf(-1), High: 1, Severity: Warn},
		{Metric: "far_parallax", Statistic: Top, Low: math.Inf(-1), High: 2, Severity: Fail},
		{Metric: "far_parallax", Statistic: Drift, Low: -0.1, High: 0.1, Severity: Fail},
	}
	for _, c := range []struct {
		name      string
		near, far float64
		shift     float64
		within    Severity
	}{
		{"within", -2, 0.5, 0, Warn},
		{"too far behind", -1, 1.5, -0.5, Warn},
		{"too far in front", -4.5, -3, 1.5, Warn},
		{"within the limits to fail only", -3.5, 1.8, 0, Fail},
		{"to be brought within those", -3, 2.5, -0.5, Fail},
		{"too deep", -5, 3, 0, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := recordOf(map[string][]stat.Measurement{"near_parallax": steady(5, c.near, 0), "far_parallax": steady(5, c.far, 0)})
			shift, within := parallaxShift(r, limits)
			require.Equal(t, c.within, within)
			require.InDelta(t, c.shift, shift, 1e-12)
			require.InDelta(t, c.shift, valueOr(Correct(r, limits).ShiftX, 0), 1e-12)
			require.InDelta(t, math.Abs(c.shift), Correct(r, limits).Crop, 1e-6)
		})
	}
}

func TestCorrectionOfTheSetup(t *testing.T) {
	r := recordOf(map[string][]stat.Measurement{"exposure": steady(5, 0.5, 0.02)})
	r.Header.Setup = record.Setup{Packing: record.Separate, Right: picture.Flop, Order: record.Swapped, Slip: 3}
	c := Correct(r, nil)
	require.Equal(t, picture.Flop, c.RightTurn)
	require.True(t, c.Exchange)
	require.Equal(t, -3, c.Slip, "the file named right, which comes late, is the left eye")
	require.Equal(t, stat.Measured(-0.5, 0.02), c.Exposure)
	require.Equal(t, "it was not measured", c.Roll.Missing)
	require.Equal(t, "it was not measured", c.ShiftX.Missing)
	require.Zero(t, c.Crop)
}

func TestTransformTable(t *testing.T) {
	r := rig{offset: 1, zoom: 25}.record()
	r.Header.Clip.Name = "a, b"
	for i := range r.Moments {
		delete(r.Moments[i].Values, "keystone")
	}
	r.Header.Setup.Right, r.Header.Setup.Either = picture.Flip, true
	table := TransformTable([]Correction{Correct(r, nil)})
	require.Len(t, table, 2)
	row := map[string]string{}
	for i, column := range table[0] {
		row[column] = table[1][i]
	}
	require.Len(t, row, len(table[1]))
	for column, want := range map[string]string{
		"clip": "a, b", "left_turn": "upright", "right_turn": "either flip", "exchange_eyes": "no", "slip_frames": "0",
		"keystone_percent": "", "roll_degrees": "0.0000", "scale": "0.800000", "exposure_stops": "",
		// 1 % of 1080 lines, scaled by 0.8.
		"shift_y_percent": "-0.8000", "shift_y_px": "-8.64", "shift_x_px": "0.00", "crop_percent": "20.00",
		// The corners of 1920 × 1080 come in by a tenth, less the shift.
		"top_left_x_px": "192.00", "top_left_y_px": fmt.Sprintf("%.2f", 108-8.64),
		"bottom_right_x_px": "-192.00", "bottom_right_y_px": fmt.Sprintf("%.2f", -108-8.64),
	} {
		require.Equal(t, want, row[column], column)
	}
}
