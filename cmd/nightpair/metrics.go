package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"nightpair/metrics"
)

func (a *app) metrics() *cobra.Command {
	return &cobra.Command{
		Use:   "metrics [NAME]",
		Short: "List the measurements, or explain one",
		Long: `Metrics lists what is measured, always of the right eye relative to the left, or
explains one measurement. The names are those of the columns in the report's
tables and of the rows in a limits file.`,
		Example: "  nightpair metrics\n  nightpair metrics vertical_offset",
		Args:    arguments(cobra.MaximumNArgs(1), "name one measurement, or none for the list"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return listMetrics(cmd.OutOrStdout())
			}
			metric, ok := metrics.Lookup(args[0])
			if !ok {
				return hinted(errors.New("there is no measurement "+strconv.Quote(args[0])), "nightpair metrics lists them")
			}
			return explain(cmd.OutOrStdout(), metric)
		},
	}
}

func listMetrics(w io.Writer) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "NAME\tUNIT\tIDEAL\tMEANING")
	for _, m := range metrics.All {
		first, _, _ := strings.Cut(m.Doc, ". ")
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\n", m.Name, m.Unit, ideal(m), strings.TrimSuffix(first, "."))
	}
	return table.Flush()
}

func explain(w io.Writer, m metrics.Metric) error {
	lines := []string{
		m.Name,
		"",
		fold(m.Doc, "  ", 80),
		"",
		"  unit            " + m.Unit,
		"  a perfect pair  " + ideal(m),
		"  eyes exchanged  " + exchanged(m),
	}
	if m.Conditional {
		lines = append(lines, "", "  Not every sound clip shows it: a missing value is no fault.")
	}
	_, err := fmt.Fprintln(w, strings.Join(lines, "\n"))
	return err
}

func ideal(m metrics.Metric) string {
	if math.IsNaN(m.Ideal) {
		return "a choice"
	}
	return strconv.FormatFloat(m.Ideal, 'f', -1, 64)
}

func exchanged(m metrics.Metric) string {
	switch m.Swap {
	case metrics.SwapNegate:
		return "the sign changes"
	case metrics.SwapInvert:
		return "the ratio is inverted"
	case metrics.SwapPartner:
		return "becomes " + m.Partner + " with the sign changed"
	default:
		return "nothing changes"
	}
}
