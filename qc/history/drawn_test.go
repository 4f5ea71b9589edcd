package history

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"nightpair/metrics"
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

const aspect = 16.0 / 9

// stand is how a drawn rig stands at zero parallax, as coefficients, and its light.
type stand struct {
	terms    geometry.Terms
	exposure float64
}

// drawnRig is a rig over a drawn day.
type drawnRig struct {
	name  string
	clips int
	// flat says that each scene lies at one depth; otherwise they have depth.
	flat bool
	// same says that all scenes lie at the same parallax.
	same bool
	// at returns how the rig stands in a clip, at k of the day, from 0 to 1.
	at func(clip int, k float64) stand
}

const moments = 4

// draw draws the records of a rig's clips: in each a few points whose vertical disparity is read
// with noise, half of which is common to all moments of the clip, fitted as geometry.FitRig fits
// matches, with its prior.
func draw(t testing.TB, rng *rand.Rand, d drawnRig) []record.Record {
	t.Helper()
	var all []record.Record
	for clip := range d.clips {
		k := float64(clip) / float64(max(1, d.clips-1))
		s := d.at(clip, k)
		own := 0.01
		if !d.same {
			own = 0.06 * (rng.Float64() - 0.5) // picture heights
		}
		spread := 0.02
		if d.flat {
			spread = 0
		}
		// A crew shoots in bursts: the clips are not evenly spread.
		begun := time.Date(2031, 3, 4, 8, 0, 0, 0, time.UTC).Add(time.Duration((float64(clip) + 0.6*rng.Float64()) * 10 * float64(time.Minute)))
		source := record.Source{RateNum: 24, RateDen: 1, Frames: 24 * moments, Width: 1920, Height: 1080, PixelAspect: 1, Created: begun, Camera: d.name + " left"}
		right := source
		right.Camera = d.name + " right"
		r := record.Record{
			Header: record.Header{
				Clip: record.Clip{Name: fmt.Sprintf("%s %03d", d.name, clip)}, Left: source, Right: right,
				EyeWidth: 1920, EyeHeight: 1080, PixelAspect: 1, Planned: moments,
			},
			Trailer: record.Trailer{Done: true},
		}
		common := noise(rng)
		light := 0.01 * rng.NormFloat64()
		points := scatter(rng, own, spread)
		for m := range moments {
			state := fitted(t, points, own, s.terms, common, noise(rng))
			moment := record.Moment{Frame: 24 * m, Time: time.Duration(m) * time.Second, Rig: &state, Values: map[string]stat.Measurement{}}
			for _, term := range Terms {
				moment.Values[term.Name] = stat.Measured(0.01*rng.NormFloat64(), 0.01)
			}
			moment.Values[metrics.Exposure] = stat.Measured(s.exposure+light, 0.01)
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
		points[i] = point{aspect * (rng.Float64() - 0.5), rng.Float64() - 0.5, own + spread*rng.NormFloat64()}
	}
	return points
}

// readingError is that of a point's vertical disparity, so that a clip tells its offset to about
// a tenth of a line of 1080.
const readingError = 6e-4

// fitted returns what a fit of the points tells of a rig that stands as given at zero parallax.
func fitted(t testing.TB, points []point, own float64, rig geometry.Terms, common, z geometry.Terms) geometry.State {
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
	require.True(t, parts.Factorize(bare, true))
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
	require.True(t, chol.Factorize(full))
	var told mat.VecDense
	require.NoError(t, chol.SolveVecTo(&told, side))
	for i := range n {
		s.Terms[i] = told.AtVec(i)
	}
	return s
}
