package reports

import (
	"fmt"
	"math"
	"strings"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/history"
	"nightpair/qc/judge"
	"nightpair/qc/number"
	"nightpair/qc/record"
)

// What there is to do about something on a rig.
const (
	toDo    = "do"
	toLeave = "leave"
	unknown = "unknown"
)

// adjustment is one thing on a rig that can be adjusted, as it stood at the end of the day.
type adjustment struct {
	screw
	Metric string
	Row    string // toDo, toLeave or unknown
	Value  stat.Measurement
	Unit   string
	Way    string // what to do, where that is told
	Amount string // with units
	Pixels float64
	At     string // where the pixels are told, empty where there are none
	// From and To are the clips from the one where it came to stand so to the last.
	From, To string
	Clips    int
	Since    string
	// Why says why it is not told, and Shot which shot would tell it.
	Why, Shot string
}

// screw is something that can be adjusted, and which way. Ways are of the right eye's picture or
// camera, for a positive value and a negative one.
type screw struct {
	Name, Camera       string
	positive, negative string
	// pixels returns what a value is in pixels, and where.
	pixels func(record.Header, float64) (float64, string)
}

func ofHeight(share float64, at string) func(record.Header, float64) (float64, string) {
	return func(h record.Header, v float64) (float64, string) { return v / 100 * float64(h.EyeHeight) * share, at }
}

// screws holds what is adjusted for each metric.
var screws = map[string]screw{
	metrics.HeightStep: {Name: "Height", Camera: "right camera", positive: "raise it", negative: "lower it"},
	metrics.VerticalOffset: {Name: "Tilt", Camera: "right camera", positive: "tilt it until its picture has risen", negative: "tilt it until its picture has sunk",
		pixels: ofHeight(1, "")},
	metrics.Roll: {Name: "Roll", Camera: "right camera", positive: "turn its picture anticlockwise", negative: "turn its picture clockwise",
		pixels: func(h record.Header, v float64) (float64, string) {
			return math.Tan(v*math.Pi/180) * float64(h.EyeWidth) / 2, "at the side edges"
		}},
	metrics.Zoom: {Name: "Focal length", Camera: "right camera", positive: "shorten it", negative: "lengthen it",
		pixels: ofHeight(0.5, "at the top edge")},
	metrics.Keystone: {Name: "Convergence", Camera: "right camera", positive: "less toe-in", negative: "more toe-in",
		pixels: ofHeight(1, "at the corner")},
	metrics.Exposure:     {Name: "Iris", Camera: "right camera", positive: "close it", negative: "open it"},
	metrics.RedBalance:   {Name: "Red balance", Camera: "right camera", positive: "less red", negative: "more red"},
	metrics.BlueBalance:  {Name: "Blue balance", Camera: "right camera", positive: "less blue", negative: "more blue"},
	metrics.BlackLift:    {Name: "Blacks", Camera: "camera with the lifted blacks", positive: "look for flare before the right camera", negative: "look for flare before the left camera"},
	metrics.Softness:     {Name: "Focus", Camera: "softer camera", positive: "focus the right camera", negative: "focus the left camera"},
	metrics.SyncOffset:   {Name: "Genlock", Camera: "both cameras", positive: "the right one is late", negative: "the left one is late"},
	history.ClockDrift:   {Name: "Clocks", Camera: "both cameras", positive: "lock them: the right one runs fast", negative: "lock them: the left one runs fast"},
	metrics.TiltKeystone: {Name: "Tilt", Camera: "right camera"}, // told, but adjusted by the offset
}

// lineUpOrder is the order in which a rig is lined up: each step would spoil those before it if
// they came after.
var lineUpOrder = []string{
	metrics.HeightStep, metrics.VerticalOffset, metrics.Roll, metrics.Zoom, metrics.Keystone,
	metrics.Exposure, metrics.RedBalance, metrics.BlueBalance, metrics.BlackLift, metrics.Softness,
	metrics.SyncOffset, history.ClockDrift,
}

const (
	shotTwice = "Film the target at two distances, such as 1.5 m and 5 m."
	shotAgain = "Film the target once more, locked off, for some seconds."
)

// lineUp tells how a rig stood at the end of its day, in the order in which it is lined up, held
// against the limits for a rig.
func lineUp(h history.History, limits judge.Limits) []adjustment {
	var all []adjustment
	for _, metric := range lineUpOrder {
		if a, ok := adjust(h, metric, limits); ok {
			all = append(all, a)
		}
	}
	// A camera that has to be raised or lowered has to be tilted anew.
	for i, a := range all {
		if i > 0 && a.Metric == metrics.VerticalOffset && all[i-1].Metric == metrics.HeightStep && all[i-1].Row == toDo {
			all[i].Row, all[i].Way, all[i].Amount = unknown, "", ""
			all[i].Why, all[i].Shot = "raising or lowering a camera changes it", "Film the target when the height is right."
		}
	}
	return all
}

