package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var (
	clean = shot{frames: 12, right: 2, seed: 1}
	lower = shot{frames: 12, right: 2, lower: 8, seed: 2} // 3 % of the height: more than viewers tolerate
)

func TestCheckExitsWith(t *testing.T) {
	t.Run("0 when everything is within limits", func(t *testing.T) {
		dir := t.TempDir()
		clean.pair(t, dir, "A")
		got := nightpair(t, dir, "check", ".")
		require.Zero(t, got.code, "%+v", got)
		require.Equal(t, "1 clip: 1 pass, 0 warn, 0 fail, 0 unmeasured\nnightpair-report/index.html\n", got.out)
		require.FileExists(t, filepath.Join(dir, "nightpair-report", "index.html"))
		require.Contains(t, got.errors, "nightpair: 1 of 1 clips, A: measured, ")
	})
	t.Run("1 when a limit is exceeded", func(t *testing.T) {
		dir := t.TempDir()
		clean.pair(t, dir, "A")
		lower.pair(t, dir, "B")
		got := nightpair(t, dir, "check", ".", "--out", "out", "--quiet")
		require.Equal(t, 1, got.code, "%+v", got)
		require.Equal(t, map[string]string{"A": "pass", "B": "fail"}, verdicts(t, filepath.Join(dir, "out")))
		require.Regexp(t, `(?m)^fail  B  `, got.out)
		require.Contains(t, got.out, "2 clips: 1 pass, 0 warn, 1 fail, 0 unmeasured")
		require.Empty(t, got.errors)
	})
	t.Run("2 when it did not run", func(t *testing.T) {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "bad.csv"), []byte("what,is,this\n"), 0o666))
		clean.pair(t, dir, "A")
		require.NoError(t, os.Mkdir(filepath.Join(dir, "empty"), 0o777))
		for _, args := range [][]string{
			{"check"},
			{"check", "nowhere"},
			{"check", "empty"},
			{"check", ".", "--limits", "bad.csv"},
			{"check", ".", "--limits", "nowhere.csv"},
			{"check", ".", "--screen", "-3"},
			{"check", ".", "--screen", "wide"},
			{"check", ""},
			{"check", ".", "--out", ""},
			{"check", ".", "--limits", ""},
			{"check", ".", "--out", "."},
			{"check", ".", "no\nwhere"},
			{"judge", ""},
			{"help", "nonsense"},
			{"check", ".", "--screen", "2", "--screen", "0"},
			{"check", ".", "--view", "180"},
			{"check", ".", "--mirrored", "up"},
			{"check", ".", "--workers", "0"},
			{"check", ".", "--samples", "-1"},
			{"check", ".", "--done-by", "25:00"},
			{"check", ".", "--packing", "laced"},
			{"check", ".", "--quiet", "--json"},
			{"check", ".", "--nonsense"},
			{"check", ".", "--out", "bad.csv"},
			{"judge"},
			{"judge", "nowhere"},
			{"judge", "empty"},
			{"judge", "empty", "--limits", "nowhere"},
			{"pairs"},
			{"pairs", "empty"},
			{"metrics", "nonsense"},
			{"metrics", "roll", "zoom"},
			{"limits", "nonsense"},
			{"demo"},
			{"nonsense"},
			{"measure-clip"},
			{},
		} {
			got := nightpair(t, dir, args...)
			require.Equal(t, 2, got.code, "%v: %+v", args, got)
			require.Empty(t, got.out, "%v", args)
			require.Regexp(t, `^nightpair: error: [^\n]+\n`, got.errors, "%v", args)
			require.NotContains(t, got.errors, "strconv", "%v", args)
			lines := strings.Split(strings.TrimSuffix(got.errors, "\n"), "\n")
			require.LessOrEqual(t, len(lines), 2, "%v", args)
			if len(lines) == 2 {
				require.Regexp(t, `^nightpair: hint: `, lines[1], "%v", args)
			}
		}
	})
	t.Run("3 when a clip could not be measured", func(t *testing.T) {
		dir := t.TempDir()
		clean.pair(t, dir, "A")
		lower.pair(t, dir, "B")
		clean.write(t, filepath.Join(dir, "C_L.mov"), "left")
		clean.pair(t, dir, "D")
		whole, err := os.ReadFile(filepath.Join(dir, "D_R.mov"))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "D_R.mov"), whole[:len(whole)/3], 0o666))
		require.NoError(t, os.WriteFile(filepath.Join(dir, "E_L.mov"), []byte("this is no video"), 0o666))
		require.NoError(t, os.WriteFile(filepath.Join(dir, "E_R.mov"), nil, 0o666))
		got := nightpair(t, dir, "check", ".", "--out", "out")
		require.Equal(t, 3, got.code, "%+v", got)
		found := verdicts(t, filepath.Join(dir, "out"))
		require.Len(t, found, 5)
		require.Equal(t, "pass", found["A"])
		require.Equal(t, "fail", found["B"])
		require.Equal(t, "unmeasured", found["D"])
		require.Equal(t, "unmeasured", found["E"])
		require.Contains(t, got.errors, "D_R.mov")
		require.Contains(t, got.errors, "E_L.mov")

		// The rest of the file arrives, and so does the mate.
		require.NoError(t, os.WriteFile(filepath.Join(dir, "D_R.mov"), whole, 0o666))
		clean.write(t, filepath.Join(dir, "C_R.mov"), "right")
		for _, name := range []string{"B_L.mov", "B_R.mov", "E_L.mov", "E_R.mov"} {
			require.NoError(t, os.Remove(filepath.Join(dir, name)))
		}
		got = nightpair(t, dir, "check", ".", "--out", "out")
		require.Equal(t, 1, got.code, "%+v", got)
		require.Equal(t, map[string]string{"A": "pass", "B": "fail", "C": "pass", "D": "pass"}, verdicts(t, filepath.Join(dir, "out")))
		require.Contains(t, got.errors, "nightpair: measured before: 1\n")
	})
	t.Run("130 when interrupted, and goes on from there", func(t *testing.T) {
		dir := t.TempDir()
		for _, name := range []string{"A", "B", "C"} {
			clean.pair(t, dir, name)
		}
		cmd, lines := started(t, dir, "check", ".", "--json", "--workers", "1")
		rest := ""
		for lines.Scan() {
			var event struct{ Event, Clip string }
			if json.Unmarshal(lines.Bytes(), &event) != nil {
				rest += lines.Text() + "\n"
				continue
			}
			if event.Event == "moment" && event.Clip == "B" {
				require.NoError(t, cmd.Process.Signal(os.Interrupt))
			}
		}
		require.Error(t, cmd.Wait())
		require.Equal(t, 130, cmd.ProcessState.ExitCode())
		require.Equal(t, "nightpair: error: interrupted\nnightpair: hint: run the same command again to go on; what was measured is kept\n", rest)

		got := nightpair(t, dir, "check", ".")
		require.Zero(t, got.code, "%+v", got)
		require.Contains(t, got.errors, "nightpair: measured before: 1\n")
	})
}

