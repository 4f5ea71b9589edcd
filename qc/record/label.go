package record

import (
	"fmt"
	"time"
)

// FrameLabel says when a frame of the left eye is.
func (r Record) FrameLabel(frame int) string {
	left := r.Header.Left
	m := Moment{Frame: frame, Timecode: Timecode(left.Timecode, left.RateNum, left.RateDen, frame)}
	if rate := left.Rate(); rate > 0 {
		m.Time = time.Duration(float64(frame) / rate * float64(time.Second))
	}
	return m.Label()
}

// Label says when a moment is: its timecode or, without one, its time.
func (m Moment) Label() string {
	if m.Timecode != "" {
		return m.Timecode
	}
	t := m.Time.Round(time.Millisecond)
	return fmt.Sprintf("%d:%02d:%02d.%03d", t/time.Hour, t/time.Minute%60, t/time.Second%60, t/time.Millisecond%1000)
}
