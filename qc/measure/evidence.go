package measure

import (
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/depth"
	"nightpair/qc/record"
)

// What a moment keeps besides the figures of its metrics is what metrics give of a
// pair that is no figure.

const (
	// swatchesPerMoment is how many places of each moment go into the record: some
	// 3,000 of a clip, at the price of a tenth of its stills.
	swatchesPerMoment = 128
	// spreadTold is the smallest share of the picture that must tell its parallax for its
	// spread to be kept. The project's own choice; the metrics of parallax ask for as
	// much.
	spreadTold = 0.25
)

// addEvidence keeps in a moment what the pair shows.
func addEvidence(m *record.Moment, pair *metrics.Pair) {
	m.Rig = pair.RigState()
	if spread, _ := pair.Spread(); spread != nil && spread.Coverage >= spreadTold {
		m.Parallax = spread
	}
	// The top and the bottom edge matter less, and alone not at all.
	atSide := func(e depth.EdgeViolation) bool { eye, _ := e.Mask(); return eye != "" }
	if edges, _ := pair.EdgeViolations(); slices.ContainsFunc(edges, atSide) {
		m.EdgeViolations = edges
	}
	if swatches := pair.Swatches(swatchesPerMoment); len(swatches.Places) > 0 {
		m.Swatches = &swatches
	}
	m.Rivalry = pair.RivalryMap()
}