func TestCheckTellsProgressAsJSON(t *testing.T) {
	dir := t.TempDir()
	clean.pair(t, dir, "A")
	got := nightpair(t, dir, "check", ".", "--json", "--samples", "3")
	require.Zero(t, got.code, "%+v", got)
	var events []string
	for line := range strings.Lines(got.errors) {
		var event map[string]any
		require.NoError(t, json.Unmarshal([]byte(line), &event))
		require.Equal(t, "A", event["clip"])
		require.Contains(t, event, "left_seconds")
		events = append(events, event["event"].(string))
	}
	require.Equal(t, []string{"started", "moment", "moment", "moment", "measured"}, events)
}

func TestCheckMeasuresPackedFiles(t *testing.T) {
	dir := t.TempDir()
	lower.write(t, filepath.Join(dir, "both.mov"), "left", "right")
	got := nightpair(t, dir, "check", ".", "--packing", "side-by-side")
	require.Equal(t, 1, got.code, "%+v", got)
	require.Contains(t, tables(t, filepath.Join(dir, "nightpair-report"))["clips.csv"], "side by side")
}

func TestCheckEndsByTheClock(t *testing.T) {
	now := time.Date(2024, 3, 9, 22, 30, 0, 0, time.UTC)
	for word, want := range map[string]time.Time{
		"":      {},
		"22:31": time.Date(2024, 3, 9, 22, 31, 0, 0, time.UTC),
		"22:30": time.Date(2024, 3, 10, 22, 30, 0, 0, time.UTC),
		"06:15": time.Date(2024, 3, 10, 6, 15, 0, 0, time.UTC),
	} {
		got, err := nextTime(now, word)
		require.NoError(t, err)
		require.Equal(t, want, got, word)
	}
}

