package measure

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"image/jpeg"
	"io"
	"slices"
	"time"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// Job is one clip to measure.
type Job struct {
	Clip        record.Clip     `json:"clip"`
	Fingerprint string          `json:"fingerprint"` // goes into the record's header
	Plan        Plan            `json:"plan"`
	Mirrored    record.Mirrored `json:"mirrored,omitempty"`
	// Until is when the night ends: the pass that is then being measured is the
	// last. Zero leaves it open.
	Until time.Time `json:"until,omitzero"`
	// Ask asks something of the left file only, in place of measuring; see Answer.
	Ask Question `json:"ask,omitempty"`
}

// Clip measures a clip and writes its record to w, every moment as soon as
// it is known. Whatever is wrong with the footage goes into the record, whose
// trailer then says why the clip could not be measured. It returns an
// error, and leaves the record without a trailer, only when ctx ended or w
// would not take it.
func Clip(ctx context.Context, w io.Writer, job Job, open OpenFunc) error {
	return measure(ctx, w, job, open, metrics.All)
}

func measure(ctx context.Context, w io.Writer, job Job, open OpenFunc, all []metrics.Metric) error {
	header := record.Header{Fingerprint: job.Fingerprint, Clip: job.Clip}
	var seen *scan
	footage, err := openFootage(ctx, job.Clip, open)
	defer footage.close()
	header.Left, header.Right = footage.sources(job.Clip)
	if err == nil {
		early := header
		early.Early = true
		if err := record.WriteLine(w, early); err != nil {
			return err
		}
		seen, err = prepare(ctx, &header, job, footage, all)
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if writeErr := record.WriteLine(w, header); writeErr != nil {
		return writeErr
	}
	trailer := record.Trailer{Done: true}
	if err != nil {
		trailer.Failed = err.Error()
		trailer.Left, trailer.Right = footage.notes()
		return record.WriteLine(w, trailer)
	}

	first, count := footage.overlap()
	passes := job.Plan.passes(count)
	instants := footage.watch(ctx, shifted(slices.Concat(passes...), first), header.Sync)
	session := session{w: w, header: header, metrics: all}
	for i, pass := range passes {
		for range pass {
			now, more := <-instants
			if !more {
				return ctx.Err()
			}
			if err := session.take(ctx, now); err != nil {
				return err
			}
		}
		if i < len(passes)-1 && !job.Until.IsZero() && time.Now().After(job.Until) {
			trailer.Short = true
			break
		}
	}
	footage.halt()
	trailer.Failed = session.failed()
	over := !job.Until.IsZero() && time.Now().After(job.Until)
	if trailer.Failed == "" && !trailer.Short && !over {
		if trailer.Pull, err = footage.pull(ctx, record.Record{Header: header, Moments: session.sorted()}); err != nil {
			return err
		}
	}
	if trailer.Failed == "" && !over {
		if err := footage.refine(ctx, &session, header.Sync); err != nil {
			return err
		}
		if err := footage.everyFrame(ctx, w, seen, header.Sync, session.known, job.Until); err != nil {
			return err
		}
		if trailer.Watched, err = footage.watched(ctx, seen, header.Sync); err != nil {
			return err
		}
	}
	trailer.Lost = session.lost
	left, right := footage.notes()
	trailer.Left = slices.Concat(left, session.leftNotes)
	trailer.Right = slices.Concat(right, session.rightNotes)
	return record.WriteLine(w, trailer)
}

// prepare finds out what the header has to say before measuring, and returns what was seen of
// all frames.
func prepare(ctx context.Context, h *record.Header, job Job, footage *footage, all []metrics.Metric) (seen *scan, err error) {
	if footage.setup, err = setupAsTagged(job.Clip, footage); err != nil {
		return nil, err
	}
	if h.Sync, seen, err = footage.sync(ctx, job.Until); err != nil {
		return nil, err
	}
	if h.EyeWidth, h.EyeHeight, h.PixelAspect, err = footage.eye(); err != nil {
		return nil, err
	}
	_, count := footage.overlap()
	if count <= 0 {
		return nil, fmt.Errorf("no frame that both eyes have: left %d frames, right %d, slip %d",
			h.Left.Frames, h.Right.Frames, footage.setup.Slip)
	}
	if err := footage.orient(ctx, job.Mirrored); err != nil {
		return nil, err
	}
	if err := footage.time(ctx, &h.Sync, seen, all); err != nil {
		return nil, err
	}
	if h.Sync.Cuts, err = footage.cuts(ctx, seen); err != nil {
		return nil, err
	}
	_, count = footage.overlap()
	h.Setup = footage.setup
	for _, pass := range job.Plan.passes(count) {
		h.Planned += len(pass)
	}
	return seen, nil
}

// session is the measuring of one clip.
type session struct {
	w       io.Writer
	header  record.Header
	metrics []metrics.Metric

	measured              int
	lost                  []int
	leftNotes, rightNotes []record.Note
	lastErr               error

	seen  []record.Moment // figures of every moment so far, without pictures
	known []knownAt       // what each of them tells of the frames around it
	added bool            // moments that are taken now are not of the plan
}

// sorted returns the figures of the moments, in the order of their frames.
func (s *session) sorted() []record.Moment {
	return slices.SortedFunc(slices.Values(s.seen), func(a, b record.Moment) int { return cmp.Compare(a.Frame, b.Frame) })
}

// take measures one instant, or notes why there is nothing to measure. The
// error it returns is the end of measuring.
func (s *session) take(ctx context.Context, now instant) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if now.leftErr == nil && now.rightErr == nil {
		now.leftErr = s.sameSize(now.left)
		if !s.header.Setup.Packing.OneFile() {
			now.rightErr = s.sameSize(now.right)
		}
	}
	if err := either(now.leftErr, now.rightErr); err != nil {
		s.noteLost(now, err)
		return nil
	}
	m := record.Moment{
		Frame:    now.frame,
		Added:    s.added,
		Time:     now.left.Time,
		Timecode: record.Timecode(s.header.Left.Timecode, s.header.Left.RateNum, s.header.Left.RateDen, now.frame),
		Values:   make(map[string]stat.Measurement, len(s.metrics)),
	}
	pair := &metrics.Pair{Left: now.left, Right: now.right, Motion: now.motion}
	for _, metric := range s.metrics {
		if metric.Measure != nil {
			m.Values[metric.Name] = metric.Measure(pair)
		}
	}
	addEvidence(&m, pair)
	if prior, ok := pair.CoarsePrior(); ok {
		s.known = append(s.known, knownAt{now.frame, prior})
	}
	s.measured++
	s.seen = append(s.seen, record.Moment{Frame: m.Frame, Added: m.Added, Parallax: m.Parallax, Values: m.Values})
	m.Left, m.Right = still(now.left), still(now.right)
	return record.WriteLine(s.w, m)
}

