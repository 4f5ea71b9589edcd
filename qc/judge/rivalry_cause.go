package judge

import (
	"fmt"

	"nightpair/metrics"
	"nightpair/qc/record"
)

// What the places tell of the cause of rivalry: the project's own choice.
const (
	rivalryThere  = 20  // % of a part of the picture that must differ for it to count
	rivalrySteady = 0.8 // of the moments in which a part has to differ to stay in one place
	rivalrySpeck  = 3.0 // % of the picture that dirt covers at most
	rivalryMoving = 3   // moments it takes to tell what stays from what moves
)

// mendRivalry says what to look for.
func mendRivalry(c judgedClip, _ Finding) (Mend, string, bool) {
	cause := rivalryCause(c.record)
	return Reshoot, cause, cause != ""
}

// rivalryCause says what to look for, guessed from where a rivalry lies, moment by moment;
// empty where there is nothing to guess from.
func rivalryCause(r record.Record) string {
	const columns, rows = metrics.RivalryColumns, metrics.RivalryRows
	var often [columns * rows]int
	var total [columns * rows]float64
	moments := 0
	for _, m := range r.Moments {
		if len(m.Rivalry) != columns*rows {
			continue
		}
		moments++
		for i, share := range m.Rivalry {
			total[i] += float64(share)
			if share >= rivalryThere {
				often[i]++
			}
		}
	}
	if moments == 0 {
		return ""
	}
	var sum, steady, x, y float64
	var corners [4]float64
	for i, t := range total {
		u, v := float64(i%columns)+0.5, float64(i/columns)+0.5
		sum, x, y = sum+t, x+t*u, y+t*v
		if float64(often[i]) >= rivalrySteady*float64(moments) {
			steady += t
		}
		if (u < columns/5.0 || u > columns*4/5.0) && (v < rows/4.0 || v > rows*3/4.0) {
			k := 0
			if u > columns/2 {
				k++
			}
			if v > rows/2 {
				k += 2
			}
			corners[k] += t
		}
	}
	if sum == 0 {
		return ""
	}
	inCorners, all := 0, 0.0
	for _, c := range corners {
		if c > sum/12 {
			inCorners++
		}
		all += c
	}
	area := sum / float64(moments) / (columns * rows) // % of the picture
	switch {
	case inCorners >= 3 && all > sum/2:
		return "Look for a vignette of one lens or the mirror's edge: it lies in the corners."
	case moments >= rivalryMoving && steady > sum/2 && area <= rivalrySpeck:
		return fmt.Sprintf("Look for dirt or a drop on a lens or on the glass: it stays %s.", placePhrase(x/sum/columns, y/sum/rows))
	default:
		return fmt.Sprintf("Look for flare, or a reflection that the mirror shows one camera alone: it lies %s.", placePhrase(x/sum/columns, y/sum/rows))
	}
}

// placePhrase says where in the picture a place is, x and y from 0 to 1.
func placePhrase(x, y float64) string {
	third := func(v float64, low, high string) string {
		switch {
		case v < 1.0/3:
			return low
		case v > 2.0/3:
			return high
		}
		return ""
	}
	down, across := third(y, "top", "bottom"), third(x, "left", "right")
	switch {
	case down != "" && across != "":
		return "at the " + down + " " + across
	case down != "":
		return "at the " + down
	case across != "":
		return "at the " + across
	}
	return "in the middle"
}
