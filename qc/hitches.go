package qc

import (
	"fmt"
	"time"

	"nightpair/metrics"
	"nightpair/qc/number"
)

// hitchFacts names the facts that count hitches.
var hitchFacts = map[string]metrics.HitchKind{
	DroppedFrames:  metrics.Dropped,
	RepeatedFrames: metrics.Repeated,
	BlackFrames:    metrics.Black,
}

// framesOf makes a fact of the number of frames of a kind of hitch, in both eyes.
func framesOf(kind metrics.HitchKind) func(Record) metrics.Measurement {
	return func(r Record) metrics.Measurement {
		switch uneven := r.Header.Left.Variable || r.Header.Right.Variable; {
		case uneven && kind == metrics.Dropped: // time stamps tell it
		case r.Header.Sync.Scanned == 0:
			return metrics.Missing(notScanned)
		}
		n := 0
		for _, h := range r.Header.Sync.Hitches {
			if h.Kind == kind {
				n += h.Count
			}
		}
		return metrics.Measured(float64(n), 0)
	}
}

// placeOfFrameFaults returns where the hitches that a fact counts begin and end, the
// first being the worst; other facts hold for the whole clip.
func placeOfFrameFaults(r Record, l Limit) Place {
	list := r.hitches(l.Metric)
	if len(list) == 0 {
		return nowhere
	}
	first, last := list[0], list[len(list)-1]
	return Place{
		From: r.hitchLabel(first), To: r.hitchLabel(last),
		FrameFrom: r.leftFrame(first), FrameTo: r.leftFrame(last), Worst: r.leftFrame(first),
	}
}

func (r Record) hitches(fact string) (list []metrics.Hitch) {
	for _, h := range r.Header.Sync.Hitches {
		if kind, ok := hitchFacts[fact]; ok && h.Kind == kind {
			list = append(list, h)
		}
	}
	return list
}

// leftFrame returns the left eye's frame that goes with a hitch, about where time stamps
// tell it.
func (r Record) leftFrame(h metrics.Hitch) int {
	if h.At != 0 {
		return int(h.At.Seconds() * r.Header.Left.Rate())
	}
	if h.Right {
		return max(h.Frame-r.Header.Sync.Start, 0)
	}
	return h.Frame
}

// hitchLabel says when a hitch is.
func (r Record) hitchLabel(h metrics.Hitch) string {
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

// sayFrameFaults says which eye has the frame faults that a fact counts, or that either
// has some.
func sayFrameFaults(has string) func(judgedClip, Finding) string {
	return func(c judgedClip, f Finding) string {
		var right, left bool
		for _, h := range c.record.hitches(f.Limit.Metric) {
			if h.Right != (c.record.Header.Setup.Order == Swapped) {
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

// maxHitchNotes is how many hitches a finding spells out.
const maxHitchNotes = 5

func notesOnFrameFaults(c judgedClip, f Finding) []string {
	return c.record.frameFaults(f.Limit.Metric)
}

// frameFaults tells of each hitch that a fact counts, where and in which eye it is and what
// becomes of the sync.
func (r Record) frameFaults(fact string) []string {
	var notes []string
	list := r.hitches(fact)
	for _, h := range list[:min(len(list), maxHitchNotes)] {
		at := r.hitchLabel(h)
		if r.Header.Setup.Order == Swapped {
			h.Right, h.Step = !h.Right, -h.Step
		}
		eye := "left"
		if h.Right {
			eye = "right"
		}
		what := map[metrics.HitchKind]string{
			metrics.Dropped:  "%s dropped %s before frame %d",
			metrics.Repeated: "%s repeats %s from frame %d on",
			metrics.Black:    "%s is black for %s from frame %d on",
		}[h.Kind]
		text := fmt.Sprintf(what, "the "+eye+" eye", number.Counted(h.Count, "frame", "frames"), h.Frame)
		if h.Within > 0 {
			text += fmt.Sprintf(" ± %d", h.Within)
		}
		text += " of its file (" + at + ")"
		switch {
		case h.Kind == metrics.Black:
		case !h.Known:
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
	if more := len(list) - maxHitchNotes; more > 0 {
		notes = append(notes, fmt.Sprintf("There are %d more such places.", more))
	}
	return notes
}
