package reports

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/synth"
)

// TestWaysUndoWhatIsWrong holds the ways on the card against rigs that are drawn with one error
// each, whose exact projection tells which metric shows it and with what sign.
func TestWaysUndoWhatIsWrong(t *testing.T) {
	for _, c := range []struct {
		wrong  string
		rig    synth.CameraError
		metric string
		value  func(synth.Injected) float64
		way    string
	}{
		{"too low", synth.CameraError{Height: 0.03}, metrics.HeightStep, func(in synth.Injected) float64 { return in.HeightStep }, "raise it"},
		{"its picture too high", synth.CameraError{Tilt: 0.2}, metrics.VerticalOffset, func(in synth.Injected) float64 { return in.VerticalOffset }, "tilt it until its picture has sunk"},
		{"its picture turned clockwise", synth.CameraError{Roll: 0.4}, metrics.Roll, func(in synth.Injected) float64 { return in.Roll }, "turn its picture anticlockwise"},
		{"too long", synth.CameraError{Focal: 0.01}, metrics.Zoom, func(in synth.Injected) float64 { return in.Zoom }, "shorten it"},
		{"too much toe-in", synth.CameraError{Pan: 0.5}, metrics.Keystone, func(in synth.Injected) float64 { return in.Keystone }, "less toe-in"},
	} {
		shot := synth.Shot{Scene: synth.Scenes[0]}
		shot.Rig.Camera = c.rig
		s := screws[c.metric]
		way := s.positive
		if c.value(shot.Truth(0).Injected) < 0 {
			way = s.negative
		}
		require.Equal(t, c.way, way, c.wrong)
		require.Equal(t, "right camera", s.Camera, c.wrong)
	}
}

func TestEachThingToAdjustHasItsScrew(t *testing.T) {
	for _, metric := range lineUpOrder {
		s := screws[metric]
		require.NotEmpty(t, s.Name, metric)
		require.NotEmpty(t, s.Camera, metric)
		require.NotEmpty(t, s.positive, metric)
		require.NotEmpty(t, s.negative, metric)
		require.NotEmpty(t, unit(metric), metric)
	}
}
