package qc

import (
	"bufio"
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

// Serve is what a child does: it reads one job and writes the record, or answers questions
// until no more come.
func Serve(ctx context.Context, jobs io.Reader, records io.Writer, open measure.OpenFunc, ask measure.AskFunc) error {
	for more := json.NewDecoder(jobs); ; {
		var job measure.Job
		if err := more.Decode(&job); errors.Is(err, io.EOF) && job.Ask == "" {
			return nil
		} else if err != nil {
			return fmt.Errorf("read the job: %w", err)
		}
		if job.Ask == "" {
			return measure.Clip(ctx, records, job, open)
		}
		if err := record.WriteLine(records, measure.Answer(ctx, job, open, ask)); err != nil {
			return err
		}
	}
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

// brokenChild says that a child failed at its clip: it crashed, hung or wrote
// what it should not.
type brokenChild struct{ reason string }

func (b brokenChild) Error() string { return b.reason }

// run starts a child for a job and passes on its lines. It returns ctx's error
// when ctx ended, a brokenChild, or what take returned.
func (c Child) run(ctx context.Context, job measure.Job, take func(line []byte) error) error {
	p, err := c.start(ctx)
	if err != nil {
		return err
	}
	p.send(job)
	p.in.Close()
	for {
		line, err := p.line()
		if err == nil {
			err = take(line)
		}
		if err != nil {
			return p.end(err)
		}
	}
}

// process is a running child. One goroutine starts it, uses it and ends it.
type process struct {
	ctx         context.Context
	cmd         *exec.Cmd
	in          io.WriteCloser
	lines       *bufio.Reader
	said        crashOutput
	silence     time.Duration
	watchdog    *time.Timer
	hung        atomic.Bool
	stopKilling func() bool
}

// start starts a child.
func (c Child) start(ctx context.Context) (*process, error) {
	if IsChild() {
		return nil, ErrChild
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	p := &process{ctx: ctx, silence: c.Silence}
	if p.silence <= 0 {
		p.silence = DefaultSilence
	}
	p.cmd = exec.Command(c.Command[0], c.Command[1:]...)
	p.cmd.Env = append(os.Environ(), childVariable+"=1")
	p.cmd.WaitDelay = 10 * time.Second
	p.cmd.Stderr = &p.said
	isolate(p.cmd)
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if p.in, err = p.cmd.StdinPipe(); err != nil {
		return nil, err
	}
	// The child is to die with this process, which Linux takes to mean with the
	// thread that started it: end lets go of it.
	runtime.LockOSThread()
	if err := p.cmd.Start(); err != nil {
		runtime.UnlockOSThread()
		return nil, fmt.Errorf("start measuring: %w", err)
	}
	p.watchdog = time.AfterFunc(p.silence, func() {
		p.hung.Store(true)
		killGroup(p.cmd.Process)
	})
	p.stopKilling = context.AfterFunc(ctx, func() { killGroup(p.cmd.Process) })
	p.lines = bufio.NewReaderSize(out, 64<<10)
	return p, nil
}

// send gives the child a job. Whether it took it, its lines and its end tell.
func (p *process) send(job measure.Job) {
	p.watchdog.Reset(p.silence)
	record.WriteLine(p.in, job)
}

// line returns the next line that the child writes, io.EOF after the last.
func (p *process) line() ([]byte, error) {
	line, err := record.ReadLine(p.lines)
	switch {
	case err == nil:
		p.watchdog.Reset(p.silence)
	case !errors.Is(err, io.EOF) && !p.hung.Load() && p.ctx.Err() == nil:
		err = brokenChild{"the measuring process wrote what is no record: " + err.Error()}
	case !errors.Is(err, io.EOF):
		err = io.EOF
	}
	return line, err
}

// end waits for the child after its last line, which is io.EOF, or kills it for an error. It
// returns ctx's error when ctx ended, a brokenChild, the given error, or nil when the child
// ended well.
func (p *process) end(err error) error {
	defer runtime.UnlockOSThread()
	if errors.Is(err, io.EOF) {
		err = nil
	}
	if err != nil {
		killGroup(p.cmd.Process)
	}
	p.in.Close()
	waitErr := p.cmd.Wait()
	p.watchdog.Stop()
	p.stopKilling()

	switch {
	case p.ctx.Err() != nil:
		return p.ctx.Err()
	case p.hung.Load():
		return brokenChild{fmt.Sprintf("measuring hung: nothing came for %v", p.silence)}
	case err != nil:
		return err
	case waitErr != nil:
		return brokenChild{"measuring crashed: " + p.said.why(waitErr)}
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
