package measure

import (
	"context"
	"math"
	"time"

	"nightpair/metrics/picture"
	"nightpair/qc/record"
	"nightpair/qc/takes"
)

// Question is what may be asked of one file.
type Question string

const (
	AskTags     Question = "tags"     // what it says of itself, cheaply
	AskSound    Question = "sound"    // how loud it is over time
	AskPictures Question = "pictures" // how light and motion of the picture go over time
)

// AskFunc returns cheaply what a file says of itself: its length and rate are as announced,
// and what takes decoding may be left out.
type AskFunc func(ctx context.Context, path string) (record.Source, error)

// Reply is the answer to a Question, or why there is none.
type Reply struct {
	Source  record.Source `json:"source,omitzero"`
	Shown   takes.Shown   `json:"shown,omitzero"`
	Problem string        `json:"problem,omitempty"`
}

// glimpse is how much of a file is looked at and listened to from its beginning. Takes that
// belong together begin within seconds of each other.
const glimpse = 2 * time.Minute

// Answer answers the question of a job about its left file.
func Answer(ctx context.Context, job Job, open OpenFunc, ask AskFunc) Reply {
	var r Reply
	var err error
	switch job.Ask {
	case AskTags:
		r.Source, err = ask(ctx, job.Clip.Left)
	case AskSound, AskPictures:
		var reader Reader
		if reader, err = open(ctx, job.Clip.Left); err == nil {
			defer reader.Close()
			if job.Ask == AskSound {
				r.Shown.Sound, err = loudness(ctx, reader)
			} else {
				r.Shown.Light, r.Shown.Motion, err = lightAndMotion(ctx, reader)
			}
		}
	default:
		r.Problem = "not a question: " + string(job.Ask)
	}
	if err != nil {
		r = Reply{Problem: err.Error()}
	}
	return r
}

// loudness returns the logarithm of the sound's power, takes.SoundRate times a second; nil
// where there is no sound.
func loudness(ctx context.Context, reader Reader) ([]float64, error) {
	listener, ok := reader.(Listener)
	if !ok {
		return nil, nil
	}
	samples, rate, err := listener.Sound(ctx, glimpse)
	if err != nil || rate <= 0 {
		return nil, ctx.Err() // a file without sound is none that cannot be read
	}
	// Silence of 16-bit sound has a power of about its rounding.
	const silence = 1e-10
	step := float64(rate) / takes.SoundRate
	n := int(float64(len(samples)) / step)
	out := make([]float64, n)
	for i := range out {
		piece := samples[int(float64(i)*step):int(float64(i+1)*step)]
		power := silence
		for _, v := range piece {
			power += float64(v) * float64(v) / float64(len(piece))
		}
		out[i] = math.Log(power)
	}
	return out, nil
}

// lightAndMotion returns the mean of the picture, in 8-bit code values, and how much its
// cells change in a second, takes.PictureRate times a second. Where a frame cannot be read,
// the one before it stands for it.
func lightAndMotion(ctx context.Context, reader Reader) (light, motion []float64, err error) {
	scanner, ok := reader.(Scanner)
	rate := reader.Source().Rate()
	if !ok || rate <= 0 {
		return nil, nil, nil
	}
	seconds := min(float64(reader.Source().Frames)/rate, glimpse.Seconds())
	var before *picture.Signature
	last, first := -1, -1
	for k := range int(seconds * takes.PictureRate) {
		i := int(math.Round(float64(k) / takes.PictureRate * rate))
		small, err := scanner.Small(ctx, i)
		if ctx.Err() != nil {
			return nil, nil, ctx.Err()
		}
		mean, change := 0.0, 0.0
		switch {
		case err == nil && i != last:
			now := small.Signature()
			mean, change = compared(now, before)
			change *= rate / float64(i-last)
			before, last = now, i
			if first < 0 {
				first = k
			}
		case before != nil:
			mean, change = light[k-1], motion[k-1]
		}
		light, motion = append(light, mean), append(motion, change)
	}
	if first < 0 {
		return nil, nil, nil
	}
	// The first frame that was read has none before it.
	for k := range min(first+1, len(light)-1) {
		light[k], motion[k] = light[first], motion[min(first+1, len(motion)-1)]
	}
	return light, motion, nil
}

// compared returns the mean of a picture's cells, and the mean of how much each differs from
// that of a picture before; 0 for none.
func compared(now, before *picture.Signature) (mean, change float64) {
	const cells = picture.SignatureWidth * picture.SignatureHeight
	for y, row := range now.Luma {
		for x, v := range row {
			mean += float64(v) / cells
			if before != nil {
				change += math.Abs(float64(v-before.Luma[y][x])) / cells
			}
		}
	}
	return mean, change
}
