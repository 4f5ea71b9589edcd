package judge

import (
	"fmt"

	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/number"
	"nightpair/qc/record"
)

// faultFacts names the facts that count frame faults.
var faultFacts = map[string]timing.FaultKind{
	DroppedFrames:  timing.Dropped,
	RepeatedFrames: timing.Repeated,
	BlackFrames:    timing.Black,
}

// framesOf makes a fact of the number of frames of a kind of fault, in both eyes.
func framesOf(kind timing.FaultKind) func(record.Record) stat.Measurement {
	return func(r record.Record) stat.Measurement {
		switch variable := r.Header.Left.Variable || r.Header.Right.Variable; {
		case variable && kind == timing.Dropped: // time stamps tell it
		case r.Header.Sync.Scanned == 0:
			return stat.Missing(record.NotScanned)
		}
		n := 0
		for _, h := range r.Header.Sync.Faults {
			if h.Kind == kind {
				n += h.Count
			}
		}
		return stat.Measured(float64(n), 0)
	}
}

// placeOfFrameFaults returns where the frame faults that a fact counts begin and end, the
// first being the worst; other facts hold for the whole clip.
func placeOfFrameFaults(r record.Record, l Limit) Place {
	list := faultsOf(r, l.Metric)
	if len(list) == 0 {
		return nowhere
	}
	first, last := list[0], list[len(list)-1]
	return Place{
		From: faultLabel(r, first), To: faultLabel(r, last),
		FrameFrom: leftFrame(r, first), FrameTo: leftFrame(r, last), Worst: leftFrame(r, first),
	}
}

func faultsOf(r record.Record, fact string) (list []timing.FrameFault) {
	for _, h := range r.Header.Sync.Faults {
		if kind, ok := faultFacts[fact]; ok && h.Kind == kind {
			list = append(list, h)
		}
	}
	return list
}

// leftFrame returns the left eye's frame that goes with a fault, about where time stamps
// tell it.
func leftFrame(r record.Record, h timing.FrameFault) int {
	if h.At != 0 {
		return int(h.At.Seconds() * r.Header.Left.Rate())
	}
	if h.Right {
		return max(h.Frame-r.Header.Sync.Start, 0)
	}
	return h.Frame
}

// faultLabel says when a fault is.
func faultLabel(r record.Record, h timing.FrameFault) string {
	if h.At != 0 {
		return record.Moment{Time: h.At}.Label()
	}
	return r.FrameLabel(leftFrame(r, h))
}

// sayFrameFaults says which eye has the frame faults that a fact counts, or that either
// has some.
func sayFrameFaults(has string) func(judgedClip, Finding) string {
	return func(c judgedClip, f Finding) string {
		var right, left bool
		for _, h := range faultsOf(c.record, f.Limit.Metric) {
			if h.Right != (c.record.Header.Setup.Order == record.Swapped) {
				right = true
			} else {
				left = true
			}
		}
		eye := "one or the other eye"
		switch {
		case right && !left:
			eye = "the right eye"
		case left && !right:
			eye = "the left eye"
		}
		return eye + " " + has + " " + f.amount(f.Value)
	}
}

// maxFaultNotes is how many frame faults a finding spells out.
const maxFaultNotes = 5

func notesOnFrameFaults(c judgedClip, f Finding) []string {
	return frameFaults(c.record, f.Limit.Metric)
}

// frameFaults tells of each fault that a fact counts, where and in which eye it is and what
// becomes of the sync.
func frameFaults(r record.Record, fact string) []string {
	var notes []string
	list := faultsOf(r, fact)
	for _, h := range list[:min(len(list), maxFaultNotes)] {
		at := faultLabel(r, h)
		if r.Header.Setup.Order == record.Swapped {
			h.Right, h.Step = !h.Right, -h.Step
		}
		eye := "left"
		if h.Right {
			eye = "right"
		}
		what := map[timing.FaultKind]string{
			timing.Dropped:  "%s dropped %s before frame %d",
			timing.Repeated: "%s repeats %s from frame %d on",
			timing.Black:    "%s is black for %s from frame %d on",
		}[h.Kind]
		text := fmt.Sprintf(what, "the "+eye+" eye", number.Counted(h.Count, "frame", "frames"), h.Frame)
		if h.Within > 0 {
			text += fmt.Sprintf(" ± %d", h.Within)
		}
		text += " of its file (" + at + ")"
		switch {
		case h.Kind == timing.Black:
		case !h.StepKnown:
			text += "; whether the eyes stay apart from there on cannot be seen"
		case h.Step == 0:
			text += "; the eyes are in sync again after it"
		case h.Step > 0:
			text += fmt.Sprintf("; from there on the right eye is %s further behind", number.Counted(h.Step, "frame", "frames"))
		default:
			text += fmt.Sprintf("; from there on the right eye is %s further ahead", number.Counted(-h.Step, "frame", "frames"))
		}
		notes = append(notes, sentence(text))
	}
	if more := len(list) - maxFaultNotes; more > 0 {
		notes = append(notes, fmt.Sprintf("There are %d more such places.", more))
	}
	return notes
}
