package measure

import (
	"context"
	"errors"
	"math"
	"slices"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// errOtherMoment says that the files cannot be compared.
var errOtherMoment = errors.New("the two files do not show the same moment")

// slipAnywhere looks for the slip over all lags that leave both files some frames in common: by
// where and when things move, then in frames. Where enough moves in both files, and nowhere
// alike, and the sound does not know better either, it returns errOtherMoment.
func (f *footage) slipAnywhere(ctx context.Context, found *record.Sync, s *scan) (*scan, error) {
	left, right, err := f.motionMaps(ctx, s)
	if left == nil || err != nil {
		return s, err
	}
	lags := timing.FindLags(left, right, maxLags)
	// A right lag is a likely one unless the files have little in common.
	lags = slices.DeleteFunc(lags, func(l timing.Lag) bool { return !l.Likely() && l.Overlap > maxUnlikelyOverlap })
	for i, lag := range lags {
		at, err := f.scan(ctx, lag.Frames, s)
		if err != nil {
			return s, err
		}
		s = at
		if i > 0 || !lag.Likely() {
			continue
		}
		if slip, _, slips := s.even().slip(lag.Frames); slip.OK() {
			found.Pictures, found.Rough, found.Start = slip, stat.Measurement{}, slips[0]
			s.turn, s.slips = s.even().turn, slips
			return s, nil
		}
	}
	if slip, turn := timing.SlipAmong(s.even().left, s.even().right, lags); slip.OK() {
		s.turn = turn
		found.Pictures, found.Rough, found.Start = slip, stat.Measurement{}, int(math.Round(slip.Value))
		return f.scan(ctx, found.Start, s)
	}
	if found.Sound.OK() || found.Rough.OK() || f.ratesDiffer() {
		return s, nil
	}
	if timing.Elsewhere(left, right) {
		return s, errOtherMoment
	}
	return s, nil
}

const (
	// maxLags is how many lags are looked at in frames.
	maxLags = 5
	// maxUnlikelyOverlap is how many frames in common may be too few to make a right lag likely.
	maxUnlikelyOverlap = 200
)

// maxRateDifference is by what share files' frame rates may differ where frames are looked for at
// one lag: a frame in the ten seconds of a piece.
const maxRateDifference = 0.004

// ratesDiffer reports whether the files' frame rates are too different for frames to go
// together at one lag.
func (f *footage) ratesDiffer() bool {
	left, right := f.left.Source().Rate(), f.right.Source().Rate()
	return math.Abs(left-right) > maxRateDifference*math.Min(left, right)
}

// motionMaps returns where things move in every frame of both files, by those that were read and
// by reading the others; nothing where that is not worth it, as too little moves in those that
// were read. Of long files only the maps are kept.
func (f *footage) motionMaps(ctx context.Context, s *scan) (left, right []*timing.MotionMap, err error) {
	if _, _, variable := f.variable(); variable {
		if max(len(s.left), len(s.right)) > 2*record.ScanFrames {
			return nil, nil, nil
		}
		f.decoding.Go(func() { f.readOn(ctx, f.right.(Scanner), f.setup.Right, s.right) })
		f.readOn(ctx, f.left.(Scanner), f.setup.Left, s.left)
		f.decoding.Wait()
		s.pace(f)
		return timing.MotionMaps(s.paced.left), timing.MotionMaps(s.paced.right), ctx.Err()
	}
	if s.whole() {
		return timing.MotionMaps(s.left), timing.MotionMaps(s.right), nil
	}
	if !timing.Moves(timing.MotionMaps(s.left)) || !timing.Moves(timing.MotionMaps(s.right)) {
		return nil, nil, nil
	}
	f.decoding.Go(func() { right = f.mapsOf(ctx, f.right.(Scanner), f.setup.Right, s.right) })
	left = f.mapsOf(ctx, f.left.(Scanner), f.setup.Left, s.left)
	f.decoding.Wait()
	return left, right, ctx.Err()
}

// whole reports whether all frames of both files were read.
func (s *scan) whole() bool {
	for _, list := range [][]*picture.Signature{s.left, s.right} {
		for _, sig := range list {
			if sig == nil {
				return false
			}
		}
	}
	return true
}

// readOn reads the frames of a file that were not read.
func (f *footage) readOn(ctx context.Context, from Scanner, turned picture.Orientation, list []*picture.Signature) {
	for i := range list {
		if list[i] == nil && ctx.Err() == nil {
			if frame, err := from.Small(ctx, i); err == nil {
				list[i] = frame.Signature().Oriented(turned)
			}
		}
	}
}

// mapsOf returns the motion maps of all frames of a file, of which some were read.
func (f *footage) mapsOf(ctx context.Context, from Scanner, turned picture.Orientation, read []*picture.Signature) []*timing.MotionMap {
	list := make([]*timing.MotionMap, len(read))
	var before *picture.Signature
	for i, sig := range read {
		if ctx.Err() != nil {
			break
		}
		if sig == nil {
			if frame, err := from.Small(ctx, i); err == nil {
				sig = frame.Signature().Oriented(turned)
			}
		}
		if before != nil && sig != nil {
			list[i] = timing.NewMotionMap(before, sig)
		}
		before = sig
	}
	return list
}
