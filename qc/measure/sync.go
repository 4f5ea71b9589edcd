package measure

import (
	"context"
	"math"
	"time"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

const (
	// slipReach is how many frames either way a slip is looked for around a given one.
	slipReach = 48
	// timecodeReach is the largest slip that a timecode is believed on its own,
	// some ten seconds: beyond that two clocks that never met are likelier. The
	// project's own choice.
	timecodeReach = 250
)

// sync finds by how many whole frames the right eye is late, enters it into the
// setup, and the frame faults. The pictures have the first say, then the sound
// of both cameras, then the timecode. When the night is over, frames are not
// looked at any more. It returns an error only when ctx ended.
func (f *footage) sync(ctx context.Context, until time.Time) (record.Sync, *scan, error) {
	found := record.Sync{
		Pictures: stat.Missing(record.NotScanned),
		Sound:    f.slipBySound(ctx),
		Timecode: f.slipByTimecode(),
		Clock:    stat.Missing(record.NotScanned),
	}
	if f.packed() {
		found.Sound = stat.Missing("one file holds both eyes")
		found.Timecode = found.Sound
	}
	s, err := f.slipByPictures(ctx, &found, until)
	if err != nil {
		return found, nil, err
	}
	switch {
	case found.Pictures.OK():
		f.setup.Slip = int(math.Round(found.Pictures.Value))
	case found.Sound.OK():
		f.setup.Slip = int(math.Round(found.Sound.Value))
		found.Start = f.setup.Slip
	case found.Rough.OK() && !found.TimecodeFits():
		f.setup.Slip = int(math.Round(found.Rough.Value))
		found.Start = f.setup.Slip
	case found.Timecode.OK() && math.Abs(found.Timecode.Value) <= timecodeReach:
		f.setup.Slip = int(found.Timecode.Value)
		found.Start = f.setup.Slip
	}
	if s != nil && stat.Abs(f.setup.Slip-s.around) > slipReach {
		if s, err = f.scan(ctx, f.setup.Slip, s); err != nil {
			return found, nil, err
		}
	}
	if s != nil {
		found.Scanned, found.Runs = s.read(), s.stretches()
	}
	a := f.align(s, found)
	if s.steps(a, found.Start) && f.watchable(s) {
		w, err := f.watchFrames(ctx, found, s.turn)
		if err != nil {
			return found, nil, err
		}
		s.watched = w
		a, found.Scanned, found.Runs = w.Alignment, w.Seen, nil
	}
	found.Start, found.Faults, found.Unclear = a.Start, a.Faults, a.Unclear
	shown := f.setup.Slip
	f.setup.Slip = found.Safe(shown, f.left.Source().Frames)
	f.stepped = departures(found, shown, f.setup.Slip)
	return found, s, nil
}

// departures returns a function that says by how much the slip of a left frame departs from
// a given one; nil where the slip that was found holds nowhere, or everywhere.
func departures(s record.Sync, found, from int) func(frame int) int {
	at, holds, steps := s.Start, s.Start == found, false
	for _, h := range s.Faults {
		if h.StepKnown && h.Step != 0 {
			at, steps = at+h.Step, true
			holds = holds || at == found
		}
	}
	if !holds || !steps {
		return nil
	}
	return func(frame int) int { return s.SlipAt(frame) - from }
}

// slipByPictures looks for the slip in the pictures: around nothing, or where the sound or the
// timecode puts it if that is far away, and then anywhere. It enters what it finds, and returns
// what was seen of the frames; nothing where they cannot be looked at one by one, or the night
// is over. The error is errOtherMoment, or that of ctx.
func (f *footage) slipByPictures(ctx context.Context, found *record.Sync, until time.Time) (s *scan, err error) {
	if !until.IsZero() && time.Now().After(until) {
		return nil, nil
	}
	arounds := []int{0}
	if far := found.Sound; far.OK() && math.Abs(far.Value) > slipReach {
		arounds = []int{int(math.Round(far.Value)), 0}
	}
	if far := found.Timecode; far.OK() && math.Abs(far.Value) > slipReach {
		arounds = append(arounds, int(far.Value))
	}
	for i, around := range arounds {
		next, err := f.scan(ctx, around, s)
		if err != nil {
			return nil, err
		}
		if next == nil {
			continue
		}
		s = next
		pictures, rough, slips := s.even().slip(around)
		if i == 0 || pictures.OK() || !found.Rough.OK() {
			found.Pictures = pictures
			if !found.Rough.OK() {
				found.Rough = rough
			}
		}
		if pictures.OK() {
			found.Start, s.slips, s.turn = slips[0], slips, s.even().turn
			return s, nil
		}
	}
	if s == nil || f.packed() {
		return s, nil
	}
	return f.slipAnywhere(ctx, found, s)
}

// slip returns the slip around another one that most pieces of the scan show, and that of each
// piece that shows one; or why none does, and what is known of it roughly. An eye may still be
// turned.
func (s *scan) slip(around int) (slip, rough stat.Measurement, slips []int) {
	reason := ""
	for _, turned := range []picture.Orientation{picture.Upright, picture.Flop, picture.Flip, picture.Turn} {
		found, slips := s.turned(turned).slipAround(around)
		if found.OK() {
			s.turn = turned
			return found.Measurement, rough, slips
		}
		if !rough.OK() {
			rough = found.Rough
		}
		if reason == "" {
			reason = found.Missing
		}
	}
	return stat.Missing(reason), rough, nil
}

// surer returns which of two measurements has the smaller standard error, the first
// of equals.
func surer(m, n stat.Measurement) stat.Measurement {
	if n.OK() && (!m.OK() || n.SE < m.SE) {
		return n
	}
	return m
}

// slipAround looks in pieces of the length of a run; a frame missing within a
// piece may hide its slip, so halves come next. What no piece shows, all of them
// together may.
func (s *scan) slipAround(around int) (timing.Slip, []int) {
	reason := ""
	var rough stat.Measurement
	for _, pieces := range [][][2]int{s.pieces(record.ScanRun), s.pieces(record.ScanRun / 2), {{0, len(s.left)}}} {
		var found []stat.Measurement
		var slips []int
		for _, piece := range pieces {
			m := s.slipOf(piece, around)
			if m.OK() {
				found, slips = append(found, m.Measurement), append(slips, int(math.Round(m.Value)))
			} else if reason == "" {
				reason = m.Missing
			}
			rough = surer(rough, m.Rough)
		}
		if len(found) > 0 {
			return timing.Slip{Measurement: majority(found, slips)}, slips
		}
	}
	return timing.Slip{Measurement: stat.Missing(reason), Rough: rough}, nil
}

// majority returns the most certain of the slips that come to the number that most of
// them come to; of equal numbers the first.
func majority(found []stat.Measurement, slips []int) stat.Measurement {
	votes := map[int]int{}
	for _, at := range slips {
		votes[at]++
	}
	number := slips[0]
	for _, at := range slips {
		if votes[at] > votes[number] {
			number = at
		}
	}
	var best stat.Measurement
	for i, m := range found {
		if slips[i] == number && (!best.OK() || m.SE < best.SE) {
			best = m
		}
	}
	return best
}

// slipOf returns the slip of a piece of the left eye's frames.
func (s *scan) slipOf(piece [2]int, around int) timing.Slip {
	from, to := max(piece[0], 0), min(piece[1], len(s.left))
	right := make([]*picture.Signature, to-from)
	for i := range right {
		if j := from + i + around; j >= 0 && j < len(s.right) {
			right[i] = s.right[j]
		}
	}
	m := timing.FindSlip(s.left[from:to], right, slipReach)
	for _, v := range []*stat.Measurement{&m.Measurement, &m.Rough} {
		if v.OK() {
			*v = stat.Measured(v.Value+float64(around), v.SE)
		}
	}
	return m
}

// Listener is a Reader of a file that may hold sound.
type Listener interface {
	Reader
	// Sound returns one channel up to a length, from frame 0 on, with its samples
	// per second.
	Sound(ctx context.Context, length time.Duration) ([]float32, int, error)
}

// soundLength is how much of the sound is listened to: enough for a clapper and
// what is said before it.
const soundLength = 20 * time.Second

// slipBySound returns the slip under which both cameras hear the same at once. A
// metre between their microphones is a fourteenth of a frame.
func (f *footage) slipBySound(ctx context.Context) stat.Measurement {
	left, ok := f.left.(Listener)
	right, also := f.right.(Listener)
	rate := f.left.Source().Rate()
	if !ok || !also || rate <= 0 || f.packed() {
		return stat.Missing("no sound")
	}
	l, perSecond, err := left.Sound(ctx, soundLength)
	if err != nil {
		return stat.Missing("no sound of the left eye's file")
	}
	r, same, err := right.Sound(ctx, soundLength)
	if err != nil {
		return stat.Missing("no sound of the right eye's file")
	}
	if same != perSecond {
		return stat.Missing("the files' sounds differ in samples per second")
	}
	m := timing.SoundDelay(l, r, float64(perSecond), max(len(l), len(r)))
	if !m.OK() {
		return m
	}
	frame := float64(perSecond) / rate
	return stat.Measured(m.Value/frame, m.SE/frame)
}

// slipByTimecode returns the slip under which the files' timecodes agree.
func (f *footage) slipByTimecode() stat.Measurement {
	left, right := f.left.Source(), f.right.Source()
	apart := record.TimecodesApart(left, right, 0)
	if !apart.OK() {
		return apart
	}
	slip := int(-apart.Value)
	if first, count := max(0, -slip), min(left.Frames, right.Frames-slip); count-first <= 0 {
		return stat.Missing("by timecode the files have no frame in common")
	}
	return stat.Measured(float64(slip), 0)
}
