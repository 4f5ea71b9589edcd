package reports

import (
	"strconv"

	"nightpair/metrics"
)

// rivalryMap is where the eyes differ in light though not in shape, on the mean over
// the moments of a clip.
type rivalryMap struct {
	Columns, Rows int
	Parts         []rivalryPart
}

// rivalryPart is a part of the picture that differs; Share is 0 to 1.
type rivalryPart struct {
	X, Y  int
	Share string
}

// rivalryLeast is the share of a part of the picture, in %, from which on it is
// drawn.
const rivalryLeast = 5

// rivalry draws the map of a clip; nil where there is nothing to draw.
func (c *clip) rivalry() *rivalryMap {
	const columns, rows = metrics.RivalryColumns, metrics.RivalryRows
	var total [columns * rows]int
	moments := 0
	for _, m := range c.Moments {
		if !m.Values[metrics.Rivalry].OK() {
			continue
		}
		moments++
		if len(m.Rivalry) == len(total) {
			for i, share := range m.Rivalry {
				total[i] += int(share)
			}
		}
	}
	out := &rivalryMap{Columns: columns, Rows: rows}
	for i, sum := range total {
		if sum > 0 && sum >= rivalryLeast*moments {
			share := float64(sum) / float64(100*moments)
			out.Parts = append(out.Parts, rivalryPart{i % columns, i / columns, strconv.FormatFloat(share, 'f', 2, 64)})
		}
	}
	if out.Parts == nil {
		return nil
	}
	return out
}
