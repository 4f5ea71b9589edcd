package geometry

import (
	"encoding/json"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// State is how the rig stands as one picture tells it, in a form that can be put together with
// those of other pictures: the coefficients and the information about them, without what was
// known before.
type State struct {
	// Parallax is the scene's own, in picture heights, at which offset, zoom and keystone are
	// told (see Fit.Parallax).
	Parallax float64
	Terms    Terms // offset, roll and zoom are those of the similarity
	// Information is the inverse of the terms' covariance, symmetric, without that of PriorSE.
	// What the picture does not tell is 0 in it.
	Information [TermCount][TermCount]float64
}

// State returns how the rig stands, as this picture alone tells it; false where the covariance
// cannot be inverted.
//
// The covariance holds the prior. Its inverse less that of the prior is what the picture adds.
// Since errors that parts of the picture have in common widen the covariance, less than nothing
// may remain in a direction: there the picture adds nothing.
func (g *Fit) State() (State, bool) {
	s := State{Parallax: g.Parallax, Terms: g.Terms}
	s.Terms[TermOffset], s.Terms[TermRoll], s.Terms[TermZoom] = g.Offset(), math.Tan(g.Roll()), g.Zoom()
	cov := mat.NewSymDense(TermCount, nil)
	for i := range TermCount {
		for j := i; j < TermCount; j++ {
			cov.SetSym(i, j, g.cov[i][j])
		}
	}
	var inverse mat.Cholesky
	var information mat.SymDense
	if !inverse.Factorize(cov) || inverse.InverseTo(&information) != nil {
		return State{}, false
	}
	// In units of the prior's standard errors, where there is one, all directions compare.
	var unit Terms
	for i, se := range PriorSE {
		unit[i] = 1
		if !math.IsInf(se, 1) {
			unit[i] = se
		}
	}
	for i := range TermCount {
		for j := i; j < TermCount; j++ {
			v := information.At(i, j) * unit[i] * unit[j]
			if i == j && !math.IsInf(PriorSE[i], 1) {
				v--
			}
			information.SetSym(i, j, v)
		}
	}
	var parts mat.EigenSym
	if !parts.Factorize(&information, true) {
		return State{}, false
	}
	var vectors mat.Dense
	parts.VectorsTo(&vectors)
	for k, value := range parts.Values(nil) {
		if value <= 0 {
			continue
		}
		for i := range TermCount {
			for j := i; j < TermCount; j++ {
				s.Information[i][j] += value * vectors.At(i, k) * vectors.At(j, k) / (unit[i] * unit[j])
				s.Information[j][i] = s.Information[i][j]
			}
		}
	}
	return s, true
}

// storedState is a state as records keep it.
type storedState struct {
	Parallax    float64   `json:"parallax"`
	Terms       []float64 `json:"terms"`
	Information []float64 `json:"information"` // rows of the upper triangle
}

// stateDigits is to how many digits records keep a state.
const stateDigits = 6

// significant rounds to stateDigits digits.
func significant(v float64) float64 {
	if v == 0 {
		return 0
	}
	scale := math.Pow(10, stateDigits-1-math.Floor(math.Log10(math.Abs(v))))
	if rounded := math.Round(v*scale) / scale; !math.IsNaN(rounded) && !math.IsInf(rounded, 0) {
		return rounded
	}
	return v
}

// MarshalJSON writes the state with the rows of the upper triangle of its information.
func (s State) MarshalJSON() ([]byte, error) {
	stored := storedState{Parallax: significant(s.Parallax)}
	for i := range TermCount {
		stored.Terms = append(stored.Terms, significant(s.Terms[i]))
		for j := i; j < TermCount; j++ {
			stored.Information = append(stored.Information, significant(s.Information[i][j]))
		}
	}
	return json.Marshal(stored)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (s *State) UnmarshalJSON(data []byte) error {
	var stored storedState
	if err := json.Unmarshal(data, &stored); err != nil {
		return err
	}
	if len(stored.Terms) != TermCount || len(stored.Information) != TermCount*(TermCount+1)/2 {
		return fmt.Errorf("a state of %d terms and %d cells of information", len(stored.Terms), len(stored.Information))
	}
	*s = State{Parallax: stored.Parallax, Terms: Terms(stored.Terms)}
	k := 0
	for i := range TermCount {
		for j := i; j < TermCount; j++ {
			s.Information[i][j], s.Information[j][i] = stored.Information[k], stored.Information[k]
			k++
		}
	}
	return nil
}
