package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

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
		PersistentPreRunE: func(cmd *cobra.Command, args []string) error {
			if qc.IsChild() && cmd.Name() != measureName {
				return qc.ErrChild
			}
			return filled(cmd, args)
		},
	}
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return usage(flagError(err), cmd.CommandPath()+" --help")
	})
	root.SetHelpCommand(help())
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

// flagError puts what cobra says of a value that a flag does not take into
// our words.
func flagError(err error) error {
	invalid, ok := errors.AsType[*pflag.InvalidValueError](err)
	if !ok {
		return err
	}
	want := "a number"
	if invalid.GetFlag().Value.Type() == "int" {
		want = "a whole number"
	}
	return fmt.Errorf("--%s %s: it must be %s", invalid.GetFlag().Name, invalid.GetValue(), want)
}

// filled refuses empty arguments and flags: they come from variables of a
// script that are not set, and would stand for the working folder.
func filled(cmd *cobra.Command, args []string) error {
	what := ""
	if slices.Contains(args, "") {
		what = "an argument"
	}
	cmd.Flags().Visit(func(f *pflag.Flag) {
		if f.Value.String() == "" {
			what = "--" + f.Name
		}
	})
	if what == "" {
		return nil
	}
	return usage(errors.New(what+" is empty"), cmd.CommandPath()+" --help")
}

func help() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Tell how a command is used",
		RunE: func(cmd *cobra.Command, args []string) error {
			topic, rest, err := cmd.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return usage(fmt.Errorf("there is no command %q", strings.Join(args, " ")), "nightpair --help")
			}
			topic.InitDefaultHelpFlag()
			return topic.Help()
		},
	}
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
