package qc

import (
	"cmp"
	"math"
)

// Finding is one thing to tell about a clip: a limit that was exceeded, or
// could not be judged.
type Finding struct {
	Clip   string // empty for what is said of the day
	Status Status // Warned, Failed or Unmeasured
	// Limit is what was exceeded. It names nothing where the whole clip could
	// not be measured; what a clip's set-up has in it that a sound clip does not
	// need is a fact whose limit is zero.
	Limit Limit
	Unit  string
	// Value ± SE is the statistic; meaningless when Status is Unmeasured.
	Value, SE float64
	// From and To are the timecodes, or the times h:mm:ss.mmm where the clip has
	// no timecode, between which the value is out of bounds; Worst is the left
	// eye's frame where it is worst, −1 where no single frame is.
	From, To string
	Worst    int
	Mend     Mend
	// Realign says that what makes it is in the rig, and so in the next shot until the
	// rig is lined up, whoever mends this one.
	Realign bool
	Detail  string // a sentence or two for the reader
}

// Status is the judgement of a limit, and of a whole clip.
type Status string

const (
	Passed     Status = "pass"
	Warned     Status = "warn"
	Failed     Status = "fail"
	Unmeasured Status = "unmeasured"
)

// rank orders judgements, worse ones first. What could not be measured is worse
// than a warning: it may be anything.
func (s Status) rank() int {
	switch s {
	case Failed:
		return 0
	case Unmeasured:
		return 1
	case Warned:
		return 2
	}
	return 3
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

// compareFindings sorts the worse one first: by status, then by how far the
// value is out of bounds, measured by the bound.
func compareFindings(a, b Finding) int {
	return cmp.Or(cmp.Compare(a.Status.rank(), b.Status.rank()), cmp.Compare(b.relativeExcess(), a.relativeExcess()))
}

func (f Finding) relativeExcess() float64 {
	if f.Status == Unmeasured {
		return 0
	}
	excess, bound := f.Limit.excess(f.Value), math.Abs(f.Limit.Bound(f.Value))
	if bound == 0 {
		return excess
	}
	return excess / bound
}
