// Package drawn invents the records of a rig's clips over a day, with known truth: for tests of
// what is told of a rig from records alone, without any picture.
package drawn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"gonum.org/v1/gonum/mat"

	"nightpair/metrics"
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// Aspect is the width over the height of the pictures, which are of 1920×1080 pixels.
const Aspect = 16.0 / 9

// Stand is how a rig stands: its coefficients at zero parallax, and by how many stops the right
// eye is brighter.
type Stand struct {
	Terms    geometry.Terms
	Exposure float64
}

// Rig is a rig over a day.
type Rig struct {
	Name  string
	Clips int
	// Flat says that each scene lies at one depth; otherwise they have depth.
	Flat bool
	// Same says that all scenes lie at the same parallax.
	Same bool
	// Takes is how many clips in a row show the same scene, with the errors that it makes; 0 is 1.
	Takes int
	// At returns how the rig stands in a clip, at k of the day, from 0 to 1.
	At func(clip int, k float64) Stand
}

// moments is how many moments of a clip are measured.
const moments = 4

// values are told of each moment without anything being wrong.
var values = []string{
	metrics.RedBalance, metrics.BlueBalance, metrics.BlackLift, metrics.Softness, metrics.SyncOffset,
}

// Records invents the records of the clips: in each a few points whose vertical disparity is read
// with noise, half of which is common to all moments of the clip, fitted as geometry.FitRig fits
// matches, with its prior.
func (d Rig) Records(rng *rand.Rand) []record.Record {
	var all []record.Record
	var own, light float64
	var common geometry.Terms
	var points []point
	for clip := range d.Clips {
		k := float64(clip) / float64(max(1, d.Clips-1))
		s := d.At(clip, k)
		if clip%max(1, d.Takes) == 0 {
			own = 0.01
			if !d.Same {
				own = 0.06 * (rng.Float64() - 0.5) // picture heights
			}
			spread := 0.02
			if d.Flat {
				spread = 0
			}
			common, light, points = noise(rng), 0.01*rng.NormFloat64(), scatter(rng, own, spread)
		}
		// A crew shoots in bursts: the clips are not evenly spread.
		begun := time.Date(2031, 3, 4, 8, 0, 0, 0, time.UTC).Add(time.Duration((float64(clip) + 0.6*rng.Float64()) * 10 * float64(time.Minute)))
		source := record.Source{RateNum: 24, RateDen: 1, Frames: 24 * moments, Width: 1920, Height: 1080, PixelAspect: 1, Created: begun, Camera: d.Name + " left"}
		right := source
		right.Camera = d.Name + " right"
		r := record.Record{
			Header: record.Header{
				Clip: record.Clip{Name: fmt.Sprintf("%s %03d", d.Name, clip)}, Left: source, Right: right,
				EyeWidth: 1920, EyeHeight: 1080, PixelAspect: 1, Planned: moments,
			},
			Trailer: record.Trailer{Done: true},
		}
		for m := range moments {
			state := fitted(points, own, s.Terms, common, noise(rng))
			moment := record.Moment{Frame: 24 * m, Time: time.Duration(m) * time.Second, Rig: &state, Values: map[string]stat.Measurement{}}
			for _, name := range values {
				moment.Values[name] = stat.Measured(0.01*rng.NormFloat64(), 0.01)
			}
			moment.Values[metrics.Exposure] = stat.Measured(s.Exposure+light, 0.01)
			r.Moments = append(r.Moments, moment)
		}
		all = append(all, r)
	}
	return all
}

type point struct{ x, y, parallax float64 }

func noise(rng *rand.Rand) (z geometry.Terms) {
	for i := range z {
		z[i] = rng.NormFloat64()
	}
	return z
}

func scatter(rng *rand.Rand, own, spread float64) []point {
	points := make([]point, 40)
	for i := range points {
		points[i] = point{Aspect * (rng.Float64() - 0.5), rng.Float64() - 0.5, own + spread*rng.NormFloat64()}
	}
	return points
}

// readingError is that of a point's vertical disparity, so that a clip tells its offset to about
// a tenth of a line of 1080.
const readingError = 6e-4

// fitted returns what a fit of the points tells of a rig that stands as given at zero parallax.
func fitted(points []point, own float64, rig geometry.Terms, common, z geometry.Terms) geometry.State {
	s := geometry.State{Parallax: own}
	truth := rig
	truth[geometry.TermOffset] += own * rig[geometry.TermHeight]
	truth[geometry.TermZoom] += own*rig[geometry.TermForward] - own*own*rig[geometry.TermBarrel]
	truth[geometry.TermKeystone] += 2 * own * rig[geometry.TermBarrel]
	var none geometry.Terms
	for _, p := range points {
		f := none.Factors(p.x, p.y, p.x+p.parallax, p.y, own)
		for i := range f {
			for j := range f {
				s.Information[i][j] += f[i] * f[j] / (readingError * readingError)
			}
		}
	}
	n := geometry.TermCount
	full := mat.NewSymDense(n, nil)
	bare := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			bare.SetSym(i, j, s.Information[i][j])
			full.SetSym(i, j, s.Information[i][j])
		}
		full.SetSym(i, i, full.At(i, i)+1/stat.Sq(geometry.PriorSE[i]))
	}
	// Noise of the covariance that the information has, by its eigenvectors.
	var parts mat.EigenSym
	if !parts.Factorize(bare, true) {
		panic("drawn: no eigenvectors")
	}
	var vectors mat.Dense
	parts.VectorsTo(&vectors)
	side := mat.NewVecDense(n, nil)
	side.MulVec(bare, mat.NewVecDense(n, truth[:]))
	for k, value := range parts.Values(nil) {
		if value > 0 {
			side.AddScaledVec(side, math.Sqrt(value/2)*(common[k]+z[k]), vectors.ColView(k))
		}
	}
	var chol mat.Cholesky
	var told mat.VecDense
	if !chol.Factorize(full) || chol.SolveVecTo(&told, side) != nil {
		panic("drawn: the fit has no solution")
	}
	for i := range n {
		s.Terms[i] = told.AtVec(i)
	}
	return s
}