// adjust tells how one thing on a rig stands; false where nobody holds it against a limit or no
// clip tells anything of it.
func adjust(h history.History, metric string, limits judge.Limits) (adjustment, bool) {
	low, high, limited := bounds(limits, metric)
	s := h.Of(metric)
	values := func(s *history.Series) []stat.Measurement { return s.State }
	if metric == metrics.HeightStep {
		s = h.Of(metrics.VerticalOffset)
		values = func(s *history.Series) []stat.Measurement { return s.Slope }
	}
	if !limited || s == nil {
		return adjustment{}, false
	}
	a := adjustment{screw: screws[metric], Metric: metric, Row: unknown, Unit: unit(metric)}
	if len(s.Stretches) == 0 {
		known := 0
		for _, v := range s.Clips {
			if v.OK() {
				known++
			}
		}
		if known == 0 && metric != metrics.HeightStep {
			return adjustment{}, false
		}
		a.Why = fmt.Sprintf("%s: it takes %d to tell", number.Counted(known, "clip shows it", "clips show it"), history.MinClips)
		a.Shot = shotAgain
		return a, true
	}
	stretch := s.Stretches[len(s.Stretches)-1]
	a.Value = values(s)[stretch.To]
	a.From, a.To, a.Clips = h.Rig.Clips[stretch.From].Name(), h.Rig.Clips[stretch.To].Name(), stretch.To-stretch.From+1
	switch {
	case stretch.Creeps:
		a.Since = fmt.Sprintf("creeping since %s", a.From)
	case len(s.Stretches) == 1:
		a.Since = "all day"
	default:
		a.Since = fmt.Sprintf("since %s", a.From)
	}
	if !a.Value.OK() {
		a.Why, a.Shot = a.Value.Missing, shotTwice
		return a, true
	}
	v, spread := a.Value.Value, record.Sure*a.Value.SE
	switch {
	case v-spread > high || v+spread < low:
		a.Row = toDo
	case v-spread >= low && v+spread <= high:
		a.Row = toLeave
	default:
		a.Why, a.Shot = fmt.Sprintf("it is %s, known to ±%s, and the limit lies in between", a.amount(h, v), number.Digits(spread)), shotAgain
		if metric == metrics.HeightStep {
			a.Shot = shotTwice
		}
	}
	a.Amount = a.amount(h, math.Abs(v))
	if a.Row == toDo {
		a.Way = a.positive
		if v < 0 {
			a.Way = a.negative
		}
	}
	if a.pixels != nil {
		a.Pixels, a.At = a.pixels(h.Rig.Clips[stretch.To].Record.Header, v)
	}
	return a, true
}

// amount writes a value as it is set on the rig.
func (a adjustment) amount(h history.History, v float64) string {
	header := h.Rig.Clips[len(h.Rig.Clips)-1].Record.Header
	if a.Metric == metrics.HeightStep {
		if aspect := header.Aspect(); aspect > 0 {
			return number.Digits(100*v/aspect) + "\u00a0% of the distance between the lenses"
		}
	}
	short, _, _ := strings.Cut(a.Unit, " ")
	text := number.Digits(v) + "\u00a0" + a.Unit
	switch short {
	case "%":
		text = number.Digits(v) + "\u00a0%"
	case "°":
		text = number.Digits(v) + "°"
	}
	if a.pixels == nil {
		return text
	}
	px, at := a.pixels(header, v)
	text = number.Plain(px, 1) + "\u00a0px (" + text + ")"
	if at != "" {
		text += " " + at
	}
	return text
}

// bounds returns within what a rig has to stand: the narrowest limits on medians, on facts, or,
// of what clips do not tell by themselves, on the day.
func bounds(limits judge.Limits, metric string) (low, high float64, ok bool) {
	low, high = math.Inf(-1), math.Inf(1)
	for _, statistic := range []*judge.Statistic{judge.Median, judge.Fact, judge.Day} {
		for _, l := range limits {
			if l.Metric == metric && l.Statistic == statistic {
				low, high, ok = max(low, l.Low), min(high, l.High), true
			}
		}
		if ok {
			return low, high, true
		}
	}
	return low, high, false
}

func unit(name string) string {
	if m, ok := metrics.Lookup(name); ok {
		return m.Unit
	}
	f, _ := judge.LookupFact(name)
	return f.Unit
}
