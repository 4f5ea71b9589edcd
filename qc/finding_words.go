package qc

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"nightpair/metrics"
	"nightpair/metrics/stat"
)

// phrase says in plain words what a value of a metric means, with the amount in
// place of %s, and who can mend it.
type phrase struct {
	positive, negative string
	mend               Mend
	advice             string
}

const lineUp = "Correct it in post, and line up the rig before the next shot."

// phrases holds what there is to say of each metric. One that is not here is
// told by its name and needs an eye on it.
var phrases = map[string]phrase{
	"vertical_offset":   {"the right eye sits %s lower", "the right eye sits %s higher", Post, lineUp},
	"roll":              {"the right eye is turned clockwise by %s", "the right eye is turned anticlockwise by %s", Post, lineUp},
	"zoom":              {"the right eye is larger by %s", "the right eye is smaller by %s", Post, lineUp},
	"keystone":          {"the right eye is keystoned, its right side taller: %s", "the right eye is keystoned, its left side taller: %s", Post, lineUp},
	"tilt_keystone":     {"the right eye is tilted against the left one: %s", "the right eye is tilted against the left one: %s the other way", Post, lineUp},
	"height_step":       {"one camera stands higher, so that height differs with depth: %s", "one camera stands higher, so that height differs with depth: %s the other way", Reshoot, "A shift cannot mend it: level the cameras before the next shot."},
	"vertical_worst":    {"the eyes differ in height by %s where it is worst", "", Post, "No single term of the rig explains it: look at the pictures."},
	"vertical_rest":     {"the eyes differ in height by %s that no alignment explains", "", Reshoot, "Check that the lenses match and that the cameras are in step."},
	"near_parallax":     {"the nearest things stand %s behind the screen", "the nearest things stand %s in front of the screen", Post, ""},
	"far_parallax":      {"the farthest things stand %s behind the screen", "the farthest things stand %s in front of the screen", Post, ""},
	"focus_parallax":    {"what is in focus stands %s behind the screen", "what is in focus stands %s in front of the screen", Post, "Shift the eyes sideways in post."},
	"edge_violation":    {"the side edges cut things in front of the screen over %s", "", Post, "Shift the eyes sideways in post, or mask the edge for one eye."},
	"exposure":          {"the right eye is brighter by %s", "the right eye is darker by %s", Post, "Match it in post; check irises and shutters before the next shot."},
	"red_balance":       {"the right eye is redder by %s", "the right eye is less red by %s", Post, "Match it in post."},
	"blue_balance":      {"the right eye is bluer by %s", "the right eye is less blue by %s", Post, "Match it in post."},
	"black_lift":        {"the right eye's blacks are lifted by %s", "the left eye's blacks are lifted by %s", Post, "Match it in post; look for flare and a dirty mirror."},
	"colour_difference": {"the eyes differ in colour by %s", "", Post, "Match it in post."},
	"rivalry":           {"the eyes differ in light over %s", "", Reshoot, "Reflections and dirt cannot be matched away."},
	"softness":          {"the right eye is softer by %s", "the left eye is softer by %s", Reshoot, "Check the focus of both cameras."},
	"softness_near":     {"what is near is softer in the right eye by %s", "what is near is softer in the left eye by %s", Reshoot, "The lenses are focused at different distances: check the focus of both cameras."},
	"softness_far":      {"what is far is softer in the right eye by %s", "what is far is softer in the left eye by %s", Reshoot, "The lenses are focused at different distances: check the focus of both cameras."},
	"blank":             {"the right eye's picture is missing over %s", "the left eye's picture is missing over %s", Reshoot, "Check cables, recorder and medium."},
	"clipping":          {"the right eye is cut off below white over %s", "the left eye is cut off below white over %s", Reshoot, "What is cut off cannot be brought back: check the camera's levels."},
	"noise":             {"the right eye is noisier by %s", "the right eye is less noisy by %s", Post, "Check that both cameras have one gain and one iris."},
	"combing":           {"the right eye falls apart into lines over %s", "the left eye falls apart into lines over %s", Post, "Make one picture of the fields in post; set both cameras to progressive pictures."},
	"overlay":           {"the right eye is written on over %s", "the left eye is written on over %s", Reshoot, "Record the picture without the monitor's overlays."},
	"sync_offset":       {"the right eye is late by %s", "the right eye is early by %s", Reshoot, "A part of a frame cannot be slipped: check the synchronisation of the cameras."},
	"readout_skew":      {"the right eye is the later the lower in the picture, by %s", "the right eye is the later the higher in the picture, by %s the other way", Rig, "Turn one of the cameras the other way up, or shoot with less rolling shutter."},

	"frames_difference":      {"the right eye's file is longer by %s", "the right eye's file is shorter by %s", NoMend, ""},
	"rate_difference":        {"the right eye's file runs faster by %s", "the right eye's file runs slower by %s", NoMend, "Set both cameras to one frame rate."},
	"size_difference":        {"the right eye's picture has more pixels by %s", "the right eye's picture has fewer pixels by %s", NoMend, "Set both cameras to one picture size."},
	"aspect_difference":      {"the right eye's pixels are wider by %s", "the right eye's pixels are narrower by %s", NoMend, "Correct what the files say of their pixels' shape."},
	"timecode_difference":    {"the right eye's timecode is ahead of the pictures by %s", "the right eye's timecode is behind the pictures by %s", NoMend, "Line up by the pictures, not by timecode."},
	"focus_lag":              {"the convergence follows the focus %s late", "the convergence runs %s ahead of the focus", Rig, "Check how the motors of focus and convergence are linked."},
	"right_axis":             {"in the pull of focus the right eye's axis does %s of the convergence", "in the pull of focus the right eye's axis goes against the convergence by %s of it", Rig, "Check the motors of both axes."},
	"lens_lag":               {"the right lens follows the pull of focus %s late", "the right lens runs %s ahead in the pull of focus", Rig, "Check how the focus motors of both lenses are linked."},
	"lens_travel":            {"in the pull of focus the right lens goes farther than the left one by %s of the way", "in the pull of focus the right lens falls short of the left one by %s of the way", Reshoot, ""},
	"dropped_frames":         {"one eye lacks %s", "", Post, "Rebuild what lacks in post, and slip the eye from where it stays apart, or shoot again; check the recorder and its medium."},
	"repeated_frames":        {"one eye repeats %s", "", Post, "Rebuild them in post, or shoot again; check the recorder and its medium."},
	"black_frames":           {"one eye is black for %s", "", Reshoot, "Check cables, recorder and medium."},
	"clock_drift":            {"the right eye gets late as the clip goes on, its clock runs fast by %s", "the right eye gets early as the clip goes on, its clock runs slow by %s", Rig, "Lock both cameras to one clock."},
	"colour_tags_difference": {"the files' colour tags differ", "", NoMend, "Correct the tags, or the eyes will be shown in unlike colours."},
	"lost_moments":           {"%s could not be read", "", NoMend, "Check the files for damage."},
}

