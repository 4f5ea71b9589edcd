package main

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"nightpair/qc/judge"
)

func TestSummaryLines(t *testing.T) {
	const detail = "The right eye is 12.3 px (1.14 %) low, which everybody sees. Reposition it in post."
	finding := func(status judge.Status, detail string) judge.Finding {
		return judge.Finding{Status: status, Detail: detail}
	}
	verdict := func(clip string, findings ...judge.Finding) judge.Verdict {
		return judge.Verdict{Clip: clip, Status: findings[0].Status, Findings: findings}
	}
	lines := func(verdicts []judge.Verdict, day ...judge.Finding) []string {
		var out bytes.Buffer
		require.NoError(t, summarise(&out, verdicts, day, "index.html"))
		lines := strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n")
		for _, line := range lines {
			require.LessOrEqual(t, utf8.RuneCountInString(line), maxLine, line)
		}
		return lines
	}

	require.Equal(t, []string{
		"fail  a        The right eye is 12.3 px (1.14 %) low, which everybody sees (and 1 more)",
		"warn  b        Something",
		"warn  the day  Roll drifts by 0.1°",
		"3 clips: 1 pass, 1 warn, 1 fail, 0 unmeasured",
		"index.html",
	}, lines([]judge.Verdict{
		verdict("b", finding(judge.Warned, "Something.")), {Clip: "c", Status: judge.Passed},
		verdict("a", finding(judge.Failed, detail), finding(judge.Warned, "Something.")),
	}, finding(judge.Warned, "Roll drifts by 0.1°. Check the rig.")))

	// What does not fit ends at a word; of a long name the end is kept.
	long := strings.Repeat("é", 60) + "_017"
	got := lines([]judge.Verdict{
		verdict(long, finding(judge.Failed, detail), finding(judge.Warned, detail)),
		verdict("z", finding(judge.Unmeasured, strings.Repeat("x", 200))),
	})
	require.Equal(t, "fail        …"+strings.Repeat("é", 43)+"_017  The right eye is 12.3 px… (and 1 more)", got[0])
	require.Equal(t, "unmeasured  z"+strings.Repeat(" ", 49)+strings.Repeat("x", 37)+"…", got[1])
}

func TestShortened(t *testing.T) {
	for _, c := range []struct {
		text string
		room int
		want string
	}{
		{"as it is", 8, "as it is"},
		{"as it is", 7, "as it…"},
		{"as it is", 6, "as it…"},
		{"as it is", 5, "as…"},
		{"as, it is", 6, "as…"},
		{"Wörter", 4, "Wör…"},
		{"word", 1, "…"},
		{"word", 0, ""},
		{"word", -3, ""},
		{"", 0, ""},
	} {
		require.Equal(t, c.want, shortened(c.text, c.room), "%q in %d", c.text, c.room)
	}
}
