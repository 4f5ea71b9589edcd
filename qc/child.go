package qc

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"sync/atomic"
	"syscall"
	"time"

	"nightpair/qc/measure"
	"nightpair/qc/record"
)

// Footage is decoded and measured in child processes: whatever a broken file
// does to a decoder written in C then costs that clip alone.

// childVariable marks the environment of a child, so that no child starts
// children of its own.
const childVariable = "NIGHTPAIR_CHILD"

// IsChild reports whether this process is a measuring child.
func IsChild() bool { return os.Getenv(childVariable) != "" }

// ErrChild says that a child was about to start children.
var ErrChild = errors.New("a measuring process does not start others")

// Serve is what a child does: it reads one job and writes the record.
func Serve(ctx context.Context, jobs io.Reader, records io.Writer, open measure.OpenFunc) error {
	var job measure.Job
	if err := json.NewDecoder(jobs).Decode(&job); err != nil {
		return fmt.Errorf("read the job: %w", err)
	}
	if job.Ask {
		reader, err := open(ctx, job.Clip.Left)
		if err != nil {
			return err
		}
		defer reader.Close()
		return record.WriteLine(records, reader.Source())
	}
	return measure.Clip(ctx, records, job, open)
}

// Child starts measuring processes.
type Child struct {
	// Command is the program and its arguments; it has to call Serve with its
	// standard input and output.
	Command []string
	// Silence is how long a child may go without a line of its record before it
	// is taken for hung; 0 means DefaultSilence.
	Silence time.Duration
}

// DefaultSilence leaves time for finding the frames of a very long file on a
// slow drive, which is the longest that a child says nothing.
const DefaultSilence = 10 * time.Minute

// Tag asks a file what its own stereo tags say, as Pairing wants to know.
func (c Child) Tag(ctx context.Context, path string) (record.Packing, bool) {
	var packing record.Packing
	err := c.run(ctx, measure.Job{Clip: record.Clip{Left: path}, Ask: true}, func(line []byte) error {
		var source record.Source
		err := record.ParseLine(line, &source)
		packing = source.Packing
		return err
	})
	return packing, err == nil && packing != ""
}

// brokenChild says that a child failed at its clip: it crashed, hung or wrote
// what it should not.
type brokenChild struct{ reason string }

func (b brokenChild) Error() string { return b.reason }

// run starts a child for a job and passes on its lines. It returns ctx's error
// when ctx ended, a brokenChild, or what take returned.
func (c Child) run(ctx context.Context, job measure.Job, take func(line []byte) error) error {
	if IsChild() {
		return ErrChild
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	order, err := json.Marshal(job)
	if err != nil {
		return err
	}
	silence := c.Silence
	if silence <= 0 {
		silence = DefaultSilence
	}

	// The child is to die with this process, which Linux takes to mean with the
	// thread that started it.
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()

	cmd := exec.Command(c.Command[0], c.Command[1:]...)
	cmd.Env = append(os.Environ(), childVariable+"=1")
	cmd.Stdin = bytes.NewReader(order)
	cmd.WaitDelay = 10 * time.Second
	var said crashOutput
	cmd.Stderr = &said
	isolate(cmd)
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("start measuring: %w", err)
	}
	var hung atomic.Bool
	watchdog := time.AfterFunc(silence, func() {
		hung.Store(true)
		killGroup(cmd.Process)
	})
	stopKilling := context.AfterFunc(ctx, func() { killGroup(cmd.Process) })

	lines := bufio.NewReaderSize(out, 64<<10)
	var takeErr error
	for takeErr == nil {
		line, err := record.ReadLine(lines)
		if err != nil {
			if !errors.Is(err, io.EOF) && !hung.Load() && ctx.Err() == nil {
				takeErr = brokenChild{"the measuring process wrote what is no record: " + err.Error()}
			}
			break
		}
		watchdog.Reset(silence)
		takeErr = take(line)
	}
	if takeErr != nil {
		killGroup(cmd.Process)
	}
	waitErr := cmd.Wait()
	watchdog.Stop()
	stopKilling()

	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case hung.Load():
		return brokenChild{fmt.Sprintf("measuring hung: nothing came for %v", silence)}
	case takeErr != nil:
		return takeErr
	case waitErr != nil:
		return brokenChild{"measuring crashed: " + said.why(waitErr)}
	default:
		return nil
	}
}

// crashOutput keeps the beginning of what a process says on standard error,
// where a crash gives its reason.
type crashOutput struct{ text []byte }

const maxCrashOutput = 16 << 10

func (l *crashOutput) Write(p []byte) (int, error) {
	l.text = append(l.text, p[:min(len(p), maxCrashOutput-len(l.text))]...)
	return len(p), nil
}

// why puts into one line why a process ended.
func (l *crashOutput) why(err error) string {
	said := ""
	for line := range strings.Lines(string(l.text)) {
		line = strings.TrimSpace(line)
		if said == "" {
			said = line
		}
		if strings.HasPrefix(line, "panic: ") || strings.HasPrefix(line, "fatal error: ") {
			said = line
			break
		}
	}
	reason := err.Error()
	if exit, ok := errors.AsType[*exec.ExitError](err); ok {
		status, _ := exit.Sys().(syscall.WaitStatus)
		if status.Signaled() && status.Signal() == syscall.SIGKILL {
			reason += ", as when memory runs out"
		}
	}
	if said == "" {
		return reason
	}
	return said + " (" + reason + ")"
}
