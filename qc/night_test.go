package qc

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/qc/measure"
	"nightpair/qc/pairing"
	"nightpair/qc/record"
)

// The children of these tests are this test binary again: as a child it serves
// one job on "files" that hold a script of what happens when they are read.

const (
	childWord = "serve-for-test" // first argument of a child
	nightWord = "night-for-test" // first argument of a parent that is to be killed
	startsLog = "QC_TEST_STARTS" // environment: the file in which children note their start
)

func TestMain(m *testing.M) {
	if len(os.Args) > 1 {
		switch os.Args[1] {
		case childWord:
			os.Exit(serveForTest())
		case nightWord:
			os.Exit(nightForTest(os.Args[2], os.Args[3]))
		}
	}
	os.Exit(m.Run())
}

// script is what the content of a file asks for.
type script struct {
	Frames int
	At     int           // the frame at which it happens
	Does   string        // what happens
	Slow   time.Duration // what a frame takes
}

// scripted is a grey file that does what its script asks for.
type scripted struct {
	source record.Source
	script script
}

func (s *scripted) Source() record.Source { return s.source }
func (s *scripted) Notes() []record.Note  { return nil }
func (s *scripted) Close() error          { return nil }

func openScripted(ctx context.Context, path string) (measure.Reader, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var s script
	if err := json.Unmarshal(text, &s); err != nil {
		return nil, fmt.Errorf("open %s: not a video", path)
	}
	source := record.Source{Path: path, Codec: "drawn", Width: 64, Height: 36, Frames: s.Frames, RateNum: 25, RateDen: 1}
	return &scripted{source, s}, nil
}

// askScripted does at once what a script does at a frame.
func askScripted(ctx context.Context, path string) (record.Source, error) {
	reader, err := openScripted(ctx, path)
	if err != nil {
		return record.Source{}, err
	}
	if s := reader.(*scripted); s.script.Does != "" {
		s.script.At = 0
		_, err = s.Frame(ctx, 0)
	}
	return reader.Source(), err
}

func (s *scripted) Frame(ctx context.Context, index int) (*picture.Frame, error) {
	time.Sleep(s.script.Slow)
	if index >= s.script.At {
		switch s.script.Does {
		case "panic":
			panic("broken on purpose")
		case "segfault":
			syscall.Kill(os.Getpid(), syscall.SIGSEGV)
			time.Sleep(time.Hour)
		case "killed":
			syscall.Kill(os.Getpid(), syscall.SIGKILL)
			time.Sleep(time.Hour)
		case "leave":
			os.Exit(0)
		case "hang":
			time.Sleep(time.Hour)
		case "hang with a child":
			cmd := exec.Command("sleep", "3600")
			cmd.Stdout, cmd.Stderr = os.Stdout, os.Stderr // which keeps our pipes open
			if err := cmd.Start(); err != nil {
				panic(err)
			}
			noteStart(cmd.Process.Pid)
			time.Sleep(time.Hour)
		case "garble":
			os.Stdout.WriteString("what?\n")
			time.Sleep(time.Hour)
		case "start children":
			night := Night{Clips: []record.Clip{{Name: "x", Left: "l", Right: "r"}}}
			if err := night.Run(ctx, nil); !errors.Is(err, ErrChild) {
				panic("a child may start a night")
			}
			if err := (Child{Command: []string{"true"}}).run(ctx, measure.Job{}, nil); !errors.Is(err, ErrChild) {
				panic("a child may start children")
			}
			os.Stderr.WriteString("refused as it should be\n")
			os.Exit(9)
		}
	}
	if index < 0 || index >= s.source.Frames {
		return nil, io.EOF
	}
	grey := picture.Plane{Width: s.source.Width, Height: s.source.Height, Stride: s.source.Width}
	grey.Pix = make([]uint16, grey.Stride*grey.Height)
	return &picture.Frame{Planes: []picture.Plane{grey}, Depth: 10, Index: index}, nil
}

func serveForTest() int {
	noteStart(os.Getpid())
	if err := Serve(context.Background(), os.Stdin, os.Stdout, openScripted, askScripted); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 2
	}
	return 0
}

// noteStart adds a process to the log of starts, if there is one.
func noteStart(pid int) {
	log := os.Getenv(startsLog)
	if log == "" {
		return
	}
	f, err := os.OpenFile(log, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o666)
	if err != nil {
		panic(err)
	}
	fmt.Fprintln(f, pid)
	f.Close()
}

