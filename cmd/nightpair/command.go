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
	"nightpair/qc/nearest"
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
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return usage(cmd, errors.New("no command given"))
		},
		RunE:                       func(*cobra.Command, []string) error { return nil },
		SilenceErrors:              true,
		SuggestionsMinimumDistance: 2, // as cobra has it
		SilenceUsage:               true,
		CompletionOptions:          cobra.CompletionOptions{HiddenDefaultCmd: true},
		PersistentPreRunE: func(cmd *cobra.Command, args []string) error {
			if qc.IsChild() && cmd.Name() != measureName {
				return qc.ErrChild
			}
			return filled(cmd, args)
		},
	}
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return flagError(cmd, err)
	})
	root.SetHelpCommand(help())
	root.PersistentFlags().BoolVar(&a.quiet, "quiet", false, "say nothing but errors on standard error")
	root.PersistentFlags().BoolVar(&a.json, "json", false, "write progress as JSON lines to standard error, and pairs as JSON lines to standard output")
	root.MarkFlagsMutuallyExclusive("quiet", "json")
	root.AddCommand(a.check(), a.judge(), a.pairs(), a.metrics(), a.limits(), a.demo(), a.measure())
	return root
}

// usage is an error in how a command was called.
func usage(cmd *cobra.Command, err error) error {
	root := cmd.Root().Name()
	return hinted(err, "Run `"+strings.Replace(cmd.CommandPath(), root, root+" help", 1)+"` for usage")
}

// meant adds to an error about a name the one that may have been meant.
func meant(err error, near string) error {
	if near == "" {
		return err
	}
	return fmt.Errorf("%w; did you mean %s?", err, near)
}

// unknownCommand is the error of a command that there is not.
func unknownCommand(root *cobra.Command, name string) error {
	near := ""
	if all := root.SuggestionsFor(name); len(all) > 0 {
		near = strings.Join(all, " or ")
	}
	return usage(root, meant(fmt.Errorf("there is no command %q", name), near))
}

// flagError puts what cobra says of a flag that there is not, and of a value that a
// flag does not take, into our words.
func flagError(cmd *cobra.Command, err error) error {
	if unknown, ok := errors.AsType[*pflag.NotExistError](err); ok {
		var names []string
		list := func(f *pflag.Flag) {
			if !f.Hidden {
				names = append(names, f.Name)
			}
		}
		cmd.Flags().VisitAll(list)
		near := nearest.Name(unknown.GetSpecifiedName(), names)
		if near != "" {
			near = "--" + near
		}
		return usage(cmd, meant(err, near))
	}
	if invalid, ok := errors.AsType[*pflag.InvalidValueError](err); ok {
		want := "a number"
		if invalid.GetFlag().Value.Type() == "int" {
			want = "a whole number"
		}
		err = fmt.Errorf("--%s %s: it must be %s", invalid.GetFlag().Name, invalid.GetValue(), want)
	}
	return usage(cmd, err)
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
	return usage(cmd, errors.New(what+" is empty"))
}

func help() *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "Tell how a command is used",
		RunE: func(cmd *cobra.Command, args []string) error {
			topic, rest, err := cmd.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return unknownCommand(cmd.Root(), strings.Join(args, " "))
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
			return usage(cmd, errors.New(what))
		}
		return nil
	}
}
