package judge

import (
	"fmt"
	"math"

	"nightpair/qc/number"
	"nightpair/qc/target"
)

// targetReadings returns of each setup how the target that departs most from the others
// agrees with them, and whether the cameras converge where they are said to.
func targetReadings(d day, _ []Limit) []dayReading {
	var all []dayReading
	for _, f := range d.targets {
		if r, ok := targetApart(f); ok {
			all = append(all, r)
		}
		if f.Off.OK() {
			all = append(all, targetsOff(f))
		}
	}
	return all
}

const targetAdvice = "Check the distances and that focus and convergence were set as told, and line up the rig."

func targetApart(f target.Fit) (dayReading, bool) {
	var worst target.Reading
	for _, c := range f.Targets {
		if c.Apart.OK() && math.Abs(c.Apart.Value)*worst.Apart.SE >= math.Abs(worst.Apart.Value)*c.Apart.SE {
			worst = c
		}
	}
	return dayReading{
		value: worst.Apart, clips: []string{worst.Clip}, place: nowhere, in: worst.In, mend: Rig, advice: targetAdvice,
		say: func(found Finding) string {
			return fmt.Sprintf("the target %s at %s m has a parallax of %s where the others of its setup make it %s",
				worst.Clip, number.Digits(worst.Metres), found.signedAmount(worst.Parallax.Value), found.signedAmount(worst.Parallax.Value-worst.Apart.Value))
		},
	}, worst.Clip != ""
}

func targetsOff(f target.Fit) dayReading {
	of := ""
	if f.Setup != "" {
		of = " of " + f.Setup
	}
	r := dayReading{
		value: f.Off, place: nowhere, mend: Rig, advice: targetAdvice,
		say: func(found Finding) string {
			return fmt.Sprintf("the targets%s give what stands where the cameras are said to converge a parallax of %s", of, found.signedAmount(f.Off.Value))
		},
	}
	for _, c := range f.Targets {
		if c.Parallax.OK() {
			r.clips, r.in = append(r.clips, c.Clip), c.In
		}
	}
	return r
}
