package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"nightpair/qc"
)

// run runs one command line and returns the exit code.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	app := &app{}
	root := app.root()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	if err := root.ExecuteContext(ctx); err != nil {
		return complain(stderr, err)
	}
	return app.code
}

// app is one run of the program.
type app struct {
	quiet, json bool
	code        int // exit code of a command that ran
}

const defaultOut = "nightpair-report"

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "nightpair",
		Short: "Check a shooting day's stereo footage overnight",
		Long: `Nightpair pairs the left- and right-eye clips of a shooting day, measures how
the two eyes differ, judges the figures against limits, and leaves a report:
which shots are clean, which can be mended and how, which must be shot again,
and what the rig crew has to realign.

Exit codes: 0 everything within limits, 1 some limit exceeded, 2 did not run,
3 some clips could not be measured, 130 interrupted.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usage(fmt.Errorf("there is no command %q", args[0]), "nightpair --help")
			}
			return usage(errors.New("no command given"), "nightpair --help")
		},
		RunE:              func(*cobra.Command, []string) error { return nil },
		SilenceErrors:     true,
		SilenceUsage:      true,
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
		PersistentPreRunE: func(cmd *cobra.Command, _ []string) error {
			if qc.IsChild() && cmd.Name() != measureName {
				return qc.ErrChild
			}
			return nil
		},
	}
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return usage(err, cmd.CommandPath()+" --help")
	})
	root.PersistentFlags().BoolVar(&a.quiet, "quiet", false, "say nothing but errors on standard error")
	root.PersistentFlags().BoolVar(&a.json, "json", false, "write progress as JSON lines to standard error")
	root.MarkFlagsMutuallyExclusive("quiet", "json")
	root.AddCommand(a.check(), a.judge(), a.pairs(), a.metrics(), a.limits(), a.demo(), a.measure())
	return root
}

// usage is an error in how the program was called.
func usage(err error, help string) error {
	return hinted(err, help+" tells how it is used")
}

// arguments wraps cobra's counting of arguments in the form of our errors.
func arguments(count cobra.PositionalArgs, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if count(cmd, args) != nil {
			return usage(errors.New(what), cmd.CommandPath()+" --help")
		}
		return nil
	}
}
