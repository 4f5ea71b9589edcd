package qc

import (
	"fmt"
	"strings"
	"time"

	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

// hitchFacts names the facts that count hitches.
var hitchFacts = map[string]timing.FaultKind{
	"dropped_frames":  timing.Dropped,
	"repeated_frames": timing.Repeated,
	"black_frames":    timing.Black,
}

// framesOf makes a fact of the number of frames of a kind of hitch, in both eyes.
func framesOf(kind timing.FaultKind) func(Record) stat.Measurement {
	return func(r Record) stat.Measurement {
		switch uneven := r.Header.Left.Variable || r.Header.Right.Variable; {
		case uneven && kind == timing.Dropped: // time stamps tell it
		case r.Header.Sync.Scanned == 0:
			return stat.Missing(notScanned)
		}
		n := 0
		for _, h := range r.Header.Sync.Hitches {
			if h.Kind == kind {
				n += h.Count
			}
		}
		return stat.Measured(float64(n), 0)
	}
}

// whereHitches returns where the hitches that a fact counts begin and end, and
// the left eye's frame of the first; Worst is −1 for other facts.
func (r Record) whereHitches(fact string) (from, to string, worst int) {
	worst = -1
	for _, h := range r.hitches(fact) {
		if worst < 0 {
			worst, from = r.leftFrame(h), r.hitchLabel(h)
		}
		to = r.hitchLabel(h)
	}
	return from, to, worst
}

func (r Record) hitches(fact string) (list []timing.FrameFault) {
	for _, h := range r.Header.Sync.Hitches {
		if kind, ok := hitchFacts[fact]; ok && h.Kind == kind {
			list = append(list, h)
		}
	}
	return list
}

// leftFrame returns the left eye's frame that goes with a hitch, about where time stamps
// tell it.
func (r Record) leftFrame(h timing.FrameFault) int {
	if h.At != 0 {
		return int(h.At.Seconds() * r.Header.Left.Rate())
	}
	if h.Right {
		return max(h.Frame-r.Header.Sync.Start, 0)
	}
	return h.Frame
}

// hitchLabel says when a hitch is.
func (r Record) hitchLabel(h timing.FrameFault) string {
	if h.At != 0 {
		return Moment{Time: h.At}.label()
	}
	return r.FrameLabel(r.leftFrame(h))
}

// FrameLabel says when a frame of the left eye is.
func (r Record) FrameLabel(frame int) string {
	left := r.Header.Left
	m := Moment{Frame: frame, Timecode: Timecode(left.Timecode, left.RateNum, left.RateDen, frame)}
	if rate := left.Rate(); rate > 0 {
		m.Time = time.Duration(float64(frame) / rate * float64(time.Second))
	}
	return m.label()
}

// mostHitches is how many hitches a finding spells out.
const mostHitches = 5

// hitchWords tells of each hitch that a fact counts, where and in which eye it is
// and what becomes of the sync; empty for other facts.
func (r Record) hitchWords(fact string) string {
	var parts []string
	list := r.hitches(fact)
	for _, h := range list[:min(len(list), mostHitches)] {
		at := r.hitchLabel(h)
		if r.Header.Setup.Order == Swapped {
			h.Right, h.Step = !h.Right, -h.Step
		}
		eye := "left"
		if h.Right {
			eye = "right"
		}
		what := map[timing.FaultKind]string{
			timing.Dropped:  "%s lacks %s before frame %d",
			timing.Repeated: "%s repeats %s from frame %d on",
			timing.Black:    "%s is black for %s from frame %d on",
		}[h.Kind]
		text := fmt.Sprintf(what, "the "+eye+" eye", counted(h.Count, "frame"), h.Frame)
		if h.Within > 0 {
			text += fmt.Sprintf(" ± %d", h.Within)
		}
		text += " of its file (" + at + ")"
		switch {
		case h.Kind == timing.Black:
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
	if more := len(list) - mostHitches; more > 0 {
		parts = append(parts, fmt.Sprintf("There are %d more such places.", more))
	}
	return strings.Join(parts, " ")
}
