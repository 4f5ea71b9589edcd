package judge

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/qc/record"
)

// fold leaves out of what was found on a clip what another finding says as well. It
// changes no verdict for the better but for a reason of its own, and changes none of
// its arguments.
type fold struct {
	name string
	fold func(record.Record, found) found
}

// folds lists every fold, in the order of applying them. It is never changed.
var folds = []fold{
	{"the causes of vertical disparity say why it is there", foldVertical},
	{"the median says what single moments say", foldExtremes},
	{"a change says what a drift says, or the other way round", foldChanges},
	{"a slip says why counts of frames differ", foldSlip},
	{"a wrong range flag makes all differences of light", foldRange},
	{"a difference of colour is the sum of the others", foldColour},
	{"the fields of an interlaced picture have each their own light", foldCombing},
	{"a blur makes differences of light", foldBlurredLight},
	{"a lens is soft at all depths, or focused elsewhere", foldSoftness},
	{"lenses that part in a focus pull are softer for a while", foldPull},
	{"a blur takes noise away", foldBlurredNoise},
	{"a picture that is missing shows nothing", foldBlank},
}

// folded applies all folds. One fold may leave out what another relied on: so of what is
// certainly beyond its limits the strongest stays, unless something as strong is left.
func folded(r record.Record, all found) found {
	left := all
	for _, f := range folds {
		left = f.fold(r, left)
	}
	worst := Passed
	for _, f := range all.exceeded {
		if f.certain() && f.Status.Compare(worst) < 0 {
			worst = f.Status
		}
	}
	asStrong := func(f Finding) bool { return f.Status.Compare(worst) <= 0 }
	if worst == Passed || slices.ContainsFunc(left.exceeded, asStrong) || slices.ContainsFunc(left.missing, asStrong) {
		return left
	}
	for _, f := range all.exceeded {
		if f.certain() && f.Status == worst {
			left.exceeded = append(slices.Clone(left.exceeded), f)
		}
	}
	return left
}

// certain reports whether a finding's value is beyond its limit by more than its error allows.
func (f Finding) certain() bool {
	return f.Limit.excess(f.Value) > record.Sure*f.SE
}

// verticalTerms are the errors of a rig of which vertical disparity is made.
var verticalTerms = []string{metrics.VerticalOffset, metrics.Roll, metrics.Zoom, metrics.Keystone, metrics.TiltKeystone, metrics.HeightStep, metrics.HeightSpread}

// without returns the findings but for some.
func without(findings []Finding, drop func(Finding) bool) []Finding {
	return slices.DeleteFunc(slices.Clone(findings), drop)
}

// about tells findings on some metrics, other than drifts.
func about(names ...string) func(Finding) bool {
	return func(f Finding) bool {
		return slices.Contains(names, f.Limit.Metric) && !slices.Contains([]*Statistic{Drift, Change, Oscillation}, f.Limit.Statistic)
	}
}

// firstAbout returns the first finding on a metric, other than a drift.
func firstAbout(findings []Finding, name string) (Finding, bool) {
	i := slices.IndexFunc(findings, about(name))
	if i < 0 {
		return Finding{}, false
	}
	return findings[i], true
}

// covered reports whether a finding that is as bad says the same.
func covered(findings []Finding, f Finding, same func(Finding) bool) bool {
	return slices.ContainsFunc(findings, func(g Finding) bool { return g.Status.Compare(f.Status) <= 0 && same(g) })
}

func foldVertical(_ record.Record, all found) found {
	timing := []string{metrics.SyncOffset, metrics.ReadoutSkew}
	all.exceeded = without(all.exceeded, func(f Finding) bool {
		name := f.Limit.Metric
		return (name == metrics.VerticalWorst || name == metrics.VerticalRest) && covered(all.exceeded, f, func(g Finding) bool {
			return slices.Contains(timing, g.Limit.Metric) || name == metrics.VerticalWorst && about(verticalTerms...)(g)
		})
	})
	return all
}

func foldExtremes(_ record.Record, all found) found {
	all.exceeded = without(all.exceeded, func(f Finding) bool {
		return f.Limit.Statistic.Extreme && covered(all.exceeded, f, func(g Finding) bool {
			same := g.Limit.Metric == f.Limit.Metric && (g.Value < g.Limit.Low) == (f.Value < f.Limit.Low)
			switch {
			case !same || g.Limit.Statistic == f.Limit.Statistic:
				return false
			case f.Limit.Statistic == Stretch:
				return g.Limit.Statistic.Level
			case g.Limit.Statistic == Stretch:
				return g.Status != f.Status // or both would go
			}
			return g.Limit.Statistic == Median
		})
	})
	return all
}

// foldChanges keeps of a drift and a change of the same metric the one that says more: the
// drift, where that is most of the change.
func foldChanges(_ record.Record, all found) found {
	const most = 0.8
	by := func(f Finding, s *Statistic) (Finding, bool) {
		i := slices.IndexFunc(all.exceeded, func(g Finding) bool {
			return g.Limit.Metric == f.Limit.Metric && g.Limit.Statistic == s && g.Status.Compare(f.Status) <= 0
		})
		if i < 0 {
			return Finding{}, false
		}
		return all.exceeded[i], true
	}
	all.exceeded = without(all.exceeded, func(f Finding) bool {
		switch f.Limit.Statistic {
		case Change:
			drift, ok := by(f, Drift)
			return ok && math.Abs(drift.Value) >= most*math.Abs(f.Value)
		case Drift:
			change, ok := by(f, Change)
			return ok && math.Abs(f.Value) < most*math.Abs(change.Value)
		}
		return false
	})
	return all
}

func foldSlip(r record.Record, all found) found {
	if _, slipped := firstAbout(all.exceeded, slipName); slipped {
		says := []string{FramesDifference, TimecodeDifference}
		if len(r.DoubtfulSlip()) > 0 {
			says = says[1:] // a frame may be missing, too
		}
		all.exceeded = without(all.exceeded, func(f Finding) bool {
			return about(says...)(f) && f.Value == float64(r.Header.Setup.Slip)
		})
	}
	return all
}

func foldPull(_ record.Record, all found) found {
	soft := about(metrics.Softness, metrics.SoftnessNear, metrics.SoftnessFar)
	all.exceeded = without(all.exceeded, func(f Finding) bool {
		return f.Limit.Statistic == Stretch && soft(f) && covered(all.exceeded, f, about(LensTravel, LensLag))
	})
	return all
}
