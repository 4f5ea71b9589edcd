package main

import (
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"nightpair/qc"
	"nightpair/qc/judge"
	"nightpair/qc/record"
	"nightpair/qc/screen"
	"nightpair/qc/target"
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
	var screens []screen.Screen
	for _, screen := range judging.screens {
		screens = append(screens, screen.Showing(records))
	}
	onScreen, notes := limits.On(screens...)
	verdicts := judge.Clips(records, onScreen)
	fits := target.FitAll(records, judging.known)
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