// nightForTest runs a night over a folder, as the process that is killed.
func nightForTest(footage, out string) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	ledger, err := OpenLedger(out)
	if err == nil {
		var clips []record.Clip
		if clips, err = (pairing.Search{}).Clips(footage); err == nil {
			err = Night{Clips: clips, Within: []string{footage}, Files: oneFile, Child: testChild(), Workers: 2}.Run(ctx, ledger)
		}
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

func testChild() Child {
	return Child{Command: []string{os.Args[0], childWord}, Silence: 20 * time.Second}
}

// footageFolder makes a folder of pairs NAME_L.mov and NAME_R.mov whose left
// files follow the scripts.
func footageFolder(t *testing.T, scripts map[string]script) string {
	t.Helper()
	dir := t.TempDir()
	for name, s := range scripts {
		writeScript(t, filepath.Join(dir, name+"_L.mov"), s)
		writeScript(t, filepath.Join(dir, name+"_R.mov"), script{Frames: s.Frames})
	}
	return dir
}

func writeScript(t *testing.T, path string, s script) {
	t.Helper()
	text, err := json.Marshal(s)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, text, 0o666))
}

// watched runs nights over one folder and keeps what happens.
type watched struct {
	t       *testing.T
	footage string
	out     string
	log     string
	night   Night

	mu     sync.Mutex
	events []Progress
}

func watch(t *testing.T, footage string) *watched {
	w := &watched{t: t, footage: footage, out: t.TempDir(), log: filepath.Join(t.TempDir(), "starts")}
	t.Setenv(startsLog, w.log)
	w.night = Night{Files: oneFile, Child: testChild(), Workers: 2}
	return w
}

// run runs a night and returns its events by clip.
func (w *watched) run(ctx context.Context) (map[string][]Event, error) {
	w.t.Helper()
	clips, err := pairing.Search{}.Clips(w.footage)
	require.NoError(w.t, err)
	night := w.night
	night.Clips, night.Within = clips, []string{w.footage}
	w.events = nil
	night.Report = func(p Progress) { w.events = append(w.events, p) }
	ledger, err := OpenLedger(w.out)
	require.NoError(w.t, err)
	defer ledger.Close()
	err = night.Run(ctx, ledger)
	events := map[string][]Event{}
	for _, p := range w.events {
		events[p.Clip] = append(events[p.Clip], p.Event)
	}
	return events, err
}

func (w *watched) records() map[string]record.Record {
	w.t.Helper()
	records, err := ReadRecords(w.out)
	require.NoError(w.t, err)
	byName := map[string]record.Record{}
	for _, r := range records {
		byName[r.Header.Clip.Name] = r
	}
	return byName
}

// starts returns the processes that were started since the last call.
func (w *watched) starts() []int {
	text, err := os.ReadFile(w.log)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	require.NoError(w.t, err)
	require.NoError(w.t, os.Remove(w.log))
	var pids []int
	for _, line := range strings.Fields(string(text)) {
		pid, err := strconv.Atoi(line)
		require.NoError(w.t, err)
		pids = append(pids, pid)
	}
	return pids
}

// recordBytes returns the content of the files in the folder of records.
func recordBytes(t *testing.T, out string) map[string]string {
	t.Helper()
	contents := map[string]string{}
	entries, err := os.ReadDir(filepath.Join(out, recordsFolder))
	require.NoError(t, err)
	for _, e := range entries {
		text, err := os.ReadFile(filepath.Join(out, recordsFolder, e.Name()))
		require.NoError(t, err)
		contents[e.Name()] = string(text)
	}
	return contents
}

func requireGone(t *testing.T, pids []int) {
	t.Helper()
	for _, pid := range pids {
		require.Eventually(t, func() bool {
			stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
			// An orphan may stay a zombie where nobody waits for it.
			return err != nil || bytes.Contains(stat, []byte(") Z "))
		}, 10*time.Second, 10*time.Millisecond, "process %d lives on", pid)
	}
}

