package metrics

// Records keep the revision of each metric, so that those made before its figures changed are
// measured again. Metrics whose figures change together share one. A constant that is raised
// raises those derived from it.
const (
	geometryRevision         = 6
	parallaxRevision         = 4
	focusParallaxRevision    = 2
	edgeViolationRevision    = 4
	balanceRevision          = 6
	exposureRevision         = balanceRevision + 1 // was changed alone once
	rivalryRevision          = 6
	colourDifferenceRevision = 3
	softnessRevision         = 5
	lensFocusRevision        = 3
	oneEyeRevision           = 2 // what is seen in one eye's picture alone
	syncRevision             = 4
	skewRevision             = syncRevision + 1 // was changed alone once
)
