package geometry

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// flatMatches are matches of something flat at a parallax, as a right camera sees them that
// stands higher by a share of the interaxial distance and is tilted besides: the vertical
// disparity is tilt + height·p.
func flatMatches(parallax, tilt, height float64, rng *rand.Rand) []Match {
	var list []Match
	const pixel = 1.0 / 540
	for y := -0.45; y <= 0.45; y += 0.05 {
		for x := -0.8; x <= 0.8; x += 0.05 {
			list = append(list, Match{
				LeftX: x, LeftY: y, RightX: x + parallax + 0.03*pixel*rng.NormFloat64(), RightY: y + tilt + height*parallax + 0.03*pixel*rng.NormFloat64(),
				VerticalSE: 0.03 * pixel, parallaxSE: 0.03 * pixel, Correlation: 1, Unambiguous: true, framePixel: pixel,
			})
		}
	}
	return list
}

// One flat clip tells tilt and camera height together alone, two at different parallaxes tell them
// apart: the sum of their information has the truth within its errors, which are far below the
// prior's.
func TestStatesOfFlatScenesTellHeightTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	const tilt, height, trials = 0.004, 0.02, 40
	within := 0
	for range trials {
		information, sum := mat.NewSymDense(2, nil), mat.NewVecDense(2, nil)
		for _, parallax := range []float64{-0.02, 0.05} {
			fit, reason := FitRig(flatMatches(parallax, tilt, height, rng), 0)
			require.Empty(t, reason)
			require.Greater(t, fit.SE(Terms{TermHeight: 1}), 0.9*PriorSE[TermHeight], "one alone says nothing about height")
			s, ok := fit.State()
			require.True(t, ok)
			require.InDelta(t, parallax, s.Parallax, 1e-3)
			// What is seen here is tilt + height·own: one number with its information, all else
			// being left to itself.
			cov := invert(t, s.Information)
			row := [2]float64{1, s.Parallax}
			for i := range 2 {
				for j := range 2 {
					if j >= i {
						information.SetSym(i, j, information.At(i, j)+row[i]*row[j]/cov)
					}
				}
				sum.SetVec(i, sum.AtVec(i)+row[i]*s.Terms[TermOffset]/cov)
			}
		}
		var inverse mat.Cholesky
		require.True(t, inverse.Factorize(information))
		var got mat.VecDense
		require.NoError(t, inverse.SolveVecTo(&got, sum))
		var both mat.SymDense
		require.NoError(t, inverse.InverseTo(&both))
		require.Less(t, math.Sqrt(both.At(1, 1)), 0.1*PriorSE[TermHeight])
		if math.Abs(got.AtVec(1)-height) <= 2*math.Sqrt(both.At(1, 1)) && math.Abs(got.AtVec(0)-tilt) <= 2*math.Sqrt(both.At(0, 0)) {
			within++
		}
	}
	require.GreaterOrEqual(t, within, trials*9/10)
}

// invert returns the variance of the offset that an information gives with the prior of all else.
func invert(t *testing.T, information [TermCount][TermCount]float64) float64 {
	all := mat.NewSymDense(TermCount, nil)
	for i := range TermCount {
		for j := i; j < TermCount; j++ {
			require.Equal(t, information[i][j], information[j][i])
			v := information[i][j]
			if i == j && !math.IsInf(PriorSE[i], 1) {
				v += 1 / (PriorSE[i] * PriorSE[i])
			}
			all.SetSym(i, j, v)
		}
	}
	var parts mat.Cholesky
	require.True(t, parts.Factorize(all))
	var cov mat.SymDense
	require.NoError(t, parts.InverseTo(&cov))
	return cov.At(TermOffset, TermOffset)
}

func TestStateAsJSON(t *testing.T) {
	fit, reason := FitRig(flatMatches(0.01, 0.002, 0.01, rand.New(rand.NewPCG(1, 1))), 0)
	require.Empty(t, reason)
	s, ok := fit.State()
	require.True(t, ok)
	text, err := json.Marshal(s)
	require.NoError(t, err)
	require.Less(t, len(text), 1000)
	var back State
	require.NoError(t, json.Unmarshal(text, &back))
	for i := range TermCount {
		require.InDelta(t, s.Terms[i], back.Terms[i], 1e-5*math.Abs(s.Terms[i]))
		for j := range TermCount {
			require.InDelta(t, s.Information[i][j], back.Information[i][j], 1e-5*math.Abs(s.Information[i][j]))
		}
	}
	require.Error(t, json.Unmarshal([]byte(`{"parallax":0,"terms":[1],"information":[]}`), &back))
}