func TestNightMeasuresAndResumes(t *testing.T) {
	footage := footageFolder(t, map[string]script{"A": {Frames: 48}, "B": {Frames: 10}})
	w := watch(t, footage)
	events, err := w.run(t.Context())
	require.NoError(t, err)
	require.Len(t, w.starts(), 2)
	require.Equal(t, ClipStarted, events["A"][0])
	require.Len(t, events["A"], 26)
	require.Equal(t, ClipMeasured, events["A"][25])
	require.Len(t, events["B"], 12)
	last := w.events[len(w.events)-1]
	require.Equal(t, []int{2, 2, 0, 0, 34, 34}, []int{last.Clips, last.Done, last.Kept, last.Failed, last.Moments, last.Planned})
	left, known := last.Remaining()
	require.True(t, known)
	require.Zero(t, left)

	records := w.records()
	require.Len(t, records["A"].Moments, 24)
	require.Len(t, records["B"].Moments, 10)
	for _, metric := range metrics.All {
		_, there := records["A"].Moments[0].Values[metric.Name]
		require.Equal(t, metric.Measure != nil, there, metric.Name)
	}
	before := recordBytes(t, w.out)
	require.Len(t, before, 3, "two records and the lock")

	// Nothing is measured twice.
	events, err = w.run(t.Context())
	require.NoError(t, err)
	require.Empty(t, w.starts())
	require.Equal(t, map[string][]Event{"A": {ClipKept}, "B": {ClipKept}}, events)
	require.Equal(t, before, recordBytes(t, w.out))

	// A file that has changed is measured again, and so is one whose record is gone.
	changed := time.Now().Add(-time.Hour)
	require.NoError(t, os.Chtimes(filepath.Join(footage, "B_R.mov"), changed, changed))
	_, err = w.run(t.Context())
	require.NoError(t, err)
	require.Len(t, w.starts(), 1)
	require.NotEqual(t, before["B.jsonl"], recordBytes(t, w.out)["B.jsonl"])
	require.NoError(t, os.Remove(filepath.Join(w.out, recordsFolder, "A.jsonl")))
	_, err = w.run(t.Context())
	require.NoError(t, err)
	require.Len(t, w.starts(), 1)
	require.Equal(t, before["A.jsonl"], recordBytes(t, w.out)["A.jsonl"])

	// Another plan, or another word on the rig, is another measurement.
	w.night.Plan.Samples = 5
	_, err = w.run(t.Context())
	require.NoError(t, err)
	require.Len(t, w.starts(), 2)
	require.Len(t, w.records()["B"].Moments, 5)
	w.night.Mirrored = record.MirroredLeft
	_, err = w.run(t.Context())
	require.NoError(t, err)
	require.Len(t, w.starts(), 2)
}

func TestNightLosesOnlyTheBrokenClip(t *testing.T) {
	tests := []struct {
		does, says string
		tried      int // children, with those that the child started
	}{
		{"panic", "panic: broken on purpose", 1},
		{"segfault", "SIGSEGV", 1},
		{"killed", "signal: killed, as when memory runs out", 1},
		{"leave", "ended before its record did", 1},
		{"hang", "measuring hung: nothing came for 4s", 1},
		{"hang with a child", "measuring hung: nothing came for 4s", 2},
		{"garble", "wrote what is no record: not a JSON object", 1},
		{"start children", "refused as it should be (exit status 9)", 1},
	}
	for _, tt := range tests {
		t.Run(tt.does, func(t *testing.T) {
			footage := footageFolder(t, map[string]script{
				"A": {Frames: 5}, "B": {Frames: 240, At: 200, Does: tt.does}, "C": {Frames: 5},
			})
			w := watch(t, footage)
			if strings.HasPrefix(tt.does, "hang") {
				w.night.Child.Silence = 4 * time.Second
			}
			events, err := w.run(t.Context())
			require.NoError(t, err)
			pids := w.starts()
			require.Len(t, pids, 2+tt.tried)
			requireGone(t, pids)
			require.Equal(t, ClipFailed, events["B"][len(events["B"])-1])
			records := w.records()
			require.Len(t, records, 3)
			require.Contains(t, records["B"].Trailer.Failed, tt.says)
			require.Equal(t, 240, records["B"].Header.Left.Frames, "what was known of it is kept")
			require.Empty(t, records["B"].Moments)
			require.Len(t, records["A"].Moments, 5)
			require.Len(t, records["C"].Moments, 5)
			require.NotContains(t, recordBytes(t, w.out), "B.partial")
			last := w.events[len(w.events)-1]
			require.Equal(t, []int{3, 3, 1}, []int{last.Clips, last.Done, last.Failed})
			require.Equal(t, last.Moments, last.Planned, "nothing is left to do")

			// It is tried again, the others are not; once it is mended, it is whole.
			writeScript(t, filepath.Join(footage, "B_L.mov"), script{Frames: 240})
			events, err = w.run(t.Context())
			require.NoError(t, err)
			require.Len(t, w.starts(), 1)
			require.Equal(t, []Event{ClipKept}, events["A"])
			require.Len(t, w.records()["B"].Moments, 24)
		})
	}
}

