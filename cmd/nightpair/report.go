package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"nightpair/qc"
	"nightpair/qc/judge"
	"nightpair/qc/number"
	"nightpair/qc/record"
	"nightpair/reports"
)

var errNoRecords = errors.New("nothing was measured there")

// report judges what the folder out holds, writes the report, and tells the
// outcome.
func (a *app) report(cmd *cobra.Command, out string, judging judging, limits judge.Limits) error {
	records, err := qc.ReadRecords(out)
	if err != nil {
		return err
	}
	if len(records) == 0 {
		return fmt.Errorf("%s: %w", out, errNoRecords)
	}
	var screens []judge.Screen
	for _, screen := range judging.screens {
		screens = append(screens, screen.Showing(records))
	}
	onScreen, notes := limits.On(screens...)
	verdicts := judge.Clips(records, onScreen)
	fits := judge.FitTargets(records, judging.known)
	day := judge.OverDay(records, fits, onScreen)
	err = reports.Write(out, reports.Results{
		Title: folderOf(records), Records: records, Verdicts: verdicts, Day: day,
		Screens: screens, LimitSet: judging.set(), Limits: onScreen, Notes: notes, Targets: fits,
	})
	if err != nil {
		return err
	}
	a.code = exitFor(verdicts, day)
	return summarise(cmd.OutOrStdout(), verdicts, day, filepath.Join(out, "index.html"))
}

// folderOf returns the name of the folder that holds the footage of all
// records, empty where they have none in common.
func folderOf(records []record.Record) string {
	common, first := "", true
	for _, r := range records {
		for _, path := range []string{r.Header.Clip.Left, r.Header.Clip.Right} {
			switch {
			case path == "":
			case first:
				common, first = filepath.Dir(path), false
			default:
				common = commonFolder(common, path)
			}
		}
	}
	name := filepath.Base(common)
	if name == "." || name == string(filepath.Separator) {
		return ""
	}
	return name
}

// commonFolder returns the innermost folder of which a path lies within, that
// folder itself or one around it.
func commonFolder(folder, path string) string {
	for {
		inside, err := filepath.Rel(folder, path)
		if err == nil && filepath.IsLocal(inside) {
			return folder
		}
		outer := filepath.Dir(folder)
		if outer == folder {
			return ""
		}
		folder = outer
	}
}

// summarise writes the clips that are not clean, worst first, with the worst
// that there is to say of each, then what there is to say of the day, how many
// clips there are of each kind, and where the page is.
func summarise(w io.Writer, verdicts []judge.Verdict, day []judge.Finding, page string) error {
	sorted := slices.SortedStableFunc(slices.Values(verdicts), func(u, v judge.Verdict) int {
		return cmp.Or(u.Status.Compare(v.Status), cmp.Compare(u.Clip, v.Clip))
	})
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	count := map[judge.Status]int{}
	for _, v := range sorted {
		count[v.Status]++
		if v.Status == judge.Passed {
			continue
		}
		worst := ""
		if len(v.Findings) > 0 {
			worst = v.Findings[0].Detail
			if more := len(v.Findings) - 1; more > 0 {
				worst += fmt.Sprintf(" (and %d more)", more)
			}
		}
		fmt.Fprintf(table, "%s\t%s\t%s\n", v.Status, printable(v.Clip), printable(worst))
	}
	for _, f := range day {
		fmt.Fprintf(table, "%s\t%s\t%s\n", f.Status, "the day", printable(f.Detail))
	}
	if err := table.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "%s: %d pass, %d warn, %d fail, %d unmeasured\n%s\n", number.Counted(len(verdicts), "clip", "clips"),
		count[judge.Passed], count[judge.Warned], count[judge.Failed], count[judge.Unmeasured], printable(page))
	return err
}
