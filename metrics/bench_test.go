package metrics_test

import (
	"slices"
	"testing"

	"nightpair/metrics"
	"nightpair/metrics/synth"
)

// benchPair is an everyday pair in HD.
func benchPair(b *testing.B) (left, right *metrics.Frame) {
	b.Helper()
	left, right, _ = synth.Shot{Scene: scene(b, "yard"), Width: 1920, Height: 1080, Noise: 1.5, Seed: 1}.Render(0)
	return left, right
}

// scene finds a drawn scene by its name.
func scene(t testing.TB, name string) synth.Scene {
	t.Helper()
	i := slices.IndexFunc(synth.Scenes, func(s synth.Scene) bool { return s.Name == name })
	if i < 0 {
		t.Fatalf("no scene %q", name)
	}
	return synth.Scenes[i]
}

func BenchmarkMatches(b *testing.B) {
	left, right := benchPair(b)
	b.ResetTimer()
	for range b.N {
		p := &metrics.Pair{Left: left, Right: right}
		if m, reason := p.Matches(); len(m) == 0 {
			b.Fatal(reason)
		}
	}
}

func BenchmarkGeometry(b *testing.B) {
	left, right := benchPair(b)
	offset, _ := metrics.Lookup("vertical_offset")
	b.ResetTimer()
	for range b.N {
		if m := offset.Measure(&metrics.Pair{Left: left, Right: right}); !m.OK() {
			b.Fatal(m.Missing)
		}
	}
}
