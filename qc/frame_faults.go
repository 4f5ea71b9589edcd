package qc

import (
	"fmt"
	"strings"

	"nightpair/metrics"
)

// faultFacts names the facts that count frame faults.
var faultFacts = map[string]metrics.HitchKind{
	"dropped_frames":  metrics.Dropped,
	"repeated_frames": metrics.Repeated,
	"black_frames":    metrics.Black,
}

// framesOf makes a fact of the number of frames of a kind of fault, in both eyes.
func framesOf(kind metrics.HitchKind) func(Record) metrics.Measurement {
	return func(r Record) metrics.Measurement {
		switch variable := r.Header.Left.Variable || r.Header.Right.Variable; {
		case variable && kind == metrics.Dropped: // time stamps tell it
		case r.Header.Sync.Scanned == 0:
			return metrics.Missing(notScanned)
		}
		n := 0
		for _, h := range r.Header.Sync.Faults {
			if h.Kind == kind {
				n += h.Count
			}
		}
		return metrics.Measured(float64(n), 0)
	}
}

// whereFaults returns where the frame faults that a fact counts begin and end, and
// the left eye's frame of the first; Worst is −1 for other facts.
func whereFaults(r Record, fact string) (from, to string, worst int) {
	worst = -1
	for _, h := range faultsOf(r, fact) {
		if worst < 0 {
			worst, from = leftFrame(r, h), faultLabel(r, h)
		}
		to = faultLabel(r, h)
	}
	return from, to, worst
}

func faultsOf(r Record, fact string) (list []metrics.Hitch) {
	for _, h := range r.Header.Sync.Faults {
		if kind, ok := faultFacts[fact]; ok && h.Kind == kind {
			list = append(list, h)
		}
	}
	return list
}

// leftFrame returns the left eye's frame that goes with a fault, about where time stamps
// tell it.
func leftFrame(r Record, h metrics.Hitch) int {
	if h.At != 0 {
		return int(h.At.Seconds() * r.Header.Left.Rate())
	}
	if h.Right {
		return max(h.Frame-r.Header.Sync.Start, 0)
	}
	return h.Frame
}

// faultLabel says when a fault is.
func faultLabel(r Record, h metrics.Hitch) string {
	if h.At != 0 {
		return Moment{Time: h.At}.label()
	}
	return r.FrameLabel(leftFrame(r, h))
}

// maxFaults is how many frame faults a finding spells out.
const maxFaults = 5

// faultPhrase tells of each frame fault that a fact counts, where and in which eye it is
// and what becomes of the sync; empty for other facts.
func faultPhrase(r Record, fact string) string {
	var parts []string
	list := faultsOf(r, fact)
	for _, h := range list[:min(len(list), maxFaults)] {
		at := faultLabel(r, h)
		if r.Header.Setup.Order == Swapped {
			h.Right, h.Step = !h.Right, -h.Step
		}
		eye := "left"
		if h.Right {
			eye = "right"
		}
		what := map[metrics.HitchKind]string{
			metrics.Dropped:  "%s lacks %s before frame %d",
			metrics.Repeated: "%s repeats %s from frame %d on",
			metrics.Black:    "%s is black for %s from frame %d on",
		}[h.Kind]
		text := fmt.Sprintf(what, "the "+eye+" eye", counted(h.Count, "frame"), h.Frame)
		if h.Within > 0 {
			text += fmt.Sprintf(" ± %d", h.Within)
		}
		text += " of its file (" + at + ")"
		switch {
		case h.Kind == metrics.Black:
		case !h.Known:
			text += "; whether the eyes stay apart from there on cannot be seen"
		case h.Step == 0:
			text += "; the eyes are in step again after it"
		case h.Step > 0:
			text += fmt.Sprintf("; from there on the right eye is %s further behind", counted(h.Step, "frame"))
		default:
			text += fmt.Sprintf("; from there on the right eye is %s further ahead", counted(-h.Step, "frame"))
		}
		parts = append(parts, sentence(text))
	}
	if more := len(list) - maxFaults; more > 0 {
		parts = append(parts, fmt.Sprintf("There are %d more such places.", more))
	}
	return strings.Join(parts, " ")
}
