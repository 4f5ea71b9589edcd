package stat

import (
	"encoding/json"
	"fmt"
	"math"
)

// Measurement is a value with its standard error, or the reason why there is
// none. The zero value, with neither, is a measurement that was never tried.
type Measurement struct {
	Value float64
	SE    float64 // standard error, in the unit of the value
	// Missing says why the value could not be measured; empty when it was.
	Missing  string
	measured bool
}

// Measured returns a measurement with a value. It panics unless value and se are finite
// and se is not negative: anything else is a mistake in the program.
func Measured(value, se float64) Measurement {
	if math.IsNaN(value) || math.IsInf(value, 0) || math.IsNaN(se) || math.IsInf(se, 0) || se < 0 {
		panic(fmt.Sprintf("stat: measured %v ± %v", value, se))
	}
	return Measurement{Value: value, SE: se, measured: true}
}

// Missing returns a measurement that could not be made, for the given reason.
func Missing(reason string) Measurement {
	return Measurement{Missing: reason}
}

// OK reports whether there is a value.
func (m Measurement) OK() bool { return m.measured }

type measurementJSON struct {
	Value   *float64 `json:"value"`
	SE      *float64 `json:"se,omitempty"`
	Missing string   `json:"missing,omitempty"`
}

// MarshalJSON writes {"value":v,"se":s}, or {"value":null,"missing":"reason"}.
func (m Measurement) MarshalJSON() ([]byte, error) {
	if !m.measured {
		return json.Marshal(measurementJSON{Missing: m.Missing})
	}
	return json.Marshal(measurementJSON{Value: &m.Value, SE: &m.SE})
}

// UnmarshalJSON reads what MarshalJSON writes.
func (m *Measurement) UnmarshalJSON(data []byte) error {
	var j measurementJSON
	if err := json.Unmarshal(data, &j); err != nil {
		return err
	}
	if j.Value == nil {
		*m = Missing(j.Missing)
		return nil
	}
	var se float64
	if j.SE != nil {
		se = *j.SE
	}
	if se < 0 {
		return fmt.Errorf("negative standard error %v", se)
	}
	*m = Measured(*j.Value, se)
	return nil
}
