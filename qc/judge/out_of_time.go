package judge

import (
	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// outOfTime reports whether a delay between the eyes, as large as the clip does not rule out,
// could alone produce the amount by which a value exceeds a limit, and half of its error.
func outOfTime(s record.Sync, l Limit, value stat.Measurement) bool {
	if s.Motion == nil || !l.Statistic.mistimed {
		return false
	}
	reach := 0.0
	switch m := s.Motion; l.Metric {
	case metrics.VerticalOffset:
		reach = m.Delay * m.Offset
	case metrics.Roll:
		reach = m.Delay * m.Roll
	case metrics.Zoom:
		reach = m.Delay*m.Zoom + m.Skew*m.Offset
	case metrics.VerticalWorst:
		reach = (m.Delay + m.Skew/2) * m.Offset
	}
	return reach > max(l.excess(value.Value), record.Sure*value.SE/2)
}
