package pairing

import (
	"math"

	"nightpair/qc/record"
	"nightpair/qc/takes"
)

// Told is what a file says of itself, or why it cannot be read.
type Told struct {
	Source  record.Source
	Problem string
}

// shot is a file that may have a mate whatever their names are.
type shot struct {
	element
	told Told
	eye  side
	by   string // what says which eye it is
	rig  string
	// named says that another file has its name: see counted.
	named bool
}

// length returns how long the shot is, in seconds; 0 where unknown.
func (s shot) length() float64 {
	rate := s.told.Source.Rate()
	if rate <= 0 && s.still {
		rate = 24 // as sequences without a rate are played; common practice for scanned film
	}
	if rate <= 0 {
		return 0
	}
	return float64(s.told.Source.Frames) / rate
}

// take returns when the shot was taken, as far as its file tells.
func (s shot) take() takes.Take {
	t := takes.Take{Timecode: math.NaN(), Created: math.NaN(), Length: s.length()}
	if !s.told.Source.Created.IsZero() {
		t.Created = float64(s.told.Source.Created.UnixMilli()) / 1000
	}
	base, drop, ok := record.LabelCounting(s.told.Source)
	if !ok || s.told.Source.Timecode == "" {
		return t
	}
	frame, ok := record.ParseLabel(s.told.Source.Timecode, base, drop)
	switch {
	case !ok:
	case drop > 0: // labels that drop keep to the clock
		t.Timecode = float64(frame) / s.told.Source.Rate()
	default:
		t.Timecode = float64(frame) / float64(base)
	}
	return t
}
