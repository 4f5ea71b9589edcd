package qc

// Finding is one thing to tell about a clip: a limit that was exceeded, or
// could not be judged.
type Finding struct {
	Clip   string
	Status Status // Warned, Failed or Unmeasured
	Limit  Limit
	Unit   string
	// Value ± SE is the statistic; meaningless when Status is Unmeasured.
	Value, SE float64
	// From and To are the timecodes, or the times h:mm:ss.mmm where the clip has
	// no timecode, between which the value is out of bounds; Worst is the left
	// eye's frame where it is worst, −1 where no single frame is.
	From, To string
	Worst    int
	Mend     Mend
	Detail   string // a sentence for the reader
}

// Status is the judgement of a limit, and of a whole clip.
type Status string

const (
	Passed     Status = "pass"
	Warned     Status = "warn"
	Failed     Status = "fail"
	Unmeasured Status = "unmeasured"
)

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
