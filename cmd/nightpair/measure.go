package main

import (
	"errors"
	"os"

	"github.com/spf13/cobra"

	"nightpair/qc"
)

// measureName is the hidden command that a night runs for each clip.
const measureName = "measure-clip"

func (a *app) measure() *cobra.Command {
	return &cobra.Command{
		Use:    measureName,
		Short:  "Measure the clip of the job on standard input; used by check",
		Hidden: true,
		Args:   cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if !qc.IsChild() {
				return hinted(errors.New(measureName+" is started by check alone"), "nightpair check measures clips")
			}
			return qc.Serve(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), open, ask)
		},
	}
}

// child says how this program measures a clip in a process of its own.
func child() (qc.Child, error) {
	program, err := os.Executable()
	if err != nil {
		return qc.Child{}, err
	}
	return qc.Child{Command: []string{program, measureName}}, nil
}
