package judge

import (
	"fmt"
	"strings"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/qc/number"
	"nightpair/qc/record"
)

// Names of what a clip's set-up may have in it that a clean clip does not need,
// as findings call it.
const (
	orientationName = "orientation"
	eyeOrderName    = "eye_order"
	slipName        = "slip"
)

// setup makes findings of what had to be undone before measuring. Whether that
// warns or fails is the project's own choice: exchanged eyes turn depth inside
// out; a mirrored eye is what a rig with a mirror delivers, and like a late one
// it is put right routinely.
func (c judgedClip) setup() []Finding {
	var findings []Finding
	add := func(name string, severity Severity, status Status, value int, unit string) {
		findings = append(findings, Finding{
			Clip: c.record.Header.Clip.Name, Status: status, Unit: unit, Value: float64(value), Place: nowhere,
			Limit: Limit{Metric: name, Statistic: Fact, Severity: severity, Source: "the project's own choice"},
		})
	}
	h := c.record.Header
	if turned := turnedUnasked(h); turned > 0 {
		add(orientationName, Warn, Warned, turned, "eyes")
	}
	if h.Setup.Order == record.Swapped {
		add(eyeOrderName, Fail, Failed, 1, "")
	}
	if slip := h.Setup.Late(); slip != 0 {
		add(slipName, Warn, Warned, slip, "frames")
	}
	return findings
}

func sayOrientation(c judgedClip, f Finding) string {
	setup := c.record.Header.Setup
	switch {
	case setup.Either:
		return fmt.Sprintf("one eye's picture is turned against the other's (%s), and the pictures do not tell which", setup.Orientation())
	case f.Value == 2:
		return fmt.Sprintf("both eyes' pictures are turned against the scene (%s)", setup.Orientation())
	}
	return fmt.Sprintf("one eye's picture is turned against the scene (%s)", setup.Orientation())
}

func mendOrientation(c judgedClip, _ Finding) (Mend, string, bool) {
	if c.record.Header.Setup.Either {
		return Post, "Find out which camera looks at the mirror and turn it back in post.", true
	}
	return Post, "Turn it back in post.", true
}

func saySlip(c judgedClip, f Finding) string {
	late := "late"
	if f.Value < 0 {
		late = "early"
	}
	return fmt.Sprintf("the right eye is %s %s", c.slipFrames(f), late)
}

// mendSlip slips the right eye, where the pictures show that it is out of step from the
// first frame to the last.

func mendSlip(c judgedClip, f Finding) (Mend, string, bool) {
	to := "earlier"
	if f.Value < 0 {
		to = "later"
	}
	if list := c.record.DoubtfulSlip(); len(list) > 0 {
		var frames []string
		for _, d := range list {
			frames = append(frames, fmt.Sprintf("%d to %d", d.From, d.To-1))
		}
		return Post, fmt.Sprintf("Compare frames %s by eye before slipping it %s %s: a dropped frame may hide there.", strings.Join(frames, " and "), c.slipFrames(f), to), true
	}
	return Post, fmt.Sprintf("Slip it %s %s in post.", c.slipFrames(f), to), true
}

// slipFrames writes by how many frames a finding says that the eyes are out of step.
func (c judgedClip) slipFrames(f Finding) string {
	frames := number.Counted(stat.Abs(int(f.Value)), "frame", "frames")
	if s := c.record.Header.Sync; !s.Pictures.OK() && !s.Sound.OK() && s.Rough.OK() && !s.TimecodeFits() {
		return "about " + frames
	}
	return frames
}

// turnedUnasked returns how many eyes are turned other than as their files ask
// a player to turn them.
func turnedUnasked(h record.Header) int {
	left, right := h.Left.Orientation, h.Right.Orientation
	if h.Setup.Packing != record.Separate && h.Setup.Packing != "" {
		left, right = picture.Upright, picture.Upright
		if h.Left.MirroredEye != 0 {
			left, right = record.MirroredEyes(h.Left, h.Setup.Packing)
		}
	}
	turned := 0
	if h.Setup.Left != left {
		turned++
	}
	if h.Setup.Right != right {
		turned++
	}
	return turned
}
