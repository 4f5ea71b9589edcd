package judge

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/pull"
	"nightpair/qc/record"
)

// The names of the facts, for whoever asks for one of them.
const (
	FramesDifference     = "frames_difference"
	RateDifference       = "rate_difference"
	SizeDifference       = "size_difference"
	AspectDifference     = "aspect_difference"
	TimecodeDifference   = "timecode_difference"
	LostMoments          = "lost_moments"
	FocusLag             = "focus_lag"
	RightAxis            = "right_axis"
	LensLag              = "lens_lag"
	LensTravel           = "lens_travel"
	DroppedFrames        = "dropped_frames"
	RepeatedFrames       = "repeated_frames"
	BlackFrames          = "black_frames"
	ClockDrift           = "clock_drift"
	ColourTagsDifference = "colour_tags_difference"
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
	Of func(record.Record) stat.Measurement
}

// Facts lists every fact. It is never changed.
var Facts = []ClipFact{
	{
		Name: FramesDifference, Unit: "frames",
		Doc: "How many frames more the right eye's file has.",
		Of: ofTwoFiles(func(left, right record.Source) stat.Measurement {
			if left.Frames <= 0 || right.Frames <= 0 {
				return stat.Missing("a file does not say how many frames it has")
			}
			return stat.Measured(float64(right.Frames-left.Frames), 0)
		}),
	},
	{
		Name: RateDifference, Unit: "%", Decimals: 4,
		Doc: "By how much the right eye's file runs at more frames per second.",
		Of: ofTwoFiles(func(left, right record.Source) stat.Measurement {
			if left.Rate() <= 0 || right.Rate() <= 0 {
				return stat.Missing("a file does not say how fast it runs")
			}
			if left.Variable || right.Variable {
				return stat.Missing(record.VariableRate)
			}
			return stat.Measured(percentMore(left.Rate(), right.Rate()), 0)
		}),
	},
	{
		Name: SizeDifference, Unit: "%", Decimals: 2,
		Doc: "By how much the right eye's picture has more pixels across or down, whichever differs more.",
		Of: ofTwoFiles(func(left, right record.Source) stat.Measurement {
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
		Name: AspectDifference, Unit: "%", Decimals: 2,
		Doc: "By how much the right eye's pixels are wider for their height.",
		Of: ofTwoFiles(func(left, right record.Source) stat.Measurement {
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
		Name: TimecodeDifference, Unit: "frames",
		Doc: "By how many frames the right eye's timecode is ahead where the two pictures belong together.",
		Of:  timecodeDifference,
	},
	{
		Name: LostMoments, Unit: "moments",
		Doc: "How many of the moments to be measured a file would not give.",
		Of:  func(r record.Record) stat.Measurement { return stat.Measured(float64(len(r.Trailer.Lost)), 0) },
	},
	{
		Name: FocusLag, Unit: "frames", Decimals: 1,
		Doc: "By how many frames the convergence follows a focus pull late, where the scene and the cameras rest.",
		Of:  ofPull(pull.FindFocus, func(p pull.Focus) stat.Measurement { return p.Lag }),
	},
	{
		Name: RightAxis, Unit: "%",
		Doc: "How much of the convergence the right camera contributes during a focus pull, where the scene and the cameras rest: 100 it alone, 0 the left one alone, 50 both equally.",
		Of: ofPull(pull.FindFocus, func(p pull.Focus) stat.Measurement {
			if !p.Right.OK() {
				return p.Right
			}
			return stat.Measured(100*p.Right.Value, 100*p.Right.SE)
		}),
	},
	{
		Name: LensLag, Unit: "frames", Decimals: 1,
		Doc: "By how many frames the right lens follows a focus pull later than the left one.",
		Of:  ofPull(pull.FindLenses, func(p pull.Lenses) stat.Measurement { return p.Lag }),
	},
	{
		Name: LensTravel, Unit: "%",
		Doc: "How much further the right lens travels during a focus pull than the left one: −100 when it rests, below that when it turns the other way.",
		Of:  ofPull(pull.FindLenses, pull.Lenses.Travel),
	},
	{
		Name: DroppedFrames, Unit: "frames",
		Doc: "How many frames are missing in the middle of an eye's file, as the other eye shows; at a variable frame rate, as the time stamps of both say.",
		Of:  framesOf(timing.Dropped),
	},
	{
		Name: RepeatedFrames, Unit: "frames",
		Doc: "How many frames of an eye show the same as the one before while the other eye goes on.",
		Of:  framesOf(timing.Repeated),
	},
	{
		Name: BlackFrames, Unit: "frames",
		Doc: "How many frames of an eye are black while the other eye has a picture.",
		Of:  framesOf(timing.Black),
	},
	{
		Name: ClockDrift, Unit: "ppm", Decimals: 1,
		Doc: "By how many parts per million the right eye's clock runs fast: how much later its pictures get within the clip, from vertical motion.",
		Of: func(r record.Record) stat.Measurement {
			return ofTwoFiles(func(record.Source, record.Source) stat.Measurement { return r.Header.Sync.Clock })(r)
		},
	},
	{
		Name: ColourTagsDifference,
		Doc:  "1 where the files' colour tags differ, 0 where they are the same.",
		Of: ofTwoFiles(func(left, right record.Source) stat.Measurement {
			if left.Colour != right.Colour {
				return stat.Measured(1, 0)
			}
			return stat.Measured(0, 0)
		}),
	},
}

func factNames() []string {
	var names []string
	for _, f := range Facts {
		names = append(names, f.Name)
	}
	return names
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
func ofTwoFiles(compare func(left, right record.Source) stat.Measurement) func(record.Record) stat.Measurement {
	return func(r record.Record) stat.Measurement {
		if p := r.Header.Setup.Packing; p != record.Separate && p != "" {
			return stat.Missing("one file holds both eyes")
		}
		return compare(r.Header.Left, r.Header.Right)
	}
}

func timecodeDifference(r record.Record) stat.Measurement {
	return ofTwoFiles(func(left, right record.Source) stat.Measurement {
		return record.TimecodesApart(left, right, r.Header.Setup.Slip)
	})(r)
}

// percentMore says by how many percent b is more than a.
func percentMore(a, b float64) float64 { return 100 * (b - a) / a }

// ofPull returns the fact that a clip's focus pull tells, which is missing where
// there is no pull.
func ofPull[P any](pull func(record.Record) (P, string), fact func(P) stat.Measurement) func(record.Record) stat.Measurement {
	return func(r record.Record) stat.Measurement {
		p, reason := pull(r)
		if reason != "" {
			return stat.Missing(reason)
		}
		return fact(p)
	}
}
