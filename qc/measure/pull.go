package measure

import (
	"context"

	"nightpair/metrics"
	"nightpair/qc/pull"
	"nightpair/qc/record"
)

// pull looks closer at a focus pull that the moments show; nothing where there
// is none. It returns an error only when ctx ended.
func (f *footage) pull(ctx context.Context, r record.Record) ([]record.PullFrame, error) {
	from, to, ok := pull.Range(r)
	if !ok || len(r.Header.Sync.Cuts) > 0 {
		return nil, nil
	}
	frames := pull.Frames(from, to)
	middle, err := f.pairAt(ctx, frames[len(frames)/2])
	if middle == nil {
		return nil, err
	}
	var run []record.PullFrame
	for now := range f.read(ctx, frames) {
		if now.leftErr != nil || now.rightErr != nil {
			continue
		}
		p := &metrics.Pair{Left: now.left, Right: now.right}
		at := record.PullFrame{Frame: now.frame, Moved: p.ShiftsSince(middle)}
		if pull.Unrest(at) != "" {
			run = []record.PullFrame{at} // there is nothing to tell, and this says why
			break
		}
		if spread, _ := p.Spread(); spread != nil {
			at.Parallax, at.Bands = spread.Parallax, p.FocusBands()
			run = append(run, at)
		}
	}
	f.halt()
	return run, ctx.Err()
}

// pairAt reads one frame of both eyes, nil where it cannot be read.
func (f *footage) pairAt(ctx context.Context, frame int) (p *metrics.Pair, err error) {
	for now := range f.read(ctx, []int{frame}) {
		if now.leftErr == nil && now.rightErr == nil {
			p = &metrics.Pair{Left: now.left, Right: now.right}
		}
	}
	f.halt()
	return p, ctx.Err()
}
