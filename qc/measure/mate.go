package measure

import (
	"math"
	"slices"
	"sort"
	"time"
)

// Timed is a Reader that tells when each frame is shown, counted from frame 0,
// without decoding it.
type Timed interface {
	Reader
	Time(index int) time.Duration
}

// variable returns both files where they are to be paired by time stamps: when one of
// them has a variable frame rate, as phones and action cameras
// record them.
func (f *footage) variable() (left, right Timed, ok bool) {
	if f.packed() || !f.left.Source().Variable && !f.right.Source().Variable || f.left.Source().Rate() <= 0 {
		return nil, nil, false
	}
	left, leftOK := f.left.(Timed)
	right, rightOK := f.right.(Timed)
	return left, right, leftOK && rightOK
}

// mate returns the right eye's frame that goes with a left one: the one that comes
// as many frames later as the slip says there, or by time stamps the one that is shown
// nearest to that; −1 or beyond the end when there is none.
func (f *footage) mate(frame int) int {
	left, right, ok := f.variable()
	if !ok {
		slip := f.setup.Slip
		if f.stepped != nil {
			slip += f.stepped(frame)
		}
		return frame + slip
	}
	pace := meanPace(left)
	return shownAt(right, left.Time(frame)+time.Duration(f.setup.Slip)*pace, pace)
}

// shownAt returns the frame of a file that is shown nearest to a time; −1 or beyond the
// end when none is within half a pace.
func shownAt(file Timed, at, pace time.Duration) int {
	n := file.Source().Frames
	if at < -pace/2 || n == 0 || at > file.Time(n-1)+pace/2 {
		if at < 0 {
			return -1
		}
		return n
	}
	i := sort.Search(n, func(i int) bool { return file.Time(i) >= at })
	if i == n || i > 0 && at-file.Time(i-1) < file.Time(i)-at {
		i--
	}
	return i
}

// meanPace returns the mean time from frame to frame, which a slip is counted in.
func meanPace(file Reader) time.Duration {
	return time.Duration(float64(time.Second) / file.Source().Rate())
}

// usualPace returns the median time from frame to frame, 0 where there is none.
func usualPace(file Timed) time.Duration {
	n := file.Source().Frames
	if n < 2 {
		return 0
	}
	paces := make([]time.Duration, n-1)
	for i := range paces {
		paces[i] = file.Time(i+1) - file.Time(i)
	}
	slices.Sort(paces)
	return paces[len(paces)/2]
}

// steadyWithin is by how much of a frame time stamps may be off where frames that follow
// each other count as evenly spaced. The project's own choice: what takes motion is wanted
// to a twentieth of a frame.
const steadyWithin = 0.05

// steady returns a function that reports whether the frames around one of the left eye come
// at its usual pace, and the right eye's as long after them as usual.
func (f *footage) steady() func(frame int) bool {
	left, right, ok := f.variable()
	if !ok {
		return func(int) bool { return true }
	}
	first, count := f.overlap()
	later := func(i int) time.Duration { return right.Time(f.mate(i)) - left.Time(i) }
	usual := make([]time.Duration, count)
	for i := range usual {
		usual[i] = later(first + i)
	}
	slices.Sort(usual)
	pace := usualPace(left)
	near := func(a, b time.Duration) bool {
		return math.Abs(float64(a-b)) <= steadyWithin*float64(pace)
	}
	return func(frame int) bool {
		if frame <= first || frame >= first+count-1 {
			return false
		}
		typical := usual[count/2]
		for i := frame - 1; i <= frame+1; i++ {
			if !near(later(i), typical) {
				return false
			}
		}
		return near(left.Time(frame)-left.Time(frame-1), pace) && near(left.Time(frame+1)-left.Time(frame), pace)
	}
}

// mates returns the right eye's frames that go with left ones.
func (f *footage) mates(frames []int) []int {
	list := make([]int, len(frames))
	for k, i := range frames {
		list[k] = f.mate(i)
	}
	return list
}

// paced puts what was read of a file's frames on the even pace of so many frames
// per second: in each place what is shown then.
func paced[T any](file Timed, list []*T, rate float64) []*T {
	n := file.Source().Frames
	if n == 0 || len(list) == 0 {
		return list
	}
	n = min(n, len(list))
	out := make([]*T, int(file.Time(n-1).Seconds()*rate+0.5)+1)
	k := 0
	for i := range out {
		at := time.Duration((float64(i) + 0.5) / rate * float64(time.Second))
		for k+1 < n && file.Time(k+1) <= at {
			k++
		}
		out[i] = list[k]
	}
	return out
}
