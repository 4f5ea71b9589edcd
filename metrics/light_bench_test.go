package metrics_test

import (
	"testing"
	"time"

	"nightpair/metrics"
)

// BenchmarkLight compares the cost of all that is measured of the light with that of
// the correspondences it rests on: matching, the fit of the geometry and the dense
// map. Wanted by the project: a ratio below 1.
func BenchmarkLight(b *testing.B) {
	left, right := benchPair(b)
	parallax, _ := metrics.Lookup("near_parallax")
	var shared, light time.Duration
	b.ResetTimer()
	for range b.N {
		p := &metrics.Pair{Left: left, Right: right}
		start := time.Now()
		if m := parallax.Measure(p); !m.OK() {
			b.Fatal(m.Missing)
		}
		matched := time.Now()
		for _, name := range lightMetrics {
			m, ok := metrics.Lookup(name)
			if !ok {
				b.Fatal(name)
			}
			m.Measure(p)
		}
		shared += matched.Sub(start)
		light += time.Since(matched)
	}
	b.ReportMetric(float64(shared.Microseconds())/1000/float64(b.N), "ms-matching/op")
	b.ReportMetric(float64(light.Microseconds())/1000/float64(b.N), "ms-light/op")
	b.ReportMetric(light.Seconds()/shared.Seconds(), "light/matching")
}

var lightMetrics = []string{
	"exposure", "red_balance", "blue_balance", "black_lift", "colour_difference",
	"softness", "softness_near", "softness_far", "focus_left", "focus_right", "rivalry",
	"blank", "clipping", "noise", "combing", "overlay",
}
