package measure

import (
	"context"

	"nightpair/metrics"
	"nightpair/metrics/depth"
	"nightpair/metrics/geometry"
	"nightpair/metrics/picture"
	"nightpair/qc/record"
)

// looks is how many moments of a clip are looked at to find out how the eyes
// are turned and which is which.
const looks = 4

// orient finds in the pictures how the eyes are turned against each other and
// whether they are exchanged, and enters it into the setup, beside what the
// containers asked for.
//
// The pictures show the turn of one eye against the other. Which eye is the
// turned one follows from depth where the turn exchanges left and right:
// setting the wrong one right leaves the pair mirrored, near and far exchanged.
// Otherwise only the user knows, by which camera looks at the mirror.
func (f *footage) orient(ctx context.Context, mirrored record.Mirrored) error {
	moments, err := f.glance(ctx)
	if err != nil || len(moments) == 0 {
		return err
	}
	var relation geometry.OrientationShares
	n := 0
	for _, m := range moments {
		pair := metrics.Pair{Left: m.left, Right: m.right}
		if r, reason := pair.OrientationShares(); reason == "" {
			relation, n = relation.Plus(r), n+1
		}
	}
	turned, _ := relation.Best(n)

	var ownership depth.Ownership
	n = 0
	for _, m := range moments {
		pair := metrics.Pair{Left: m.left, Right: m.right.Oriented(turned)}
		if o, reason := pair.Ownership(); reason == "" {
			ownership, n = ownership.Plus(o), n+1
		}
	}
	named, known := ownership.Named(n)

	s := &f.setup
	switch {
	case turned == picture.Upright:
		s.Order = order(named, known)
	case turned != picture.Flip && known:
		// Of two explanations the one with fewer faults: a turned left eye is likelier
		// than a turned right one in a pair that is exchanged as well.
		if named {
			s.Right = s.Right.Then(turned)
		} else {
			s.Left = s.Left.Then(turned)
		}
		s.Order = record.AsNamed
	case mirrored == record.MirroredLeft:
		s.Left = s.Left.Then(turned)
	default:
		s.Right = s.Right.Then(turned)
		s.Either = mirrored == record.MirroredUnknown
	}
	if turned == picture.Flip {
		s.Order = order(named, known)
	}
	return nil
}

func order(named, known bool) record.EyeOrder {
	switch {
	case !known:
		return record.OrderUnknown
	case named:
		return record.AsNamed
	default:
		return record.Swapped
	}
}

// glance reads a few moments spread over the clip, as the setup has them so far.
// Moments that cannot be read are left out.
func (f *footage) glance(ctx context.Context) ([]instant, error) {
	first, count := f.overlap()
	var frames []int
	for i := range min(looks, count) {
		frames = append(frames, first+(2*i+1)*count/(2*min(looks, count)))
	}
	var moments []instant
	for now := range f.read(ctx, frames) {
		if now.leftErr == nil && now.rightErr == nil {
			moments = append(moments, now)
		}
	}
	f.halt()
	return moments, ctx.Err()
}
