package decode

import "time"

// Time returns when the frame with that index is shown, counted from frame 0,
// without decoding. It is 0 for frames that are not there.
func (f *File) Time(index int) time.Duration {
	if index < 0 || index >= f.info.Frames {
		return 0
	}
	return f.reader.time(index)
}

// time counts by the rate, as a sequence of stills has no time stamps; 0 without
// one.
func (q *stills) time(i int) time.Duration {
	if q.about.RateNum == 0 {
		return 0
	}
	return ticker{int64(q.about.RateDen), int64(q.about.RateNum)}.duration(int64(i))
}
