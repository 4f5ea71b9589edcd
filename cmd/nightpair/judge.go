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
or for other screens, and writes the report anew. It needs no footage.`,
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