func TestNightRecordsWhatCannotBeMeasured(t *testing.T) {
	footage := footageFolder(t, map[string]script{"A": {Frames: 5}})
	writeScript(t, filepath.Join(footage, "B_L.mov"), script{Frames: 5})
	require.NoError(t, os.WriteFile(filepath.Join(footage, "C_L.mov"), []byte("no video"), 0o666))
	writeScript(t, filepath.Join(footage, "C_R.mov"), script{Frames: 5})
	w := watch(t, footage)
	_, err := w.run(t.Context())
	require.NoError(t, err)
	require.Len(t, w.starts(), 2, "nothing is started for a file without its mate")
	records := w.records()
	require.Len(t, records, 3)
	require.Empty(t, records["A"].Trailer.Failed)
	require.Contains(t, records["C"].Trailer.Failed, "not a video")
	var orphan string
	for name, r := range records {
		if r.Header.Clip.Problem != "" {
			orphan = name
			require.Equal(t, r.Header.Clip.Problem, r.Trailer.Failed)
			require.Equal(t, filepath.Join(footage, "B_L.mov"), r.Header.Left.Path)
		}
	}
	require.NotEmpty(t, orphan)

	// The mate comes: the record of the lone file makes way.
	writeScript(t, filepath.Join(footage, "B_R.mov"), script{Frames: 5})
	_, err = w.run(t.Context())
	require.NoError(t, err)
	records = w.records()
	require.Len(t, records, 3)
	require.Len(t, records["B"].Moments, 5)

	// The broken pair goes: so does its record. The good one stays though its
	// footage has gone.
	for _, name := range []string{"C_L.mov", "C_R.mov", "A_L.mov", "A_R.mov"} {
		require.NoError(t, os.Remove(filepath.Join(footage, name)))
	}
	_, err = w.run(t.Context())
	require.NoError(t, err)
	records = w.records()
	require.Len(t, records, 2)
	require.Contains(t, records, "A")
	require.Contains(t, records, "B")
}

func TestNightIsInterrupted(t *testing.T) {
	footage := footageFolder(t, map[string]script{
		"A": {Frames: 5}, "B": {Frames: 240, Slow: 50 * time.Millisecond}, "C": {Frames: 240, Slow: 50 * time.Millisecond}, "D": {Frames: 5},
	})
	w := watch(t, footage)
	ctx, cancel := context.WithCancel(t.Context())
	clips, err := pairing.Search{}.Clips(footage)
	require.NoError(t, err)
	w.night.Clips = clips
	seen := 0
	w.night.Report = func(p Progress) {
		if p.Event == ClipMoment && p.Clip == "C" {
			if seen++; seen == 2 {
				cancel()
			}
		}
	}
	ledger, err := OpenLedger(w.out)
	require.NoError(t, err)
	require.ErrorIs(t, w.night.Run(ctx, ledger), context.Canceled)
	require.NoError(t, ledger.Close())
	pids := w.starts()
	requireGone(t, pids)
	names := recordBytes(t, w.out)
	require.Contains(t, names, "A.jsonl")
	require.NotContains(t, names, "C.jsonl")
	require.NotContains(t, names, "C.partial")

	events, err := w.run(t.Context())
	require.NoError(t, err)
	require.Equal(t, []Event{ClipKept}, events["A"])
	require.Len(t, w.records(), 4)
}

