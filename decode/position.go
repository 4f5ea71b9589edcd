package decode

import (
	"context"
	"errors"
	"io"

	"github.com/asticode/go-astiav"
)

// errStrayed says that the container gave another packet than the table has
// at that place.
var errStrayed = errors.New("unexpected packet")

// All are the project's own choice: reading a few packets costs less than a
// seek, and a seek that lands near its mark finds a known packet soon.
const (
	shortSkip  = 8
	searchSpan = 64
	seekTries  = 3
)

// read reads the next packet into v.in.buffer and gives its number.
func (v *video) read(ctx context.Context) (int, error) {
	if v.next >= len(v.table.packets) {
		return 0, io.EOF
	}
	if !v.peeked {
		if err := v.in.next(ctx); err != nil {
			v.next = -1
			return 0, err
		}
		if v.look(v.in.packet()) != v.look(v.table.packets[v.next]) {
			v.next = -1
			return 0, errStrayed
		}
	}
	v.peeked = false
	v.next++
	return v.next - 1, nil
}

// skipTo makes packet k the next one to be read.
func (v *video) skipTo(ctx context.Context, k int) error {
	near := v.next >= 0 && v.next <= k && k-v.next <= shortSkip
	if !near && !v.linear {
		found, err := v.seek(ctx, k)
		if err != nil {
			return err
		}
		v.linear = !found
	}
	if v.next < 0 || v.next > k {
		if err := v.rewind(ctx); err != nil {
			return err
		}
	}
	for v.next < k {
		if _, err := v.read(ctx); err != nil {
			if err == io.EOF {
				err = errStrayed
			}
			return err
		}
	}
	return nil
}

// seek lets the container jump to packet k or some way before it. It believes
// no jump until it meets a packet that it knows.
func (v *video) seek(ctx context.Context, k int) (bool, error) {
	v.next, v.peeked = -1, false
	for target, try := k, 0; try < seekTries; try++ {
		stamp := v.table.packets[target].stamp()
		if stamp == noTime {
			return false, nil
		}
		err := v.in.format.SeekFrame(v.in.number, stamp, astiav.NewSeekFlags(astiav.SeekFlagBackward))
		for n := 0; err == nil && n < searchSpan; n++ {
			if err = v.in.next(ctx); err != nil {
				break
			}
			if number, known := v.find[v.look(v.in.packet())]; known {
				if number <= k {
					v.next, v.peeked = number, true
					return true, nil
				}
				break
			}
		}
		if ctx.Err() != nil {
			return false, ctx.Err()
		}
		if target == 0 {
			break
		}
		target = v.table.startBefore(target)
	}
	return false, nil
}

// rewind opens the container again, which puts everything back to the state
// in which the table was made.
func (v *video) rewind(ctx context.Context) error {
	v.next, v.peeked = -1, false
	in, err := openContainer(v.w, v.path)
	if err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		return err
	}
	if in.number != v.in.number {
		in.close()
		return errStrayed
	}
	v.in.close()
	v.in, v.next = in, 0
	return nil
}
