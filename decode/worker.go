package decode

import (
	"context"
	"runtime"
	"runtime/cgo"
	"time"
)

// patience is how long a cancelled call waits for FFmpeg to give up by itself
// before it leaves the thread behind: long enough for one costly frame.
const patience = time.Second

// worker runs everything that concerns one file on one operating system
// thread. FFmpeg's log lines can then be told apart by thread, and a read that
// hangs in the kernel, where nothing can stop it, holds up that thread alone.
type worker struct {
	jobs  chan func()
	stop  stop
	notes *notebook
	log   cgo.Handle
	ended chan struct{}
	lost  bool // a job was left behind
}

func newWorker() *worker {
	w := &worker{jobs: make(chan func()), stop: newStop(), notes: &notebook{}, ended: make(chan struct{})}
	w.log = cgo.NewHandle(w.notes)
	go w.run()
	return w
}

func (w *worker) run() {
	// Never unlocked, so the thread ends with the goroutine and its log
	// destination with it.
	runtime.LockOSThread()
	logTo(w.log)
	for job := range w.jobs {
		job()
	}
	w.log.Delete()
	w.stop.free()
	close(w.ended)
}

// do runs job and waits for it. When ctx is cancelled it interrupts FFmpeg;
// should that not help, it returns without the job having ended, and the
// worker can only be closed. What job writes may be read only if do returned
// nil.
func (w *worker) do(ctx context.Context, job func()) error {
	if w.lost {
		return errLeft
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	done := make(chan struct{})
	w.jobs <- func() { job(); close(done) }
	select {
	case <-done:
		return nil
	case <-ctx.Done():
	}
	w.stop.set(true)
	timer := time.NewTimer(patience)
	defer timer.Stop()
	select {
	case <-done:
		w.stop.set(false)
		return nil
	case <-timer.C:
		w.lost = true
		return ctx.Err()
	}
}

// close runs last and ends the worker. If a job was left behind that happens
// whenever it comes back.
func (w *worker) close(last func()) {
	if w.lost {
		go func() {
			w.jobs <- last
			close(w.jobs)
		}()
		return
	}
	w.jobs <- last
	close(w.jobs)
	<-w.ended
}
