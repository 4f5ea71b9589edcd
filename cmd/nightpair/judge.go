package main

import (
	"errors"
	"io/fs"

	"github.com/spf13/cobra"
)

func (a *app) judge() *cobra.Command {
	var judging judging
	cmd := &cobra.Command{
		Use:   "judge OUT",
		Short: "Judge again what was measured and rewrite the report",
		Long: `Judge holds the records in the report folder against limits, perhaps other ones
or for other screens, and writes the report anew. It needs no footage.

With --targets it also checks what clips of a test target tell of the rig: parallax has to
follow from the distance. The file is CSV, with a line for each clip:

  clip,metres,converged,setup
  target_near,0.9,,35mm
  target_1_4,1.4,,35mm
  target_1_5,1.5,,35mm

metres is the distance from the lenses to the target. converged, where it is
given, is the distance in metres at which the cameras were set to converge for
that clip, inf for parallel ones; without it, they all have the same convergence,
which is found. Targets of one setup have lenses and interaxial in common.`,
		Example: `  nightpair judge nightpair-report --limits rig
  nightpair judge day12-report --screen 2 --screen 12`,
		Args: arguments(cobra.ExactArgs(1), "name the folder of one report"),
		RunE: func(cmd *cobra.Command, args []string) error {
			limits, err := judging.standard(cmd)
			if err != nil {
				return err
			}
			err = a.report(cmd, args[0], judging, limits)
			if errors.Is(err, fs.ErrNotExist) || errors.Is(err, errNoRecords) {
				return hinted(err, "nightpair check measures clips and makes that folder")
			}
			return err
		},
	}
	judging.add(cmd)
	return cmd
}
