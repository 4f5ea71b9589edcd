package qc

import (
	"fmt"

	"nightpair/metrics/picture"
)

// Names of what a clip's set-up may have in it that a sound clip does not need,
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
func (j *judging) setup() {
	h := j.record.Header
	add := func(name string, severity Severity, status Status, value float64, unit, detail string) {
		j.findings = append(j.findings, Finding{
			Clip: h.Clip.Name, Status: status, Unit: unit, Value: value, Worst: -1, Mend: Post, Detail: detail,
			Limit: Limit{Metric: name, Statistic: Fact, Severity: severity, Source: "the project's own choice"},
		})
	}
	if turned := h.turnedUnasked(); turned > 0 {
		detail := "One eye's picture is turned against the scene"
		if turned == 2 {
			detail = "Both eyes' pictures are turned against the scene"
		}
		detail += fmt.Sprintf(" (%s). It was measured turned back; turn it back in post.", h.Setup.Orientation())
		if h.Setup.Either {
			detail = fmt.Sprintf("One eye's picture is turned against the other's (%s); the pictures do not tell which. It was measured turned back; find out which camera looks at the mirror and turn it back in post.", h.Setup.Orientation())
		}
		add(orientationName, Warn, Warned, float64(turned), "eyes", detail)
	}
	if h.Setup.Order == Swapped {
		add(eyeOrderName, Fail, Failed, 1, "",
			"The eyes are exchanged: what is named left is the right eye's picture, which turns depth inside out. It was measured with the eyes exchanged back; exchange them in post and check the cabling or the names.")
	}
	if slip := h.Setup.Late(); slip != 0 {
		late, play := "late", "earlier"
		if slip < 0 {
			late, play = "early", "later"
		}
		frames := counted(abs(slip), "frame")
		if !h.Sync.Pictures.OK() && !h.Sync.Sound.OK() && h.Sync.Rough.OK() && !h.Sync.timecodeFits() {
			frames = "about " + frames
		}
		add(slipName, Warn, Warned, float64(slip), "frames",
			fmt.Sprintf("The right eye is %s by %s. It was measured in step; slip it in post, so that it plays %s %s.", late, frames, frames, play))
	}
}

// turnedUnasked returns how many eyes are turned other than as their files ask
// a player to turn them.
func (h Header) turnedUnasked() int {
	left, right := h.Left.Orientation, h.Right.Orientation
	if h.Setup.Packing != Separate && h.Setup.Packing != "" {
		left, right = picture.Upright, picture.Upright
		if h.Left.MirroredEye != 0 {
			left, right = mirroredEyes(h.Left, h.Setup.Packing)
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

func abs(n int) int { return max(n, -n) }

// counted writes a number with its noun.
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