// Whenever the night is killed, running it again gives what an uninterrupted
// night gives, and what was complete is not measured again.
func TestNightSurvivesBeingKilled(t *testing.T) {
	footage := footageFolder(t, map[string]script{
		"A": {Frames: 5}, "B": {Frames: 96, Slow: 10 * time.Millisecond}, "C": {Frames: 96, Slow: 5 * time.Millisecond},
		"D": {Frames: 3}, "E": {Frames: 48, At: 20, Does: "panic"},
	})
	whole := watch(t, footage)
	_, err := whole.run(t.Context())
	require.NoError(t, err)
	want := recordBytes(t, whole.out)

	night := func(out string) *exec.Cmd {
		cmd := exec.Command(os.Args[0], nightWord, footage, out)
		cmd.Stderr = os.Stderr
		return cmd
	}
	// Killed again and again, a little later each time.
	w := watch(t, footage)
	killedMidway := 0
	for delay := 20 * time.Millisecond; delay < 900*time.Millisecond; delay += 110 * time.Millisecond {
		cmd := night(w.out)
		require.NoError(t, cmd.Start())
		time.Sleep(delay)
		require.NoError(t, cmd.Process.Kill())
		if cmd.Wait() != nil {
			killedMidway++
		}
		requireGone(t, w.starts())
	}
	require.Greater(t, killedMidway, 2, "the night was too quick to be killed")
	require.NoError(t, night(w.out).Run())
	require.Equal(t, want, recordBytes(t, w.out))

	// Killed once, as soon as a record is complete and another is not.
	w = watch(t, footage)
	cmd := night(w.out)
	require.NoError(t, cmd.Start())
	require.Eventually(t, func() bool {
		entries, _ := os.ReadDir(filepath.Join(w.out, recordsFolder))
		ends := func(ending string) bool {
			return slices.ContainsFunc(entries, func(e os.DirEntry) bool { return strings.HasSuffix(e.Name(), ending) })
		}
		return ends(recordEnding) && ends(partialEnding)
	}, 10*time.Second, time.Millisecond)
	require.NoError(t, cmd.Process.Kill())
	require.Error(t, cmd.Wait())
	requireGone(t, w.starts())
	done := 0
	for name, content := range recordBytes(t, w.out) {
		if strings.HasSuffix(name, recordEnding) {
			require.Equal(t, want[name], content)
			if name != "E.jsonl" {
				done++
			}
		}
	}
	require.NoError(t, night(w.out).Run())
	require.Len(t, w.starts(), 5-done)
	require.Equal(t, want, recordBytes(t, w.out))
}

func TestNightEndsByTheClock(t *testing.T) {
	footage := footageFolder(t, map[string]script{"A": {Frames: 240, Slow: 20 * time.Millisecond}, "B": {Frames: 240}})
	w := watch(t, footage)
	w.night.Workers = 1
	w.night.Until = time.Now().Add(100 * time.Millisecond)
	_, err := w.run(t.Context())
	require.NoError(t, err)
	records := w.records()
	require.True(t, records["A"].Trailer.Short)
	require.Contains(t, []int{3, 6, 12}, len(records["A"].Moments), "whole passes")
	require.Equal(t, "not reached before "+w.night.Until.Format("15:04"), records["B"].Trailer.Failed)

	// The hour is past: what there is stays.
	before := recordBytes(t, w.out)
	events, err := w.run(t.Context())
	require.NoError(t, err)
	require.Equal(t, []Event{ClipLate}, events["A"])
	require.Equal(t, before, recordBytes(t, w.out))

	// Another night finishes both.
	w.night.Until = time.Now().Add(time.Hour)
	_, err = w.run(t.Context())
	require.NoError(t, err)
	records = w.records()
	require.False(t, records["A"].Trailer.Short)
	require.Len(t, records["A"].Moments, 24)
	require.Len(t, records["B"].Moments, 24)
}

// A full disk ends the night with an error that names it, and never leaves a
// record that looks whole.
func TestNightOnAFullDisk(t *testing.T) {
	footage := footageFolder(t, map[string]script{"A": {Frames: 5}, "B": {Frames: 240}})
	w := watch(t, footage)
	w.night.Workers = 1
	ledger, err := OpenLedger(w.out)
	require.NoError(t, err)
	require.NoError(t, os.Symlink("/dev/full", filepath.Join(w.out, recordsFolder, "B.partial")))
	clips, err := pairing.Search{}.Clips(footage)
	require.NoError(t, err)
	w.night.Clips = clips
	err = w.night.Run(t.Context(), ledger)
	require.ErrorIs(t, err, syscall.ENOSPC)
	require.ErrorContains(t, err, "B.partial: no space left on device")
	require.NoError(t, ledger.Close())
	names := recordBytes(t, w.out)
	require.Contains(t, names, "A.jsonl")
	require.NotContains(t, names, "B.jsonl")
	requireGone(t, w.starts())

	_, err = w.run(t.Context())
	require.NoError(t, err)
	require.Len(t, w.records()["B"].Moments, 24)
}

