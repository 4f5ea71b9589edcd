package main

import (
	"errors"
	"fmt"
	"io/fs"
	"time"

	"github.com/spf13/cobra"

	"nightpair/qc/judge"
	"nightpair/qc/nearest"
	"nightpair/qc/record"
	"nightpair/qc/screen"
	"nightpair/qc/target"
)

// judging are the flags that say what is judged and for whom.
type judging struct {
	limits  string
	targets string
	widths  []float64 // of screens, metres
	views   []float64 // degrees
	screens []screen.Screen
	known   []target.Target
}

func (j *judging) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&j.limits, "limits", "", "judge by `NAME|FILE`: a built-in set of limits, as nightpair limits lists them, or a file (default "+judge.LimitSets[0].Name+")")
	flags.Float64SliceVar(&j.widths, "screen", nil, "judge parallax for a screen `METRES` wide; may be given several times")
	flags.Float64SliceVar(&j.views, "view", nil, "judge parallax for a picture that fills `DEGREES` of the view, in a headset or from a seat; may be given several times")
	flags.StringVar(&j.targets, "targets", "", "hold clips of test targets at known distances against each other: `FILE` has the columns clip,metres and perhaps converged,setup")
	flags.Lookup("screen").DefValue, flags.Lookup("view").DefValue = "", ""
}

// standard reads what the flags name: nothing is measured for a night whose
// limits turn out to be unreadable.
func (j *judging) standard(cmd *cobra.Command) (judge.Limits, error) {
	for _, flag := range []struct {
		name   string
		values []float64
	}{{"screen", j.widths}, {"view", j.views}} {
		for _, value := range flag.values {
			if !(value > 0) {
				return nil, usage(cmd, fmt.Errorf("--%s %v: it must be more than 0", flag.name, value))
			}
		}
	}
	j.screens = screens(j.widths, j.views)
	for _, screen := range j.screens {
		if err := screen.Check(); err != nil {
			return nil, usage(cmd, err)
		}
	}
	if j.targets != "" {
		var err error
		if j.known, err = target.OpenTargets(j.targets); err != nil {
			return nil, hinted(err, "nightpair help judge says what is in that file")
		}
	}
	limits, err := judge.OpenLimits(j.limits)
	if errors.Is(err, fs.ErrNotExist) {
		err = meant(err, nearest.Name(j.limits, limitSetNames()))
	}
	if err != nil {
		return nil, hinted(err, "nightpair limits lists the built-in sets and prints one as a file to edit")
	}
	return limits, nil
}

// screens returns what the flags describe: one width and one view are of the
// same screen, more of either are each a screen of its own, and nothing is the
// usual screen.
func screens(widths, views []float64) []screen.Screen {
	if len(widths) <= 1 && len(views) <= 1 {
		var one screen.Screen
		if len(widths) == 1 {
			one.Width = widths[0]
		}
		if len(views) == 1 {
			one.View = views[0]
		}
		return []screen.Screen{one}
	}
	var all []screen.Screen
	for _, width := range widths {
		all = append(all, screen.Screen{Width: width})
	}
	for _, view := range views {
		all = append(all, screen.Screen{View: view})
	}
	return all
}

func (j *judging) set() string {
	if j.limits == "" {
		return judge.LimitSets[0].Name
	}
	return j.limits
}

// mirrored parses --mirrored.
func mirrored(word string) (record.Mirrored, error) {
	switch m := record.Mirrored(word); m {
	case record.MirroredUnknown, record.MirroredLeft, record.MirroredRight:
		return m, nil
	}
	return "", fmt.Errorf("--mirrored %s: it is left or right, the camera that looks at the mirror", word)
}

// nextTime returns the next moment after now at which clocks show HH:MM, the
// zero time for an empty word.
func nextTime(now time.Time, word string) (time.Time, error) {
	if word == "" {
		return time.Time{}, nil
	}
	clock, err := time.Parse("15:04", word)
	if err != nil {
		return time.Time{}, errors.New("--done-by " + word + ": it is a time of day as HH:MM, such as 06:30")
	}
	year, month, day := now.Date()
	next := time.Date(year, month, day, clock.Hour(), clock.Minute(), 0, 0, now.Location())
	if !next.After(now) {
		next = time.Date(year, month, day+1, clock.Hour(), clock.Minute(), 0, 0, now.Location())
	}
	return next, nil
}
