package qc

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"
	"time"

	"nightpair/metrics"
	"nightpair/qc/measure"
	"nightpair/qc/record"
)

// Night measures the clips of a shooting day into a ledger. What the ledger
// holds already is left alone.
type Night struct {
	Clips []record.Clip
	// Within are the paths that were searched for the clips: see Ledger.prune.
	Within   []string
	Plan     measure.Plan
	Mirrored record.Mirrored
	// Files lists the files of a clip, whose sizes and times tell whether it was
	// measured before.
	Files measure.FilesFunc
	Child Child
	// Workers is how many clips are measured at a time; 0 means one for every
	// two processors, since each decodes two files at a time.
	Workers int
	// Until is when the night ends: clips being measured then finish their
	// pass, clips that are not begun are recorded as not reached. Zero leaves the
	// night open.
	Until time.Time
	// Report is told what happens, one thing at a time. It may be nil.
	Report func(Progress)
}

// Run measures what is to be measured. A clip that cannot be measured gets a
// record that says so and does not stop the night. The error is ctx's, or that
// of a ledger which takes no more; all records that were complete before then
// stay. A RecordError or a TakenError comes before anything is measured.
func (n Night) Run(ctx context.Context, ledger *Ledger) error {
	if IsChild() {
		return ErrChild
	}
	if err := n.checkKeys(); err != nil {
		return err
	}
	if err := ledger.prune(n.Clips, n.Within); err != nil {
		return err
	}
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	run := &run{Night: n, ledger: ledger, started: time.Now()}
	run.progress.Clips = len(n.Clips)

	var tasks []task
	for _, clip := range n.Clips {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		t, err := run.look(clip)
		if err != nil {
			return err
		}
		if t.needed {
			tasks = append(tasks, t)
		}
	}
	queue := make(chan task)
	var workers sync.WaitGroup
	for range min(n.workers(), len(tasks)) {
		workers.Go(func() {
			for t := range queue {
				if err := run.measure(ctx, t); err != nil {
					stop(err)
					return
				}
			}
		})
	}
	for i := 0; i < len(tasks) && ctx.Err() == nil; i++ {
		select {
		case queue <- tasks[i]:
		case <-ctx.Done():
		}
	}
	close(queue)
	workers.Wait()
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	return nil
}

func (n Night) workers() int {
	if n.Workers > 0 {
		return n.Workers
	}
	return max(1, runtime.NumCPU()/2)
}

// checkKeys makes sure that no two clips share a record.
func (n Night) checkKeys() error {
	names := map[string]string{}
	for _, clip := range n.Clips {
		if other, taken := names[clip.Key()]; taken {
			return fmt.Errorf("two clips for the record %s: %q and %q", clip.Key(), other, clip.Name)
		}
		names[clip.Key()] = clip.Name
	}
	return nil
}

// run is a night under way.
type run struct {
	Night
	ledger  *Ledger
	started time.Time

	mu       sync.Mutex
	progress Progress
}

// task is a clip with what is known of it before it is measured.
type task struct {
	clip        record.Clip
	fingerprint string
	problem     string // why there is nothing to measure
	held        standing
	needed      bool
}

// look finds out whether a clip needs measuring.
func (r *run) look(clip record.Clip) (task, error) {
	t := task{clip: clip, problem: clip.Problem, needed: true}
	var err error
	t.fingerprint, err = measure.Fingerprint(clip, r.Files, r.Plan, r.Mirrored, metrics.All)
	switch {
	case err != nil && t.problem == "":
		t.problem = err.Error()
	case err == nil:
		t.held = r.ledger.holds(clip, t.fingerprint)
	}
	if t.held == whole {
		t.needed = false
		r.tell(ClipKept, clip, func(p *Progress) { p.Done++; p.Kept++ })
		return t, nil
	}
	if t.problem != "" {
		t.needed = false
		return t, r.fail(record.Header{Fingerprint: t.fingerprint, Clip: clip}, ClipFailed, t.problem, 0)
	}
	r.mu.Lock()
	r.progress.Planned += r.Plan.Count()
	r.mu.Unlock()
	return t, nil
}