func TestNightCannotStartItsChildren(t *testing.T) {
	w := watch(t, footageFolder(t, map[string]script{"A": {Frames: 5}}))
	w.night.Child.Command = []string{filepath.Join(t.TempDir(), "nothing")}
	_, err := w.run(t.Context())
	require.ErrorIs(t, err, os.ErrNotExist)
	require.NotContains(t, recordBytes(t, w.out), "A.partial")
}

func TestNightRefusesTwoClipsOfOneName(t *testing.T) {
	ledger, err := OpenLedger(t.TempDir())
	require.NoError(t, err)
	defer ledger.Close()
	err = Night{Clips: []record.Clip{{Name: "A"}, {Name: "A"}}}.Run(t.Context(), ledger)
	require.ErrorContains(t, err, "two clips")
}

func TestLedgerServesOne(t *testing.T) {
	out := t.TempDir()
	first, err := OpenLedger(out)
	require.NoError(t, err)
	_, err = OpenLedger(out)
	require.ErrorIs(t, err, ErrBusy)
	require.NoError(t, first.Close())
	second, err := OpenLedger(out)
	require.NoError(t, err)
	require.NoError(t, second.Close())
}

func TestLedgerClearsWhatWasCut(t *testing.T) {
	out := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(out, recordsFolder), 0o777))
	cut := filepath.Join(out, recordsFolder, "A"+partialEnding)
	require.NoError(t, os.WriteFile(cut, []byte("{"), 0o666))
	ledger, err := OpenLedger(out)
	require.NoError(t, err)
	require.NoError(t, ledger.Close())
	require.NoFileExists(t, cut)
}

func TestReadRecordsNamesTheBrokenOne(t *testing.T) {
	out := t.TempDir()
	_, err := ReadRecords(out)
	require.ErrorIs(t, err, os.ErrNotExist)
	require.NoError(t, os.Mkdir(filepath.Join(out, recordsFolder), 0o777))
	path := filepath.Join(out, recordsFolder, "A"+recordEnding)
	require.NoError(t, os.WriteFile(path, []byte("{}\n"), 0o666))
	_, err = ReadRecords(out)
	broken, ok := errors.AsType[*RecordError](err)
	require.True(t, ok)
	require.Equal(t, path, broken.Path)
	require.ErrorIs(t, err, record.ErrTruncated)
}

// Files are asked in few children, and one that ends its child costs no other.
func TestChildAsk(t *testing.T) {
	dir := t.TempDir()
	log := filepath.Join(dir, "starts")
	t.Setenv(startsLog, log)
	var paths []string
	want := map[string]string{}
	for i := range 40 {
		path := filepath.Join(dir, fmt.Sprintf("%02d.mov", i))
		s, problem := script{Frames: i + 1}, ""
		switch i {
		case 7:
			s.Does, problem = "panic", "measuring crashed: panic: broken on purpose"
		case 20:
			s.Does, problem = "killed", "as when memory runs out"
		case 30:
			s.Does, problem = "garble", "no answer"
		}
		writeScript(t, path, s)
		if i == 12 {
			require.NoError(t, os.WriteFile(path, []byte("?"), 0o666))
			problem = "not a video"
		}
		paths = append(paths, path)
		want[path] = problem
	}
	got := map[string]measure.Reply{}
	require.NoError(t, testChild().Ask(t.Context(), measure.AskTags, paths, func(path string, reply measure.Reply) {
		got[path] = reply
	}))
	require.Len(t, got, len(paths))
	for i, path := range paths {
		if want[path] != "" {
			require.Contains(t, got[path].Problem, want[path])
			continue
		}
		require.Empty(t, got[path].Problem, path)
		require.Equal(t, i+1, got[path].Source.Frames)
	}
	starts, err := os.ReadFile(log)
	require.NoError(t, err)
	require.LessOrEqual(t, strings.Count(string(starts), "\n"), runtime.NumCPU()+3)

	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, testChild().Ask(ctx, measure.AskTags, paths, func(string, measure.Reply) {}), context.Canceled)
	require.Error(t, Child{Command: []string{filepath.Join(dir, "nothing")}}.Ask(t.Context(), measure.AskTags, paths, func(string, measure.Reply) {}))
	require.NoError(t, testChild().Ask(t.Context(), measure.AskTags, nil, nil))
}

// oneFile is a FilesFunc for clips without sequences.
func oneFile(path string) ([]string, error) {
	_, err := os.Stat(path)
	return []string{path}, err
}
