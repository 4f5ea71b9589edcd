package qc

import (
	"math"
	"slices"
	"strings"

	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

// ClipFact is something that holds for a whole clip and is judged by the same
// limits as what is measured moment by moment: always of the right eye's file
// relative to the left one's.
type ClipFact struct {
	Name     string
	Unit     string
	Doc      string
	Decimals int
	// Of returns the fact's value, without uncertainty, or why there is none.
	Of func(Record) stat.Measurement
}

// Facts lists every fact. It is never changed.
var Facts = []ClipFact{
	{
		Name: "frames_difference", Unit: "frames",
		Doc: "How many frames more the right eye's file has.",
		Of: ofTwoFiles(func(left, right Source) stat.Measurement {
			if left.Frames <= 0 || right.Frames <= 0 {
				return stat.Missing("a file does not say how many frames it has")
			}
			return stat.Measured(float64(right.Frames-left.Frames), 0)
		}),
	},
	{
		Name: "rate_difference", Unit: "%", Decimals: 4,
		Doc: "By how much the right eye's file runs at more frames per second.",
		Of: ofTwoFiles(func(left, right Source) stat.Measurement {
			if left.Rate() <= 0 || right.Rate() <= 0 {
				return stat.Missing("a file does not say how fast it runs")
			}
			if left.Variable || right.Variable {
				return stat.Missing(notEven)
			}
			return stat.Measured(percentMore(left.Rate(), right.Rate()), 0)
		}),
	},
	{
		Name: "size_difference", Unit: "%", Decimals: 2,
		Doc: "By how much the right eye's picture has more pixels across or down, whichever differs more.",
		Of: ofTwoFiles(func(left, right Source) stat.Measurement {
			if left.Width <= 0 || right.Width <= 0 || left.Height <= 0 || right.Height <= 0 {
				return stat.Missing("a file does not say how large its picture is")
			}
			across := percentMore(float64(left.Width), float64(right.Width))
			down := percentMore(float64(left.Height), float64(right.Height))
			if math.Abs(down) > math.Abs(across) {
				return stat.Measured(down, 0)
			}
			return stat.Measured(across, 0)
		}),
	},
	{
		Name: "aspect_difference", Unit: "%", Decimals: 2,
		Doc: "By how much the right eye's pixels are wider for their height.",
		Of: ofTwoFiles(func(left, right Source) stat.Measurement {
			// A file that is silent is shown with square pixels.
			l, r := left.PixelAspect, right.PixelAspect
			if l <= 0 {
				l = 1
			}
			if r <= 0 {
				r = 1
			}
			return stat.Measured(percentMore(l, r), 0)
		}),
	},
	{
		Name: "timecode_difference", Unit: "frames",
		Doc: "By how many frames the right eye's timecode is ahead where the two pictures belong together.",
		Of:  timecodeDifference,
	},
	{
		Name: "lost_moments", Unit: "moments",
		Doc: "How many of the moments to be measured a file would not give.",
		Of:  func(r Record) stat.Measurement { return stat.Measured(float64(len(r.Trailer.Lost)), 0) },
	},
	{
		Name: "focus_lag", Unit: "frames", Decimals: 1,
		Doc: "By how many frames the convergence follows a pull of focus late, where the scene and the cameras rest.",
		Of:  ofPull(PullFocus, func(p FocusPull) stat.Measurement { return p.Lag }),
	},
	{
		Name: "right_axis", Unit: "%",
		Doc: "How much of the convergence the right eye's axis does in a pull of focus, where the scene and the cameras rest: 100 it alone, 0 the left eye's alone, 50 both alike.",
		Of: ofPull(PullFocus, func(p FocusPull) stat.Measurement {
			if !p.Right.OK() {
				return p.Right
			}
			return stat.Measured(100*p.Right.Value, 100*p.Right.SE)
		}),
	},
	{
		Name: "lens_lag", Unit: "frames", Decimals: 1,
		Doc: "By how many frames the right lens follows a pull of focus later than the left one.",
		Of:  ofPull(PullLenses, func(p LensPull) stat.Measurement { return p.Lag }),
	},
	{
		Name: "lens_travel", Unit: "%",
		Doc: "How much farther the right lens goes in a pull of focus than the left one: −100 when it rests, below that when it goes the other way.",
		Of:  ofPull(PullLenses, LensPull.Travel),
	},
	{
		Name: "dropped_frames", Unit: "frames",
		Doc: "How many frames lack in the middle of an eye's file, as the other eye shows; where frames come unevenly, as the time stamps of both say.",
		Of:  framesOf(timing.Dropped),
	},
	{
		Name: "repeated_frames", Unit: "frames",
		Doc: "How many frames of an eye show the same as the one before while the other eye goes on.",
		Of:  framesOf(timing.Repeated),
	},
	{
		Name: "black_frames", Unit: "frames",
		Doc: "How many frames of an eye are black while the other eye has a picture.",
		Of:  framesOf(timing.Black),
	},
	{
		Name: "clock_drift", Unit: "ppm", Decimals: 1,
		Doc: "By how many parts per million the right eye's clock runs fast: how much later its pictures get within the clip, from vertical motion.",
		Of: func(r Record) stat.Measurement {
			return ofTwoFiles(func(Source, Source) stat.Measurement { return r.Header.Sync.Clock })(r)
		},
	},
	{
		Name: "colour_tags_difference",
		Doc:  "1 where the files' colour tags differ, 0 where they are the same.",
		Of: ofTwoFiles(func(left, right Source) stat.Measurement {
			if left.Colour != right.Colour {
				return stat.Measured(1, 0)
			}
			return stat.Measured(0, 0)
		}),
	},
}

// LookupFact finds a fact by its name.
func LookupFact(name string) (ClipFact, bool) {
	i := slices.IndexFunc(Facts, func(f ClipFact) bool { return f.Name == name })
	if i < 0 {
		return ClipFact{}, false
	}
	return Facts[i], true
}

// ofTwoFiles makes a fact of a comparison that takes a file for each eye.
func ofTwoFiles(compare func(left, right Source) stat.Measurement) func(Record) stat.Measurement {
	return func(r Record) stat.Measurement {
		if p := r.Header.Setup.Packing; p != Separate && p != "" {
			return stat.Missing("one file holds both eyes")
		}
		return compare(r.Header.Left, r.Header.Right)
	}
}

func timecodeDifference(r Record) stat.Measurement {
	slip := r.Header.Setup.Slip
	return ofTwoFiles(func(left, right Source) stat.Measurement {
		if left.Timecode == "" || right.Timecode == "" {
			return stat.Missing("a file has no timecode")
		}
		base, drop, ok := labelCounting(left)
		rightBase, rightDrop, rightOK := labelCounting(right)
		if !ok || !rightOK || base != rightBase || drop != rightDrop {
			return stat.Missing("the files' timecodes are counted in unlike ways")
		}
		l, leftOK := parseLabel(left.Timecode, base, drop)
		rt, rightOK := parseLabel(right.Timecode, base, drop)
		if !leftOK || !rightOK {
			return stat.Missing("a timecode is none of its rate")
		}
		day := 24 * (3600*base - 54*drop) // ten times an hour no label is left out
		// The shorter way round midnight.
		apart := ((rt+slip-l)%day + day) % day
		if apart > day/2 {
			apart -= day
		}
		return stat.Measured(float64(apart), 0)
	})(r)
}

// labelCounting returns how a file's timecode counts: frames to a second of
// labels, and labels left out of a minute.
func labelCounting(s Source) (base, drop int, ok bool) {
	if s.RateNum <= 0 || s.RateDen <= 0 {
		return 0, 0, false
	}
	base = (s.RateNum + s.RateDen/2) / s.RateDen
	if strings.Contains(s.Timecode, ";") {
		drop = base / 30 * 2
	}
	return base, drop, base > 0 && (drop == 0 || base%30 == 0)
}

// percentMore says by how many percent b is more than a.
func percentMore(a, b float64) float64 { return 100 * (b - a) / a }

// ofPull returns the fact that a clip's pull of focus tells, which is missing where
// there is no pull.
func ofPull[P any](pull func(Record) (P, string), fact func(P) stat.Measurement) func(Record) stat.Measurement {
	return func(r Record) stat.Measurement {
		p, reason := pull(r)
		if reason != "" {
			return stat.Missing(reason)
		}
		return fact(p)
	}
}