// Whenever the night is killed, running it again gives the tables of an
// uninterrupted night, and no clip is measured twice.
func TestCheckSurvivesBeingKilled(t *testing.T) {
	dir := t.TempDir()
	for i, name := range []string{"A", "B", "C", "D"} {
		shot{frames: 12, right: 2, lower: i, seed: uint64(i)}.pair(t, dir, name)
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "E_L.mov"), []byte("this is no video"), 0o666))
	clean.write(t, filepath.Join(dir, "E_R.mov"), "right")
	check := func(out string) []string { return []string{"check", ".", "--out", out, "--json", "--workers", "2"} }
	got := nightpair(t, dir, check("whole")...)
	require.Equal(t, 3, got.code, "%+v", got)
	want := tables(t, filepath.Join(dir, "whole"))

	// Killed once at each of several events, in one report folder.
	out := filepath.Join(dir, "out")
	for _, moments := range []int{1, 5, 30, 20, 9} {
		cmd, lines := started(t, dir, append(check("out"), "--workers", "2")...)
		for seen := 0; lines.Scan(); {
			if strings.Contains(lines.Text(), `"event":"moment"`) {
				if seen++; seen == moments {
					require.NoError(t, cmd.Process.Kill())
				}
			}
		}
		require.Error(t, cmd.Wait())
		require.Equal(t, syscall.SIGKILL, cmd.ProcessState.Sys().(syscall.WaitStatus).Signal(), "killed after %d moments", moments)
	}
	kept := 0
	records, err := filepath.Glob(filepath.Join(out, "records", "*.jsonl"))
	require.NoError(t, err)
	for _, path := range records {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		if !strings.Contains(string(text), `"failed":`) {
			kept++
		}
	}
	require.Greater(t, kept, 0, "something was complete")
	require.Less(t, kept, 4, "something was not")
	got = nightpair(t, dir, check("out")...)
	require.Equal(t, 3, got.code, "%+v", got)
	require.Equal(t, kept, strings.Count(got.errors, `"event":"kept"`))
	require.Equal(t, 5-kept, strings.Count(got.errors, `"event":"started"`))
	require.Equal(t, want, tables(t, out))

	// And again: all is there but the clip that fails.
	got = nightpair(t, dir, check("out")...)
	require.Equal(t, 1, strings.Count(got.errors, `"event":"started"`))
	require.Equal(t, want, tables(t, out))
}

func TestCheckKeepsOthersOut(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"A", "B", "C", "D", "E"} {
		clean.pair(t, dir, name)
	}
	first, lines := started(t, dir, "check", ".", "--json", "--workers", "1")
	require.True(t, lines.Scan(), "it has begun")
	got := nightpair(t, dir, "check", ".")
	require.NoError(t, first.Process.Signal(syscall.SIGTERM))
	for lines.Scan() {
	}
	require.Error(t, first.Wait())
	require.Equal(t, 130, first.ProcessState.ExitCode())
	require.Equal(t, 2, got.code, "%+v", got)
	require.Contains(t, got.errors, "another nightpair is measuring into this folder")
}

func TestJudgeNeedsNoFootage(t *testing.T) {
	dir := t.TempDir()
	day := filepath.Join(dir, "day")
	require.NoError(t, os.Mkdir(day, 0o777))
	clean.pair(t, day, "A")
	lower.pair(t, day, "B")
	got := nightpair(t, dir, "check", "day", "--out", "out")
	require.Equal(t, 1, got.code, "%+v", got)
	before := tables(t, filepath.Join(dir, "out"))
	require.NoError(t, os.RemoveAll(day))

	again := nightpair(t, dir, "judge", "out")
	require.Equal(t, 1, again.code)
	require.Equal(t, got.out, again.out)
	require.Empty(t, again.errors)
	require.Equal(t, before, tables(t, filepath.Join(dir, "out")))

	// Limits that leave room for anything.
	loose := "metric,statistic,low,high,severity,source\nroll,median,-90,90,fail,the project's own choice\n"
	require.NoError(t, os.WriteFile(filepath.Join(dir, "loose.csv"), []byte(loose), 0o666))
	got = nightpair(t, dir, "judge", "out", "--limits", "loose.csv")
	require.Zero(t, got.code, "%+v", got)
	require.Equal(t, map[string]string{"A": "pass", "B": "pass"}, verdicts(t, filepath.Join(dir, "out")))

	// A screen so wide that the background of both would part the eyes.
	got = nightpair(t, dir, "judge", "out", "--screen", "60")
	require.Equal(t, 1, got.code, "%+v", got)
	require.Equal(t, "fail", verdicts(t, filepath.Join(dir, "out"))["A"])
	page, err := os.ReadFile(filepath.Join(dir, "out", "index.html"))
	require.NoError(t, err)
	require.Contains(t, string(page), "60 m wide")

	// Two screens in one report: what the small one bears is told of the large one.
	got = nightpair(t, dir, "judge", "out", "--screen", "1", "--screen", "60")
	require.Equal(t, 1, got.code, "%+v", got)
	page, err = os.ReadFile(filepath.Join(dir, "out", "index.html"))
	require.NoError(t, err)
	require.Contains(t, string(page), "a screen 1 m wide watched from 3 picture heights (1.69 m) and a screen 60 m wide")
	findings, err := os.ReadFile(filepath.Join(dir, "out", "findings.csv"))
	require.NoError(t, err)
	require.Contains(t, string(findings), "On a screen 60 m wide")
	require.NotContains(t, string(findings), "On a screen 1 m wide")
}

