package history

import (
	"math"

	"nightpair/metrics/stat"
)

// sameDepth is how near the parallaxes of clips in a row are that may show the same things, in %
// of the picture's width. The project's own choice: two pixels of 1920.
const sameDepth = 0.1

// What it takes, in clips and in scenes, to tell what clips of one scene share. The project's own
// choice.
const (
	minForShare = 8
	minScenes   = 6
	clearScenes = 3 // times the variance that is due to known errors: less may be chance
)

// scenes parts the clips into runs that may show the same things: the first of each, and behind
// them the number of clips.
func (s *Series) scenes() []int {
	var first []int
	for i, o := range s.all {
		if i == 0 || !(math.Abs(o.scene-s.all[i-1].scene) <= sameDepth) {
			first = append(first, i)
		}
	}
	return append(first, len(s.all))
}

// share widens the errors of clips that show one scene, so that all of them together are as
// uncertain as what they have in common makes them. What they differ by among each other, beside
// their own errors, tells how much is common: where few of them do, all of it.
func (s *Series) share() {
	first := s.scenes()
	var ratios []float64
	for k, from := range first[:len(first)-1] {
		for i := from + 1; i < first[k+1]; i++ {
			ratios = append(ratios, stat.Sq(s.all[i].level-s.all[i-1].level)/(s.all[i].w.variance()+s.all[i-1].w.variance()))
		}
	}
	shared := 1.0
	if len(ratios) >= minForShare {
		shared = 1 - min(1, stat.Median(ratios)/medianOfSquare)
	}
	for k, from := range first[:len(first)-1] {
		n := float64(first[k+1] - from)
		for i := from; i < first[k+1]; i++ {
			s.all[i].w = s.all[i].w.times(1 / (1 + shared*(n-1)))
		}
	}
}

// scatterOfScenes adds what scenes differ by beyond the clips' errors, as the light or the focus
// of each set-up does, and reports whether there is such a thing. It shows in the differences
// of scenes in a row: of those between which no step was found, unless steps are so many that
// they are this scatter themselves.
func (s *Series) scatterOfScenes() bool {
	first := s.scenes()
	scenes := len(first) - 1
	if scenes == len(s.all) || scenes < minScenes {
		return false
	}
	slope := 0.0
	if s.slopeSE > 0 {
		slope = commonSlope(s.all)
	}
	var apart, variances []float64 // of a scene from the one before
	var mean, variance float64
	within := false
	step := 1 // the part of which the beginning was not yet come to
	for k, from := range first[:scenes] {
		n := float64(first[k+1] - from)
		before, uncertain := mean, variance
		mean, variance = 0, 0
		for i := from; i < first[k+1]; i++ {
			mean += (s.all[i].level - slope*s.from(s.all[i])) / n
			variance += s.all[i].w.variance() / (n * n)
		}
		stepped := within // a step within a scene parts it from both that lie beside it
		within = false
		for step < len(s.parts) && s.parts[step].from < first[k+1] {
			stepped = true
			within = within || s.parts[step].from > from
			step++
		}
		if few := len(s.parts)-1 <= scenes/3; k > 0 && !(few && stepped) {
			apart, variances = append(apart, mean-before), append(variances, variance+uncertain)
		}
	}
	if excess(apart, scaled(clearScenes, variances)) == 0 {
		return false
	}
	between := excess(apart, variances) / 2 // of two scenes
	for k, from := range first[:scenes] {
		for i := from; i < first[k+1]; i++ {
			s.all[i].w = s.all[i].w.blurred(float64(first[k+1]-from)*between, 0)
		}
	}
	return true
}

func scaled(by float64, values []float64) []float64 {
	all := make([]float64, len(values))
	for i, v := range values {
		all[i] = by * v
	}
	return all
}
