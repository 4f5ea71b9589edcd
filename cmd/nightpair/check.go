package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"nightpair/decode"
	"nightpair/qc"
	"nightpair/qc/measure"
)

func (a *app) check() *cobra.Command {
	var (
		out, rig, doneBy string
		workers, samples int
		judging          judging
		searching        searching
	)
	cmd := &cobra.Command{
		Use:   "check [FOLDER|FILE...]",
		Short: "Measure what is new, judge it, write the report",
		Long: `Check looks for clips in the folders and in the folders within them, measures
those that were not measured before, judges all that the report folder holds,
and writes the report. nightpair pairs shows beforehand what it would take for
a pair.

It may be interrupted, or lose its power: run again, it goes on where it was. A
clip whose files have changed is measured again, and so is one that could not
be measured. Each clip is measured in a process of its own, so that a broken
file costs no other.

With --done-by the night ends at that time: clips being measured finish the
pass that they are in, and give a fair if smaller sample; clips that were not
begun are reported as not reached. The next check finishes both.`,
		Example: `  nightpair check --left /media/A001 --right /media/B001
  nightpair check /media/day12
  nightpair check /media/day12 --out day12-report --screen 12 --mirrored right
  nightpair check A001_L.mov A001_R.mov --limits rig --samples 60`,
		RunE: func(cmd *cobra.Command, args []string) error {
			limits, err := judging.standard(cmd)
			if err != nil {
				return err
			}
			if err := searching.some(cmd, args, "nothing to check: name a folder or files"); err != nil {
				return err
			}
			night := qc.Night{Within: searching.paths(args), Files: decode.Files, Plan: measure.Plan{Samples: samples}, Workers: workers}
			for name, value := range map[string]int{"workers": workers, "samples": samples} {
				if cmd.Flags().Changed(name) && value < 1 {
					return usage(cmd, fmt.Errorf("--%s %d: it must be at least 1", name, value))
				}
			}
			if night.Mirrored, err = mirrored(rig); err != nil {
				return usage(cmd, err)
			}
			if night.Until, err = nextTime(time.Now(), doneBy); err != nil {
				return usage(cmd, err)
			}
			if night.Child, err = child(); err != nil {
				return err
			}
			if night.Clips, err = a.search(cmd, searching, out, night.Child, args, nil); err != nil {
				return err
			}
			display := a.display(cmd.ErrOrStderr())
			night.Report = display.show

			ledger, err := qc.OpenLedger(out)
			if err != nil {
				return err
			}
			defer ledger.Close()
			err = night.Run(cmd.Context(), ledger)
			display.close()
			if _, unread := errors.AsType[*qc.RecordError](err); unread {
				return err
			}
			if taken, is := errors.AsType[*qc.TakenError](err); is {
				return hinted(err, "name another folder with --out, or delete "+taken.Path)
			}
			if err != nil {
				return broken(err)
			}
			if err := a.report(cmd, out, judging, limits); err != nil {
				return broken(err)
			}
			return nil
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&out, "out", defaultOut, "write the report to `DIR`")
	flags.StringVar(&rig, "mirrored", "", "the camera, `left|right`, that looks at the mirror")
	flags.IntVar(&workers, "workers", 0, "measure `N` clips at a time (default: half as many as there are processors)")
	flags.IntVar(&samples, "samples", 0, fmt.Sprintf("measure `N` moments of each clip (default %d)", measure.DefaultSamples))
	flags.StringVar(&doneBy, "done-by", "", "end measuring at `HH:MM` and report what there is")
	judging.add(cmd)
	searching.add(cmd)
	return cmd
}

// broken marks an error of a night that had begun: what it leaves behind is
// clips that could not be measured, or no report of them.
func broken(err error) error {
	hint := hintFor(err)
	if errors.Is(err, context.Canceled) {
		hint = "run the same command again to go on; what was measured is kept"
	}
	return failure{error: err, hint: hint, code: exitUnmeasured}
}
