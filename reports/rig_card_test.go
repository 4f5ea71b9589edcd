package reports

import (
	"encoding/csv"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/geometry"
	"nightpair/metrics/picture"
	"nightpair/qc/history"
	drawnday "nightpair/qc/history/drawn"
	"nightpair/qc/judge"
	"nightpair/qc/target"
)

// rigDay invents a day of two rigs: A is knocked after its clip 039 and its right camera stands
// low; B creeps in roll all day and gets other lenses before its clip 030.
func rigDay() Results {
	rng := rand.New(rand.NewPCG(1, 1))
	a := drawnday.Rig{Name: "A", Clips: 64, At: func(clip int, _ float64) drawnday.Stand {
		s := drawnday.Stand{Terms: geometry.Terms{geometry.TermHeight: 0.12, geometry.TermRoll: 0.0002}}
		if clip >= 40 {
			s.Terms[geometry.TermRoll] = 0.004
		}
		return s
	}}
	b := drawnday.Rig{Name: "B", Clips: 60, Flat: true, Same: true, At: func(clip int, k float64) drawnday.Stand {
		s := drawnday.Stand{Terms: geometry.Terms{geometry.TermOffset: -0.003, geometry.TermRoll: -0.004 * k}, Exposure: 0.25}
		if clip >= 30 {
			s.Terms[geometry.TermZoom] = 0.005
		}
		return s
	}}
	n := Results{Title: "Day 13", LimitSet: "viewer", Records: append(a.Records(rng), b.Records(rng)...)}
	n.Limits, _ = judge.LimitSets[0].Limits().On()
	for i := range n.Records {
		n.Records[i].Header.Setup.Right = picture.Flop
		n.Verdicts = append(n.Verdicts, judge.Verdict{Clip: n.Records[i].Header.Clip.Name, Status: judge.Passed})
	}
	n.Day = judge.OverDay(n.Records, nil, n.Limits)
	return n
}

// rows reads a table by its columns.
func rows(t *testing.T, text string) []map[string]string {
	t.Helper()
	cells, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	var all []map[string]string
	for _, line := range cells[1:] {
		row := map[string]string{}
		for i, name := range cells[0] {
			row[name] = line[i]
		}
		all = append(all, row)
	}
	return all
}

func TestNothingHasMovedSinceTheTarget(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	still := drawnday.Rig{Name: "A", Clips: 12, At: func(int, float64) drawnday.Stand { return drawnday.Stand{} }}.Records(rng)
	h := history.FollowAll(still)[0]
	require.Empty(t, sinceTarget(h, nil))
	fits := target.FitAll(still, []target.Target{{Clip: "A 002", Metres: 1.5}})
	require.Equal(t, "Nothing has moved since the last target, A 002 at 1.5 m.", sinceTarget(h, fits))
}

func TestCardOfTheRig(t *testing.T) {
	n := rigDay()
	// The crew says which clips are of the target: one before the knock, and one at the end of
	// the other rig's day.
	n.Targets = target.FitAll(n.Records, []target.Target{{Clip: "A 010", Metres: 1.5}, {Clip: "A 003", Metres: 4}, {Clip: "B 045", Metres: 1.5}})
	dir := t.TempDir()
	require.NoError(t, Write(dir, n))
	files := tree(t, dir)
	parse(t, "rig.html", files["rig.html"])
	for _, want := range []string{
		"A left / A right", "raise it", "12\u00a0% of the distance between the lenses", "since A 040", "24: A 040 to A 063",
		"turn its picture anticlockwise", "after <bdi>A 039</bdi>, before <bdi>A 040</bdi>", "Film the target when the height is right.",
		"tilt it until its picture has sunk", "creeping since B 000", "shorten it", "since B 030",
		"all clips show too much the same depth. Film the target at two distances", "close it",
		"Since the last target, A 010 at 1.5 m: roll +3.6\u00a0px (0.217°) at the side edges.",
		"Since the last target, B 045 at 1.5 m: roll −0.9\u00a0px",
		"after <bdi>B 029</bdi>, before <bdi>B 030</bdi>", "The right camera's picture is recorded mirrored",
	} {
		tells(t, files["rig.html"], want)
	}
	for _, name := range []string{"day.csv", "rig.csv"} {
		require.NotEmpty(t, files[name])
	}

	var lines []string
	for _, r := range rows(t, files["rig.csv"]) {
		require.Equal(t, r["row"] == toDo, r["way"] != "", r["metric"])
		if r["row"] != toLeave {
			lines = append(lines, strings.Join([]string{r["rig"][:1], r["row"], r["metric"], r["clip_from"], r["clip_to"], r["event"]}, " "))
		}
	}
	require.Equal(t, []string{
		"A do height_step A 000 A 063 ",
		"A unknown vertical_offset A 000 A 063 ",
		"A do roll A 040 A 063 ",
		"A step roll A 039 A 040 knock",
		"B unknown height_step B 000 B 059 ",
		"B do vertical_offset B 000 B 059 ",
		"B do roll B 000 B 059 ",
		"B do zoom B 030 B 059 ",
		"B do exposure B 000 B 059 ",
		"B creep roll B 000 B 059 creep",
		"B step zoom B 029 B 030 lens",
	}, lines)

	day := rows(t, files["day.csv"])
	require.Len(t, day, len(n.Records))
	knocks := 0
	for _, r := range day {
		require.NotEmpty(t, r[metrics.Roll+"_rig"])
		if r["event"] == "knock" {
			require.Equal(t, "A 040", r["clip"])
			knocks++
		}
	}
	require.Equal(t, 1, knocks)
	require.Equal(t, "2031-03-04T08:", day[0]["begun"][:14])

	var told []string
	for _, f := range n.Day {
		told = append(told, f.Limit.Metric+" "+strings.Join(f.Clips, "…"))
	}
	require.ElementsMatch(t, []string{"roll A 039…A 040", "roll B 000…B 059", "zoom B 029…B 030"}, told)
}
