package coarse

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"

	"nightpair/metrics/stat"
)

// Series is how the right eye differs from the left in consecutive frames, from the left
// eye's frame First on.
type Series struct {
	First    int   `json:"first"`
	Offset   Curve `json:"vertical_offset"` // % of picture height
	Roll     Curve `json:"roll"`            // degrees
	Zoom     Curve `json:"zoom"`            // %
	Exposure Curve `json:"exposure"`        // stops
	Blur     Curve `json:"blur"`            // px² of a picture 1920 wide, see Reading
}

// curves lists the series' curves.
func (s *Series) curves() []*Curve {
	return []*Curve{&s.Offset, &s.Roll, &s.Zoom, &s.Exposure, &s.Blur}
}

// Add appends what a frame shows.
func (s *Series) Add(r Reading) {
	known := r.Places > 0
	s.Offset.add(r.Offset, r.OffsetSE, known)
	s.Roll.add(r.Roll, r.RollSE, known)
	s.Zoom.add(r.Zoom, r.ZoomSE, known)
	s.Exposure.add(r.Exposure, r.ExposureSE, known && r.ExposureSE > 0)
	s.Blur.add(r.Blur, r.BlurSE, known && r.BlurSE > 0)
}

// Append adds the readings of the frames that follow; an error where others come, or the lists
// are not of one length.
func (s *Series) Append(next Series) error {
	if next.First != s.First+s.Len() {
		return fmt.Errorf("frame %d after frame %d", next.First, s.First+s.Len()-1)
	}
	following := next.curves()
	for i, c := range s.curves() {
		c.Value, c.SE = append(c.Value, following[i].Value...), append(c.SE, following[i].SE...)
	}
	return s.Check()
}

// Check returns an error where the lists are not of one length.
func (s *Series) Check() error {
	for _, c := range s.curves() {
		if len(c.Value) != s.Len() || len(c.SE) != s.Len() {
			return errors.New("readings of different numbers of frames")
		}
	}
	return nil
}

// Len returns the number of frames.
func (s *Series) Len() int { return len(s.Offset.Value) }

// Curve is a value for each frame with its standard error, both NaN where it is not known.
type Curve struct {
	Value, SE []float64
}

func (c *Curve) add(value, se float64, known bool) {
	if !known {
		value, se = math.NaN(), math.NaN()
	}
	c.Value, c.SE = append(c.Value, value), append(c.SE, se)
}

// curveDigits is to how many decimals a record keeps a curve.
const curveDigits = 4

// MarshalJSON writes two lists, with null for what is not known.
func (c Curve) MarshalJSON() ([]byte, error) {
	list := func(out []byte, values []float64) []byte {
		out = append(out, '[')
		for i, v := range values {
			if i > 0 {
				out = append(out, ',')
			}
			if math.IsNaN(v) {
				out = append(out, "null"...)
			} else {
				out = strconv.AppendFloat(out, stat.Rounded(v, curveDigits), 'f', -1, 64)
			}
		}
		return append(out, ']')
	}
	out := list([]byte(`{"value":`), c.Value)
	out = list(append(out, `,"se":`...), c.SE)
	return append(out, '}'), nil
}

// UnmarshalJSON reads what MarshalJSON writes.
func (c *Curve) UnmarshalJSON(data []byte) error {
	var in struct{ Value, SE []*float64 }
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	read := func(list []*float64) []float64 {
		var out []float64
		for _, v := range list {
			if v == nil {
				out = append(out, math.NaN())
			} else {
				out = append(out, *v)
			}
		}
		return out
	}
	c.Value, c.SE = read(in.Value), read(in.SE)
	return nil
}