// measure measures one clip, or records why it could not be done.
func (r *run) measure(ctx context.Context, t task) error {
	if r.over() {
		return r.late(t)
	}
	r.tell(ClipStarted, t.clip, nil)
	file, err := r.ledger.begin(t.clip)
	if err != nil {
		return err
	}
	var (
		stream  record.Stream
		rec     = &stream.Record
		planned = r.Plan.Count() // as counted into the progress
		done    = 0              // of the plan
	)
	job := measure.Job{Clip: t.clip, Fingerprint: t.fingerprint, Plan: r.Plan, Mirrored: r.Mirrored, Until: r.Until}
	err = r.Child.run(ctx, job, func(line []byte) error {
		moments := len(rec.Moments)
		if err := stream.Add(line); err != nil {
			return brokenChild{"the measuring process wrote what is no record: " + err.Error()}
		}
		if _, err := file.Write(append(bytes.Clone(line), '\n')); err != nil {
			return err
		}
		switch {
		case stream.Closed || rec.Header.Early:
		case len(rec.Moments) == moments:
			r.count(func(p *Progress) { p.Planned += rec.Header.Planned - planned })
			planned = rec.Header.Planned
		default:
			last := &rec.Moments[len(rec.Moments)-1]
			added := last.Added
			*last = record.Moment{Frame: last.Frame} // the rest is in the file
			if !added {
				done++
				r.tell(ClipMoment, t.clip, func(p *Progress) { p.Moments++ })
			}
		}
		return nil
	})
	if err == nil && !stream.Closed {
		err = brokenChild{"the measuring process ended before its record did"}
	}
	if err == nil {
		if wrong := stream.End(); wrong != nil {
			err = brokenChild{"the measuring process wrote what is no record: " + wrong.Error()}
		}
	}
	unmeasured := planned - done
	if broken, ok := errors.AsType[brokenChild](err); ok {
		if err := file.drop(); err != nil {
			return err
		}
		header := rec.Header
		header.Fingerprint, header.Clip = t.fingerprint, t.clip
		return r.fail(header, ClipFailed, broken.reason, unmeasured)
	}
	if err != nil {
		return errors.Join(err, file.drop())
	}
	if err := file.keep(); err != nil {
		return err
	}
	event := ClipMeasured
	if rec.Trailer.Failed != "" {
		event = ClipFailed
	}
	r.tell(event, t.clip, func(p *Progress) {
		p.Done++
		p.Planned -= unmeasured
		p.Problem = rec.Trailer.Failed
		if event == ClipFailed {
			p.Failed++
		}
	})
	return nil
}

func (r *run) over() bool { return !r.Until.IsZero() && !time.Now().Before(r.Until) }

// late records that a clip's turn did not come. What an earlier night measured
// of it in part stays.
func (r *run) late(t task) error {
	reason := "not reached before " + r.Until.Format("15:04")
	if t.held == partly {
		r.tell(ClipLate, t.clip, func(p *Progress) {
			p.Done++
			p.Kept++
			p.Planned -= r.Plan.Count()
			p.Problem = reason + "; what was measured before is kept"
		})
		return nil
	}
	return r.fail(record.Header{Fingerprint: t.fingerprint, Clip: t.clip}, ClipLate, reason, r.Plan.Count())
}

// fail writes the record of a clip that could not be measured.
func (r *run) fail(header record.Header, event Event, reason string, unmeasured int) error {
	header.Early = false
	if header.Left.Path == "" {
		header.Left.Path = header.Clip.Left
	}
	if header.Right.Path == "" {
		header.Right.Path = header.Clip.Right
	}
	if err := r.ledger.write(record.Record{Header: header, Trailer: record.Trailer{Failed: reason}}); err != nil {
		return err
	}
	r.tell(event, header.Clip, func(p *Progress) {
		p.Done++
		p.Failed++
		p.Planned -= unmeasured
		p.Problem = reason
	})
	return nil
}

func (r *run) count(change func(*Progress)) {
	r.mu.Lock()
	defer r.mu.Unlock()
	change(&r.progress)
}

// tell reports an event after the change that it makes.
func (r *run) tell(event Event, clip record.Clip, change func(*Progress)) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.progress.Problem = ""
	if change != nil {
		change(&r.progress)
	}
	r.progress.Event, r.progress.Clip = event, clip.Name
	r.progress.Elapsed = time.Since(r.started)
	if r.Report != nil {
		r.Report(r.progress)
	}
}