// noteLost notes an instant that one of the files would not give.
func (s *session) noteLost(now instant, err error) {
	s.lastErr = err
	s.lost = append(s.lost, now.frame)
	if now.leftErr != nil {
		s.leftNotes = append(s.leftNotes, lostNote(now.frame, now.leftErr))
	}
	if now.rightErr != nil {
		s.rightNotes = append(s.rightNotes, lostNote(now.mate, now.rightErr))
	}
}

func lostNote(frame int, err error) record.Note {
	if errors.Is(err, io.EOF) {
		return record.Note{Text: fmt.Sprintf("frame %d: past the end of the file", frame), Count: 1}
	}
	return record.Note{Text: fmt.Sprintf("frame %d: %v", frame, err), Count: 1}
}

// sameSize holds a picture against the size the file announced: some files
// change it on the way.
func (s *session) sameSize(f *picture.Frame) error {
	if f.Width() != s.header.EyeWidth || f.Height() != s.header.EyeHeight {
		return fmt.Errorf("a picture of %d×%d pixels among pictures of %d×%d",
			f.Width(), f.Height(), s.header.EyeWidth, s.header.EyeHeight)
	}
	return nil
}

// failed says why the clip counts as not measured: when more of its moments
// were lost than measured. What remains of a broken file is no fair sample.
// The share is the project's own choice.
func (s *session) failed() string {
	if s.measured > len(s.lost) {
		return ""
	}
	return fmt.Sprintf("only %d of %d moments could be read: %v", s.measured, s.measured+len(s.lost), s.lastErr)
}

// Stills of the report.
const (
	stillWidth   = 384 // pixels
	stillQuality = 80  // of 100, as JPEG
)

// still returns a small JPEG picture of the frame, nil where its shape is
// beyond the format.
func still(f *picture.Frame) []byte {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, f.Thumbnail(stillWidth), &jpeg.Options{Quality: stillQuality}); err != nil {
		return nil
	}
	return out.Bytes()
}

func shifted(frames []int, by int) []int {
	for i := range frames {
		frames[i] += by
	}
	return frames
}
