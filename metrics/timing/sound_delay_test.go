package timing_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/timing"
)

// sounds makes noise-like sound that the right camera hears late, through another
// microphone, with hiss of its own.
func sounds(samples, late int, hiss float64) (left, right []float32) {
	rng := rand.New(rand.NewPCG(4, 5))
	const room = 8000
	all := make([]float64, samples+2*room)
	low := 0.0
	for i := range all {
		low = 0.9*low + rng.NormFloat64()
		all[i] = low
	}
	left, right = make([]float32, samples), make([]float32, samples)
	for i := range samples {
		left[i] = float32(0.1*all[room+i] + 0.1*hiss*rng.NormFloat64())
		j := room + i - late
		right[i] = float32(0.03*(all[j]-0.6*all[j-1]) + 0.03*hiss*rng.NormFloat64())
	}
	return left, right
}

// The wanted delay is a check value of the reference: noise that is late by 137
// samples at 48 kHz, with noise added, is late by 137 samples or 2.854 ms.
func TestSoundDelay(t *testing.T) {
	for _, late := range []int{137, -137, 0, 2000, -7800} {
		left, right := sounds(96000, late, 0.5)
		m := timing.SoundDelay(left, right, 48000, 8000)
		require.True(t, m.OK(), "%d: %s", late, m.Missing)
		require.Equal(t, float64(late), math.Round(m.Value))
	}
	left, right := sounds(96000, 137, 0.5)
	require.InDelta(t, 2.854, 1000*timing.SoundDelay(left, right, 48000, 8000).Value/48000, 0.011)
}

func TestSoundDelayOfNothingInCommon(t *testing.T) {
	left, _ := sounds(96000, 0, 0.1)
	rng := rand.New(rand.NewPCG(8, 9))
	other := make([]float32, len(left))
	for i := range other {
		other[i] = float32(rng.NormFloat64())
	}
	require.Equal(t, "the eyes' sounds have too little in common", timing.SoundDelay(left, other, 48000, 8000).Missing)
	require.Equal(t, "silence", timing.SoundDelay(left, make([]float32, 96000), 48000, 8000).Missing)
	require.Equal(t, "too little sound", timing.SoundDelay(left[:1000], other, 48000, 8000).Missing)
	require.Equal(t, "too little sound", timing.SoundDelay(nil, nil, 48000, 8000).Missing)
	// A delay beyond the reach is not taken for one within it.
	left, right := sounds(96000, 7000, 0.1)
	require.False(t, timing.SoundDelay(left, right, 48000, 3000).OK())
}
