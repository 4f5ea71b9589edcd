package qc

import (
	"context"
	"encoding/json"
	"errors"
	"runtime"
	"sync"

	"nightpair/qc/measure"
	"nightpair/qc/record"
)

// Ask asks the same of many files, and tells take each answer as it comes, one at a time and
// in no order. Few children answer for all files; a file that one of them crashes or hangs at
// gets that for an answer, and another child goes on. The error is ctx's, or that of a child
// which cannot be started.
func (c Child) Ask(ctx context.Context, question measure.Question, paths []string, take func(path string, reply measure.Reply)) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	queue := make(chan string)
	var telling sync.Mutex
	var askers sync.WaitGroup
	for range min(runtime.NumCPU(), len(paths)) {
		askers.Go(func() {
			err := c.answers(ctx, question, queue, func(path string, reply measure.Reply) {
				telling.Lock()
				defer telling.Unlock()
				take(path, reply)
			})
			if err != nil {
				stop(err)
			}
		})
	}
	for i := 0; i < len(paths) && ctx.Err() == nil; i++ {
		select {
		case queue <- paths[i]:
		case <-ctx.Done():
		}
	}
	close(queue)
	askers.Wait()
	return context.Cause(ctx)
}

// answers has children answer for the files of the queue, one child after another.
func (c Child) answers(ctx context.Context, question measure.Question, queue <-chan string, take func(string, measure.Reply)) error {
	var p *process
	defer func() {
		if p != nil {
			p.end(nil)
		}
	}()
	for path := range queue {
		if p == nil {
			var err error
			if p, err = c.start(ctx); err != nil {
				return err
			}
		}
		p.send(measure.Job{Clip: record.Clip{Left: path}, Ask: question})
		var reply measure.Reply
		line, err := p.line()
		if err == nil {
			if wrong := json.Unmarshal(line, &reply); wrong != nil {
				err = brokenChild{"the measuring process wrote what is no answer: " + wrong.Error()}
			}
		}
		if err != nil {
			if err = p.end(err); err == nil {
				err = brokenChild{"the measuring process ended before it answered"}
			}
			p = nil
			broken, ok := errors.AsType[brokenChild](err)
			if !ok {
				return err
			}
			reply = measure.Reply{Problem: broken.reason}
		} else {
			p.watchdog.Stop() // until it is asked again
		}
		take(path, reply)
	}
	return nil
}
