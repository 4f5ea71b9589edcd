package reports

import (
	"slices"

	"nightpair/metrics"
)

// median is provisional: it becomes the statistic that judging uses.
func (c *clip) median(m metrics.Metric) metrics.Measurement {
	var v []float64
	why := ""
	for _, mo := range c.Moments {
		x := mo.Values[m.Name]
		if x.OK() {
			v = append(v, x.Value)
		} else {
			why = x.Missing
		}
	}
	if len(v) == 0 {
		return metrics.Missing(why)
	}
	slices.Sort(v)
	return metrics.Measured(v[len(v)/2], 0.01)
}
