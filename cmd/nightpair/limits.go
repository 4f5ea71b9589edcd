package main

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"nightpair/qc/judge"
	"nightpair/qc/nearest"
)

func (a *app) limits() *cobra.Command {
	return &cobra.Command{
		Use:   "limits [NAME]",
		Short: "List the built-in limit sets, or print one as a file to edit",
		Long: `Limits lists the built-in sets of limits, or prints one of them as a CSV file. Edit
a copy and name it with --limits. Every row names its source. The limits are no
substitute for the eyes of a qualified stereographer on a screen of the real size.`,
		Example: "  nightpair limits\n  nightpair limits viewer > ours.csv\n  nightpair judge nightpair-report --limits ours.csv",
		Args:    arguments(cobra.MaximumNArgs(1), "name one set of limits, or none for the list"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return listLimits(cmd.OutOrStdout())
			}
			set, ok := judge.LookupLimits(args[0])
			if !ok {
				err := errors.New("there is no built-in set of limits " + strconv.Quote(args[0]))
				return hinted(meant(err, nearest.Name(args[0], limitSetNames())), "nightpair limits lists them")
			}
			_, err := io.WriteString(cmd.OutOrStdout(), set.CSV)
			return err
		},
	}
}

func listLimits(w io.Writer) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "NAME\tLIMITS\tMEANT FOR")
	for _, set := range judge.LimitSets {
		fmt.Fprintf(table, "%s\t%d\t%s\n", set.Name, len(set.Limits()), set.Doc)
	}
	return table.Flush()
}

func limitSetNames() []string {
	var names []string
	for _, set := range judge.LimitSets {
		names = append(names, set.Name)
	}
	return names
}
