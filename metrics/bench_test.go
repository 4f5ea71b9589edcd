package metrics_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// benchPair is an everyday pair in HD.
func benchPair(b *testing.B) (left, right *picture.Frame) {
	b.Helper()
	left, right, _ = synth.Shot{Scene: scene(b, "yard"), Width: 1920, Height: 1080, Noise: 1.5, Seed: 1}.Render(0)
	return left, right
}

// scene finds a drawn scene by its name.
func scene(t testing.TB, name string) synth.Scene {
	t.Helper()
	s, ok := synth.Named(name)
	require.True(t, ok, name)
	return s
}

func BenchmarkMatches(b *testing.B) {
	left, right := benchPair(b)
	for b.Loop() {
		p := &metrics.Pair{Left: left, Right: right}
		if m, reason := p.Matches(); len(m) == 0 {
			b.Fatal(reason)
		}
	}
}

func BenchmarkGeometry(b *testing.B) {
	left, right := benchPair(b)
	offset, _ := metrics.Lookup("vertical_offset")
	for b.Loop() {
		if m := offset.Measure(&metrics.Pair{Left: left, Right: right}); !m.OK() {
			b.Fatal(m.Missing)
		}
	}
}
