package judge

import (
	"cmp"
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// Finding is one thing to tell about a clip, or about the day: a limit that was
// exceeded, or could not be judged.
type Finding struct {
	Clip string // empty for what is said of the day
	// Clips are those that a finding about the day lies between or is about, in the
	// order of the day; empty for what is said of one clip.
	Clips  []string
	Status Status
	// Limit is what was exceeded. It names nothing where the whole clip could
	// not be measured. What had to be undone before measuring, such as a turned eye, is
	// a fact whose limit is zero.
	Limit Limit
	Unit  string
	// Value ± SE is the statistic; meaningless when Status is Unmeasured.
	Value, SE float64
	// Extent is how many pixels of one eye's picture are 100 % of the value's unit, 0
	// where that is no part of the picture's width or height.
	Extent int
	Place
	Mend Mend
	// Realign says that what makes it is in the rig, and so in the next shot until the
	// rig is lined up, whoever mends this one.
	Realign bool
	// Missing says why a limit could not be judged, and Also names further metrics
	// that could not for the same reason.
	Missing string
	Also    []string
	// Detail is at most two short sentences: what is wrong, and what to do. Limit,
	// source and place are not repeated in it.
	Detail string
	// Notes are what else the clip tells of it, a sentence each.
	Notes []string

	cause cause
}

// Place is where in a clip a finding is.
type Place struct {
	// From and To are the timecodes, or the times h:mm:ss.mmm where the clip has
	// no timecode, between which the value is out of bounds; empty where there is no
	// such place. FrameFrom and FrameTo are the left eye's frames there.
	From, To           string
	FrameFrom, FrameTo int
	// Worst is the left eye's frame where it is worst, −1 where no single frame is.
	Worst int
}

// nowhere is the place of what holds for the whole clip.
var nowhere = Place{Worst: -1}

// Pixels returns the value in pixels of one eye's picture; false where its unit is
// no part of the picture's width or height.
func (f Finding) Pixels() (float64, bool) {
	return f.Value / 100 * float64(f.Extent), f.Extent > 0 && f.Status != Unmeasured
}

// Open reports whether nobody can tell on which side of the limit the value is.
func (f Finding) Open() bool {
	return f.Status != Unmeasured && f.Limit.open(f.measured())
}

func (f Finding) measured() stat.Measurement { return stat.Measured(f.Value, f.SE) }

// Exceeded returns the bound that a finding is about: the one that its value left or
// is nearest to. A finding without a value has one only where the range has just one,
// or is symmetric. A range without bounds has none.
func (f Finding) Exceeded() (bound float64, ok bool) {
	l := f.Limit
	if f.Status == Unmeasured && !math.IsInf(l.Low, 0) && !math.IsInf(l.High, 0) {
		return l.High, l.Low == -l.High
	}
	bound = l.bound(f.Value)
	return bound, !math.IsInf(bound, 0)
}

// excess says how far a finding is out of bounds, in parts of the bound, or in the
// value's own unit where the bound is zero; negative inside, and 0 where it has no
// value or no bound.
func (f Finding) excess() float64 {
	bound, ok := f.Exceeded()
	switch {
	case !ok || f.Status == Unmeasured:
		return 0
	case bound == 0:
		return f.Limit.excess(f.Value)
	}
	return f.Limit.excess(f.Value) / math.Abs(bound)
}

// Status is the judgement of a limit, and of a whole clip.
type Status string

const (
	Passed     Status = "pass"
	Warned     Status = "warn"
	Failed     Status = "fail"
	Unmeasured Status = "unmeasured"
)

// Statuses lists every judgement, worse ones first. What could not be measured is
// worse than a warning: it may be anything. It is never changed.
var Statuses = []Status{Failed, Unmeasured, Warned, Passed}

// Compare sorts the worse judgement first.
func (s Status) Compare(t Status) int {
	return cmp.Compare(slices.Index(Statuses, s), slices.Index(Statuses, t))
}

// Mend says who can put a finding right.
type Mend string

const (
	NoMend  Mend = ""
	Post    Mend = "post"    // the editor, with the correction given
	Reshoot Mend = "reshoot" // nobody: the shot must be taken again
	Rig     Mend = "rig"     // the rig crew, before the next shot
)

// Verdict is the judgement of one clip.
type Verdict struct {
	Clip     string
	Status   Status
	Findings []Finding // worst first
}

// Compare sorts the worse clip first: by verdict, then by its worst finding, then by
// how many findings it has.
func (v Verdict) Compare(w Verdict) int {
	return cmp.Or(v.Status.Compare(w.Status), cmp.Compare(w.maxExcess(), v.maxExcess()), cmp.Compare(len(w.Findings), len(v.Findings)))
}

// maxExcess returns how far the worst of the findings that make the verdict is out
// of bounds, −Inf without any.
func (v Verdict) maxExcess() float64 {
	worst := math.Inf(-1)
	for _, f := range v.Findings {
		if f.Status == v.Status {
			worst = max(worst, f.excess())
		}
	}
	return worst
}

// Compare sorts the worse finding first: by status, then by how far the value is out
// of bounds, measured by the bound.
func (f Finding) Compare(g Finding) int {
	return cmp.Or(f.Status.Compare(g.Status), cmp.Compare(g.excess(), f.excess()))
}
