package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"nightpair/qc/judge"
	"nightpair/qc/number"
)

const (
	// maxLine is how many characters a line about a clip has at most. Scripts rely on it.
	maxLine = 100
	// maxName is how many of them its name has at most: half a line, so that something is
	// said of every clip. Of a longer name the end is kept, where cameras count.
	maxName = 48
)

// summarise writes the clips that are not clean, worst first, with the worst
// that there is to say of each, then what there is to say of the day, how many
// clips there are of each kind, and where the page is.
func summarise(w io.Writer, verdicts []judge.Verdict, day []judge.Finding, page string) error {
	sorted := slices.SortedStableFunc(slices.Values(verdicts), func(u, v judge.Verdict) int {
		return cmp.Or(u.Status.Compare(v.Status), cmp.Compare(u.Clip, v.Clip))
	})
	var lines []summaryLine
	count := map[judge.Status]int{}
	for _, v := range sorted {
		count[v.Status]++
		if v.Status != judge.Passed {
			lines = append(lines, newSummaryLine(v.Status, v.Clip, v.Findings))
		}
	}
	for _, f := range day {
		lines = append(lines, newSummaryLine(f.Status, "the day", []judge.Finding{f}))
	}
	statusWidth, nameWidth := 0, 0
	for _, l := range lines {
		statusWidth, nameWidth = max(statusWidth, len(l.status)), max(nameWidth, utf8.RuneCountInString(l.name))
	}
	for _, l := range lines {
		head := fmt.Sprintf("%-*s  %-*s  ", statusWidth, l.status, nameWidth, l.name)
		room := maxLine - utf8.RuneCountInString(head) - len(l.more)
		if _, err := fmt.Fprintln(w, strings.TrimRight(head+shortened(l.worst, room)+l.more, " ")); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintf(w, "%s: %d pass, %d warn, %d fail, %d unmeasured\n%s\n", number.Counted(len(verdicts), "clip", "clips"),
		count[judge.Passed], count[judge.Warned], count[judge.Failed], count[judge.Unmeasured], printable(page))
	return err
}

// summaryLine is what is said of a clip, or of the day, in one line.
type summaryLine struct {
	status judge.Status
	name   string
	worst  string // what is wrong, by the worst finding
	more   string // how many findings there are besides
}

func newSummaryLine(status judge.Status, name string, findings []judge.Finding) summaryLine {
	l := summaryLine{status: status, name: printable(name)}
	if r := []rune(l.name); len(r) > maxName {
		l.name = "…" + string(r[len(r)-maxName+1:])
	}
	if len(findings) > 0 {
		wrong, _, _ := strings.Cut(findings[0].Detail, ". ") // what to do comes behind that
		l.worst = strings.TrimSuffix(printable(wrong), ".")
		if more := len(findings) - 1; more > 0 {
			l.more = fmt.Sprintf(" (and %d more)", more)
		}
	}
	return l
}
