package light

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// Swatches are places that both eyes show, with each eye's signals of red, green and blue:
// what a colour decision is fitted to and compared with.
type Swatches struct {
	Transfer  picture.Transfer
	Primaries picture.Primaries
	Places    []Swatch
}

// Swatch is one place as both eyes show it: signals of red, green and blue, black 0 and
// white 1.
type Swatch struct{ Left, Right [3]float64 }

// With returns the swatches with the places of others, as long as both have the same transfer
// curve and primaries.
func (s Swatches) With(others Swatches) Swatches {
	if len(s.Places) == 0 {
		return others
	}
	if s.Transfer.Effective() == others.Transfer.Effective() && s.Primaries == others.Primaries {
		s.Places = append(s.Places[:len(s.Places):len(s.Places)], others.Places...)
	}
	return s
}

// Difference returns the median colour difference of the places, ΔE00, with the right eye
// graded; see the metric colour_difference. It is missing without places.
func (s Swatches) Difference(g Grade) stat.Measurement {
	if len(s.Places) == 0 {
		return stat.Missing("no places that both eyes show")
	}
	light, toLab := s.Transfer.LightTable(), LabFrom(s.Primaries)
	all := make([]float64, len(s.Places))
	for i := range s.Places {
		l, r := s.Places[i].Left, g.Apply(s.Places[i].Right)
		all[i] = Ciede2000(toLab(light.At(l[0]), light.At(l[1]), light.At(l[2])), toLab(light.At(r[0]), light.At(r[1]), light.At(r[2])))
	}
	centre := stat.Median(all)
	// The variance of a median is π/2 times that of a mean, and the standard deviation of a
	// normal distribution √(π/2) times its mean absolute deviation.
	var sum float64
	for _, v := range all {
		sum += math.Abs(v - centre)
	}
	n := float64(len(all))
	return stat.Measured(centre, sum/n*math.Sqrt(math.Pi/2)*math.Sqrt(math.Pi/2/n))
}

// Exposure returns by how many stops the right eye is brighter once graded: the median over
// the green of places that are neither dark nor clipped; see the metric exposure. It is
// missing with fewer than minGradePlaces.
func (s Swatches) Exposure(g Grade) stat.Measurement {
	light := s.Transfer.LightTable()
	var stops []float64
	for i := range s.Places {
		l, r := s.Places[i].Left[1], g.Apply(s.Places[i].Right)[1]
		if min(l, r) > Darkest && max(l, r) < Brightest {
			stops = append(stops, math.Log2(light.At(r)/light.At(l)))
		}
	}
	if len(stops) < minGradePlaces {
		return stat.Missing(TooFewPlaces)
	}
	centre, spread := medianSpread(stops)
	return stat.Measured(centre, stat.MADToSigma*spread*math.Sqrt(math.Pi/2/float64(len(stops))))
}

// Signals are kept as 16-bit numbers from −0.25 to 1.25.
const swatchLow, swatchSpan = -0.25, 1.5

type swatchesJSON struct {
	Transfer  picture.Transfer  `json:"transfer"`
	Primaries picture.Primaries `json:"primaries"`
	// Signals are red, green, blue of the left and of the right eye, big-endian,
	// place after place.
	Signals []byte `json:"signals"`
}

// MarshalJSON writes the places compactly, with steps of a 40,000th of full scale.
func (s Swatches) MarshalJSON() ([]byte, error) {
	j := swatchesJSON{Transfer: s.Transfer, Primaries: s.Primaries}
	for _, p := range s.Places {
		for _, v := range [...]float64{p.Left[0], p.Left[1], p.Left[2], p.Right[0], p.Right[1], p.Right[2]} {
			j.Signals = binary.BigEndian.AppendUint16(j.Signals, uint16(math.Round(unitClamp((v-swatchLow)/swatchSpan)*math.MaxUint16)))
		}
	}
	return json.Marshal(j)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (s *Swatches) UnmarshalJSON(data []byte) error {
	var j swatchesJSON
	if err := json.Unmarshal(data, &j); err != nil {
		return err
	}
	const size = 12
	switch {
	case len(j.Signals)%size != 0:
		return errors.New("signals that are no whole places")
	case j.Transfer > picture.LogCurve || j.Primaries > picture.PrimariesP3:
		return errors.New("signals of an unknown coding")
	}
	*s = Swatches{Transfer: j.Transfer, Primaries: j.Primaries}
	for at := 0; at < len(j.Signals); at += size {
		var v [6]float64
		for k := range v {
			v[k] = swatchLow + swatchSpan*float64(binary.BigEndian.Uint16(j.Signals[at+2*k:]))/math.MaxUint16
		}
		s.Places = append(s.Places, Swatch{[3]float64(v[:3]), [3]float64(v[3:])})
	}
	return nil
}
