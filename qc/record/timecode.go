package record

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"nightpair/metrics/stat"
)

// Timecode returns the label of a frame, counted from 0, of a file whose frame
// 0 is labelled start, such as "01:00:00:00", at the given rate (SMPTE ST
// 12-1). Labels are counted at the whole number of frames per second next to
// the rate. A semicolon before the frames says that the labels drop: at
// 30000/1001 the labels 00 and 01 are left out at the start of every minute
// but each tenth, at 60000/1001 the labels 00 to 03. Labels begin again after
// 24 hours. It returns "" when start is not a label at that rate.
func Timecode(start string, rateNum, rateDen, frame int) string {
	if rateNum <= 0 || rateDen <= 0 {
		return ""
	}
	base := (rateNum + rateDen/2) / rateDen // frames to a second of labels
	drop := 0                               // labels left out of a minute
	if strings.Contains(start, ";") {
		if base%30 != 0 || base == 0 {
			return ""
		}
		drop = base / 30 * 2
	}
	first, ok := ParseLabel(start, base, drop)
	if !ok {
		return ""
	}
	return formatLabel(first+frame, base, drop)
}

var labelForm = regexp.MustCompile(`^(\d\d)[:;](\d\d)[:;](\d\d)[:;.](\d\d)$`)

// ParseLabel returns the number of frames from midnight to a label.
func ParseLabel(label string, base, drop int) (frame int, ok bool) {
	parts := labelForm.FindStringSubmatch(label)
	if parts == nil {
		return 0, false
	}
	var numbers [4]int
	for i := range numbers {
		numbers[i], _ = strconv.Atoi(parts[i+1]) // two digits each
	}
	h, m, s, f := numbers[0], numbers[1], numbers[2], numbers[3]
	if h > 23 || m > 59 || s > 59 || f >= base {
		return 0, false
	}
	minutes := 60*h + m
	if s == 0 && f < drop && m%10 != 0 {
		return 0, false // left out
	}
	return (60*minutes+s)*base + f - drop*(minutes-minutes/10), true
}

// formatLabel returns the label of a frame counted from midnight.
func formatLabel(frame, base, drop int) string {
	minute := 60*base - drop
	ten := 10*minute + drop
	frame %= 6 * 24 * ten
	if frame < 0 {
		frame += 6 * 24 * ten
	}
	tens, rest := frame/ten, frame%ten
	frame += 9 * drop * tens
	if rest >= 60*base {
		frame += drop * ((rest-60*base)/minute + 1)
	}
	separator := ":"
	if drop > 0 {
		separator = ";"
	}
	seconds := frame / base
	return fmt.Sprintf("%02d:%02d:%02d%s%02d", seconds/3600, seconds/60%60, seconds%60, separator, frame%base)
}

// LabelCounting returns how a file's timecode counts: frames to a second of
// labels, and labels left out of a minute.
func LabelCounting(s Source) (base, drop int, ok bool) {
	if s.RateNum <= 0 || s.RateDen <= 0 {
		return 0, 0, false
	}
	base = (s.RateNum + s.RateDen/2) / s.RateDen
	if strings.Contains(s.Timecode, ";") {
		drop = base / 30 * 2
	}
	return base, drop, base > 0 && (drop == 0 || base%30 == 0)
}

// LabelHours returns when a file was begun by its timecode, in hours since midnight.
func (s Source) LabelHours() (float64, bool) {
	base, drop, ok := LabelCounting(s)
	if !ok {
		return 0, false
	}
	frame, ok := ParseLabel(s.Timecode, base, drop)
	return float64(frame) / (s.Rate() * 3600), ok
}

// TimecodesApart returns by how many frames the right eye's timecode is ahead of the
// left one's where the right eye shows the same so many frames later, the shorter way
// round midnight.
func TimecodesApart(left, right Source, slip int) stat.Measurement {
	if left.Timecode == "" || right.Timecode == "" {
		return stat.Missing("a file has no timecode")
	}
	base, drop, ok := LabelCounting(left)
	rightBase, rightDrop, rightOK := LabelCounting(right)
	if !ok || !rightOK || base != rightBase || drop != rightDrop {
		return stat.Missing("the files' timecodes are counted in unlike ways")
	}
	l, leftOK := ParseLabel(left.Timecode, base, drop)
	r, rightOK := ParseLabel(right.Timecode, base, drop)
	if !leftOK || !rightOK {
		return stat.Missing("the timecode is not valid at this frame rate")
	}
	day := 24 * (3600*base - 54*drop) // ten times an hour no label is left out
	apart := ((r+slip-l)%day + day) % day
	if apart > day/2 {
		apart -= day
	}
	return stat.Measured(float64(apart), 0)
}