// detail is a sentence about a finding with a value.
func (j *judging) detail(f Finding) string {
	l := f.Limit
	var text string
	p, known := phrases[l.Metric]
	template := p.positive
	if f.Value < 0 && p.negative != "" {
		template = p.negative
	}
	pixels := j.pixels(l, f.Value)
	switch {
	case l.Statistic == Drift:
		text = fmt.Sprintf("from the first to the last frame %s changes by %s%s", words(l.Metric), signedAmount(l, f.Value), pixels)
	case l.Statistic == Jump:
		text = j.jumpWords(l, f.Value)
	case l.Statistic == Across:
		text = j.cutWords(l, f.Value)
	case !known:
		text = fmt.Sprintf("%s is %s%s", words(l.Metric), signedAmount(l, f.Value), pixels)
	default:
		text = strings.Replace(template, "%s", amount(l, math.Abs(f.Value)), 1) + pixels
	}
	if l.Statistic == Lowest || l.Statistic == Top {
		text = "at worst, " + text
	}
	if l.Screen != "" {
		text = "on " + l.Screen + ", " + text
	}
	text = sentence(text + "; " + limitWords(f))
	for _, more := range []string{j.record.hitchWords(l.Metric), j.record.rivalryWords(l.Metric), j.record.logWords(l.Metric), j.record.pullWords(l.Metric)} {
		if more != "" {
			text += " " + more
		}
	}
	return text
}

