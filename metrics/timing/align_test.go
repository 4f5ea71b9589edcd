package timing_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
	"nightpair/metrics/timing"
)

// aligned aligns two files that are taken to begin and to end together.
func aligned(left, right []*picture.Signature) timing.Alignment {
	e := timing.Evidence{Start: []int{0}, End: []int{len(right) - len(left)}}
	if m := timing.FindSlip(left, right, 48); m.OK() {
		e.Slip, e.Certain = int(math.Round(m.Value)), true
	}
	return timing.WatchAll(left, right, e).Alignment
}

// alignedClips are clips in sync of 120 frames, or as many as there are, and whether they
// move enough for most faults to be told.
func alignedClips(t *testing.T) map[string]signed {
	clips := map[string]signed{"crowd": drawnScene(t, "crowd").offset(20, 120, 0)}
	bricks, _ := synth.Named("bricks")
	bricks.Name += ", hand-held"
	bricks.Camera = handHeldCamera
	clips["bricks"] = drawnEyes(t, bricks, 24, drawnRun).offset(20, 120, 0)
	clips["pedestrians"] = realEyes(t, pedestrians).offset(20, 120, 0)
	clips["cartoon"] = realEyes(t, cartoon).offset(20, 120, 0)
	clips["phone"] = realEyes(t, handHeld)
	if synth.LongSweeps() {
		for _, name := range []string{"stairs", "yard", "street", "corridor"} {
			clips[name] = drawnScene(t, name).offset(20, 120, 0)
		}
	}
	return clips
}

// A frame that one eye drops or repeats in any tenth of a clip is told to the frame, or the
// end where it is counts as unclear.
func TestAlignToldOrUnclear(t *testing.T) {
	tenths := []float64{0.5, 2, 4, 6, 8}
	if synth.LongSweeps() {
		tenths = []float64{0.5, 1, 2, 3, 4, 5, 6, 7, 8, 9, 9.5}
	}
	for name, s := range alignedClips(t) {
		n := min(len(s.left), len(s.right))
		left, right := s.left[:n], s.right[:n]
		a := aligned(left, right)
		require.Empty(t, a.Faults, "%s: nothing is wrong", name)
		require.Zero(t, a.Start, name)
		told, cases := 0, 0
		for _, tenth := range tenths {
			k := int(tenth * float64(n) / 10)
			for fault, c := range map[string]struct {
				left, right []*picture.Signature
				want        timing.FrameFault
			}{
				"dropped":       {left, without(right, k, k+1), timing.FrameFault{Right: true, Kind: timing.Dropped, Frame: k, Count: 1, Step: -1, StepKnown: true}},
				"dropped left":  {without(left, k, k+1), right, timing.FrameFault{Kind: timing.Dropped, Frame: k, Count: 1, Step: 1, StepKnown: true}},
				"inserted":      {left, held(right, k, 1), timing.FrameFault{Right: true, Kind: timing.Repeated, Frame: k, Count: 1, Step: 1, StepKnown: true}},
				"inserted left": {held(left, k, 1), right, timing.FrameFault{Kind: timing.Repeated, Frame: k, Count: 1, Step: -1, StepKnown: true}},
			} {
				cases++
				got := aligned(c.left, c.right)
				unclear := slices.ContainsFunc(got.Unclear, func(u timing.Stretch) bool { return k >= u.From && k <= u.To })
				if len(got.Faults) == 0 || !got.Faults[0].StepKnown {
					require.True(t, unclear || len(got.Faults) == 1, "%s, %s at %d of %d: %+v", name, fault, k, n, got)
					continue
				}
				if unclear {
					continue // on which side of it the slip holds is left open
				}
				told++
				require.Len(t, got.Faults, 1, "%s, %s at %d of %d: %+v", name, fault, k, n, got)
				require.LessOrEqual(t, stat.Abs(got.Faults[0].Frame-k), got.Faults[0].Within, "%s, %s at %d of %d: %+v", name, fault, k, n, got)
				got.Faults[0].Frame, got.Faults[0].Within = k, 0
				require.Equal(t, c.want, got.Faults[0], "%s, %s at %d of %d: %+v", name, fault, k, n, got)
				require.Zero(t, got.Start, "%s, %s at %d of %d: %+v", name, fault, k, n, got)
			}
		}
		t.Logf("%s: %d of %d told", name, told, cases)
		switch name {
		case "crowd", "bricks", "pedestrians":
			require.GreaterOrEqual(t, told, cases*3/4, name)
		case "cartoon":
			require.GreaterOrEqual(t, told, cases/2, name)
		}
	}
}

// A clip that starts a frame late is no clip that drops one.
func TestAlignOfAConstantSlip(t *testing.T) {
	for name, s := range map[string]signed{"pedestrians": realEyes(t, pedestrians), "crowd": drawnScene(t, "crowd")} {
		for _, slip := range []int{-3, -1, 1} {
			for _, from := range []int{10, 60, 130} {
				piece := s.offset(from, 120, slip)
				got := aligned(piece.left, piece.right)
				require.Empty(t, got.Faults, "%s, %d from %d", name, slip, from)
				require.Equal(t, slip, got.Start, "%s, %d from %d", name, slip, from)
			}
		}
	}
}

// Where an end rests, nothing is claimed of it.
func TestAlignOfARestingEnd(t *testing.T) {
	s := drawnScene(t, "crowd").offset(20, 120, 0)
	for name, c := range map[string]struct {
		rest timing.Stretch // of both eyes
		drop int
	}{
		"start": {timing.Stretch{From: 0, To: 40}, 20},
		"end":   {timing.Stretch{From: 80, To: 120}, 100},
	} {
		rest := func(list []*picture.Signature) []*picture.Signature {
			out := slices.Clone(list)
			at := c.rest.To - 1
			if c.rest.From > 0 {
				at = c.rest.From
			}
			for i := c.rest.From; i < c.rest.To; i++ {
				out[i] = list[at]
			}
			return out
		}
		left, right := rest(s.left), rest(s.right)
		for what, r := range map[string][]*picture.Signature{"in sync": right, "dropped": without(right, c.drop, c.drop+1)} {
			got := aligned(left, r)
			require.Empty(t, got.Faults, "%s, %s", name, what)
			require.Len(t, got.Unclear, 1, "%s, %s", name, what)
			require.True(t, got.Unclear[0].From <= c.drop && got.Unclear[0].To >= c.drop, "%s, %s: %v", name, what, got.Unclear)
		}
	}
}

func TestAlignOfTooLittle(t *testing.T) {
	require.Equal(t, timing.Alignment{Start: 2}, timing.Align(nil, nil, timing.Evidence{Slip: 2}))
	s := realEyes(t, handHeld)
	require.Empty(t, timing.Align(s.left[:10], s.right[:9], timing.Evidence{}).Faults)
}