// Cameras count anew every day: a second day into the same report must not
// replace the clips of the first.
func TestCheckKeepsAnotherDaysClips(t *testing.T) {
	dir := t.TempDir()
	for _, day := range []string{"day1", "day2"} {
		require.NoError(t, os.Mkdir(filepath.Join(dir, day), 0o777))
		clean.pair(t, filepath.Join(dir, day), "A")
	}
	got := nightpair(t, dir, "check", "day1", "--out", "out", "--samples", "1")
	require.Zero(t, got.code, "%+v", got)
	before := tables(t, filepath.Join(dir, "out"))
	got = nightpair(t, dir, "check", "day2", "--out", "out", "--samples", "1")
	require.Equal(t, 2, got.code, "%+v", got)
	require.Equal(t, "nightpair: error: the report holds another clip A, of day1/A_L.mov\n"+
		"nightpair: hint: name another folder with --out, or delete out/records/A.jsonl\n", got.errors)
	require.Equal(t, before, tables(t, filepath.Join(dir, "out")))

	// The same clip by another path, and measured otherwise.
	got = nightpair(t, filepath.Join(dir, "day1"), "check", ".", "--out", "../out", "--samples", "2")
	require.Zero(t, got.code, "%+v", got)
	require.Contains(t, got.errors, "A: measured")
}

func TestJudgeNamesABrokenRecord(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "out", "records"), 0o777))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "out", "records", "A.jsonl"), []byte("{"), 0o666))
	got := nightpair(t, dir, "judge", "out")
	require.Equal(t, 2, got.code)
	require.Contains(t, got.errors, "read record out/records/A.jsonl: the record ends before its trailer")
	require.Contains(t, got.errors, "nightpair: hint: delete out/records/A.jsonl")

	// Before the night, not after it; and not where its clip is measured anew.
	clean.pair(t, dir, "B")
	got = nightpair(t, dir, "check", ".", "--out", "out")
	require.Equal(t, 2, got.code, "%+v", got)
	require.Equal(t, "nightpair: error: read record out/records/A.jsonl: the record ends before its trailer\n"+
		"nightpair: hint: delete out/records/A.jsonl and check again: that measures its clip anew\n", got.errors)
	require.NoError(t, os.Rename(filepath.Join(dir, "out/records/A.jsonl"), filepath.Join(dir, "out/records/B.jsonl")))
	got = nightpair(t, dir, "check", ".", "--out", "out")
	require.Zero(t, got.code, "%+v", got)
}

// A child that is killed, as when memory runs out, costs its clip alone.
func TestCheckLosesOnlyTheClipOfAKilledChild(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"A", "B", "C"} {
		clean.pair(t, dir, name)
	}
	cmd, lines := started(t, dir, "check", ".", "--json", "--workers", "1")
	for killed := false; lines.Scan(); {
		var event struct{ Event, Clip string }
		require.NoError(t, json.Unmarshal(lines.Bytes(), &event))
		if !killed && event.Event == "moment" && event.Clip == "B" {
			killed = true
			require.NoError(t, syscall.Kill(childOf(t, cmd.Process.Pid), syscall.SIGKILL))
		}
	}
	require.Error(t, cmd.Wait())
	require.Equal(t, 3, cmd.ProcessState.ExitCode())
	out := filepath.Join(dir, "nightpair-report")
	require.Equal(t, map[string]string{"A": "pass", "B": "unmeasured", "C": "pass"}, verdicts(t, out))
	require.Contains(t, tables(t, out)["findings.csv"], "easuring crashed: signal: killed, as when memory runs out")

	got := nightpair(t, dir, "check", ".")
	require.Zero(t, got.code, "%+v", got)
	require.Contains(t, got.errors, "nightpair: measured before: 2\n")
}

// childOf returns the only child of a process.
func childOf(t *testing.T, pid int) int {
	t.Helper()
	lists, err := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/children", pid))
	require.NoError(t, err)
	var children []string
	for _, list := range lists {
		text, err := os.ReadFile(list)
		if err == nil { // threads come and go
			children = append(children, strings.Fields(string(text))...)
		}
	}
	require.Len(t, children, 1)
	child, err := strconv.Atoi(children[0])
	require.NoError(t, err)
	return child
}
