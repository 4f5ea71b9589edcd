package timing

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/geometry"
)

// A place that was lost on the way moves like nothing around it; a thing that moves by
// itself is seen at several places.
func TestPlacesThatMoveAloneAreLeftOut(t *testing.T) {
	const line = 1.0 / 540
	var places []MovingMatch
	for i := range 40 {
		for j := range 40 {
			p := MovingMatch{Match: geometry.Match{LeftX: float64(i)/40 - 0.5, LeftY: float64(j)/40 - 0.5}}
			p.Vy = (3 + float64(j)/40) * line // faster towards the bottom
			if i >= 20 && i < 24 && j >= 10 && j < 14 {
				p.Vy = -5 * line // a thing of its own
			}
			places = append(places, p)
		}
	}
	lost := []int{17, 403, 1012, 1599}
	for _, i := range lost {
		places[i].Vy += 2 * line
	}
	alone := MovingMatch{Match: geometry.Match{LeftX: 0.8, LeftY: 0}, Velocity: geometry.Velocity{Vy: 3 * line}}
	kept := supported(append(places, alone), maxEyeDifference*line)
	var want []MovingMatch
	next := 0
	for i, p := range places {
		if next < len(lost) && i == lost[next] {
			next++
			continue
		}
		want = append(want, p)
	}
	require.Equal(t, want, kept)
}