// limitWords says what a finding's value is held against.
func limitWords(f Finding) string {
	bound := f.Limit.Bound(f.Value)
	number := digits(bound)
	// Phrases tell the direction in words.
	if bound < 0 == (f.Value < 0) {
		number = digits(math.Abs(bound))
	}
	number += shortUnit(f.Unit)
	source := f.Limit.Source
	if f.Limit.Written != "" {
		source = f.Limit.Written + ": " + source
	}
	if source != "" {
		source = " (" + source + ")"
	}
	if f.Limit.open(stat.Measured(f.Value, f.SE)) {
		return fmt.Sprintf("that is known to ±%s%s only, so it cannot be told from the limit of %s%s",
			digits(sure*f.SE), shortUnit(f.Unit), number, source)
	}
	return fmt.Sprintf("the limit is %s%s", number, source)
}

// pixels writes a value in pixels of one eye's picture where it is a part of
// the picture's size.
func (j *judging) pixels(l Limit, value float64) string {
	whole := 0
	switch unit := unitOf(l); {
	case strings.HasPrefix(unit, "% of picture height"):
		whole = j.record.Header.EyeHeight
	case strings.HasPrefix(unit, "% of picture width"):
		whole = j.record.Header.EyeWidth
	}
	if whole <= 0 {
		return ""
	}
	px := math.Abs(value) / 100 * float64(whole)
	decimals := 0
	if px < 10 {
		decimals = 1
	}
	return fmt.Sprintf(" (%s px)", decimal(px, decimals))
}

// unitOf returns the unit of what a limit is about.
func unitOf(l Limit) string {
	if l.Statistic == Fact {
		fact, _ := LookupFact(l.Metric)
		return fact.Unit
	}
	m, _ := metrics.Lookup(l.Metric)
	return m.Unit
}

// amount writes a value with its unit.
func amount(l Limit, value float64) string {
	unit := unitOf(l)
	switch {
	case unit == "":
		return digits(value)
	case unit == "°":
		return digits(value) + unit
	case value == 1 && !strings.HasPrefix(unit, "%"):
		unit = strings.TrimSuffix(unit, "s") // 1 frame
	}
	return digits(value) + " " + unit
}

func signedAmount(l Limit, value float64) string {
	if value > 0 {
		return "+" + amount(l, value)
	}
	return amount(l, value)
}

// shortUnit is a unit as it stands behind a number whose unit was told before.
func shortUnit(unit string) string {
	switch {
	case strings.HasPrefix(unit, "%"):
		return " %"
	case unit == "" || unit == "°":
		return unit
	}
	return " " + unit
}

// digits writes a number with three digits, or all those before the point, and
// a true minus sign.
func digits(v float64) string {
	decimals := 0
	if v != 0 {
		decimals = min(max(2-int(math.Floor(math.Log10(math.Abs(v)))), 0), 6)
	}
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		text = "0"
	}
	return strings.Replace(text, "-", "−", 1)
}

// words turns a metric's name into words.
func words(name string) string { return strings.ReplaceAll(name, "_", " ") }

// sentence puts a capital at the start and a full stop at the end.
func sentence(s string) string {
	r, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return s
	}
	s = string(unicode.ToUpper(r)) + s[size:]
	if strings.HasSuffix(s, ".") {
		return s
	}
	return s + "."
}
