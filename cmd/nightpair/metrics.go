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
	"nightpair/qc/judge"
	"nightpair/qc/nearest"
)

func (a *app) metrics() *cobra.Command {
	return &cobra.Command{
		Use:   "metrics [NAME]",
		Short: "List the measurements and facts, or explain one",
		Long: `Metrics lists what is measured, always of the right eye relative to the left, and
the facts that hold for a whole clip; or it explains one of them. The names are
those of the columns in the report's tables and of the rows in a limits file,
where a fact has the statistic "fact".`,
		Example: "  nightpair metrics\n  nightpair metrics vertical_offset\n  nightpair metrics focus_lag",
		Args:    arguments(cobra.MaximumNArgs(1), "name one measurement or fact, or none for the list"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return listMetrics(cmd.OutOrStdout())
			}
			if metric, ok := metrics.Lookup(args[0]); ok {
				return explain(cmd.OutOrStdout(), metric)
			}
			if fact, ok := judge.LookupFact(args[0]); ok {
				return explainFact(cmd.OutOrStdout(), fact)
			}
			names := append(judge.Median.Names(), judge.Fact.Names()...)
			err := errors.New("there is no measurement and no fact " + strconv.Quote(args[0]))
			return hinted(meant(err, nearest.Name(args[0], names)), "nightpair metrics lists them")
		},
	}
}

func listMetrics(w io.Writer) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	line := func(name, unit, ideal, doc string) {
		first, _, _ := strings.Cut(doc, ". ")
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\n", name, unit, ideal, strings.TrimSuffix(first, "."))
	}
	fmt.Fprintln(table, "NAME\tUNIT\tIDEAL\tMEANING")
	for _, m := range metrics.All {
		line(m.Name, m.Unit, ideal(m), m.Doc)
	}
	for _, f := range judge.Facts {
		line(f.Name, f.Unit, "fact", f.Doc)
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
		lines = append(lines, "", "  Not every clean clip shows it: a missing value is no fault.")
	}
	_, err := fmt.Fprintln(w, strings.Join(lines, "\n"))
	return err
}

func explainFact(w io.Writer, f judge.ClipFact) error {
	lines := []string{f.Name, "", fold(f.Doc, "  ", 80), ""}
	if f.Unit != "" {
		lines = append(lines, "  unit  "+f.Unit, "")
	}
	lines = append(lines, "  A fact of the whole clip: in a limits file its statistic is fact.")
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
