package screen

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"nightpair/qc/record"
)

// Screen is where the pictures will be seen, which is what turns parallax into
// angles and lengths. The zero value stands for a screen 1 m wide, the
// project's own choice between a television and a wall.
type Screen struct {
	Width float64 // metres; 0 when unknown
	// View is the angle in degrees that the picture's width fills, as seen from
	// the seat or in a headset; 0 means that the screen is watched from
	// DesignHeights picture heights.
	View float64
	// Aspect is the width of the picture over its height; 0 means 16:9.
	Aspect float64
}

const (
	// DesignHeights is the viewing distance in picture heights that the limits of
	// Report ITU-R BT.2293 are for.
	DesignHeights = 3

	defaultScreenWidth = 1.0 // metres
	DefaultAspect      = 16.0 / 9
)

// What a screen can be, the project's own choice: from a watch to a wall wider
// than any cinema's, from a telephone across a room to a headset. What is
// beyond that was given in another unit, and would be judged as harmless.
const (
	minScreenWidth, maxScreenWidth = 0.02, 100 // metres
	minView, maxView               = 1, 170    // degrees
)

// Check returns an error for a screen that cannot be.
func (s Screen) Check() error {
	switch {
	case s.Width != 0 && !(s.Width >= minScreenWidth && s.Width <= maxScreenWidth):
		return fmt.Errorf("a screen %v m wide: the width must be from %v to %v metres", s.Width, minScreenWidth, maxScreenWidth)
	case s.View != 0 && !(s.View >= minView && s.View <= maxView):
		return fmt.Errorf("a view of %v°: it must be from %v to %v degrees", s.View, minView, maxView)
	case !(s.Aspect >= 0) || math.IsInf(s.Aspect, 0):
		return errors.New("a screen without a shape")
	}
	return nil
}

// aspect and width fill in what is not given.
func (s Screen) aspect() float64 {
	if s.Aspect > 0 {
		return s.Aspect
	}
	return DefaultAspect
}

func (s Screen) width() float64 {
	if s.Width == 0 && s.View == 0 {
		return defaultScreenWidth
	}
	return s.Width
}

// spread is the width of the picture over the viewing distance.
func (s Screen) spread() float64 {
	if s.View > 0 {
		return 2 * math.Tan(s.View/2*math.Pi/180)
	}
	return s.aspect() / DesignHeights
}

// ArcminPerPercent returns the angle, in arcmin, of a parallax of 1 % of the
// picture's width in the middle of the picture. It takes the angle for
// parallax over distance, which is exact within 0.6 % up to two degrees from
// half a metre on.
func (s Screen) ArcminPerPercent() float64 {
	return 0.01 * s.spread() * 180 / math.Pi * 60
}

// MillimetresPerPercent returns the length on the screen of 1 % of its width,
// and false where the picture is known by its angle alone.
func (s Screen) MillimetresPerPercent() (float64, bool) {
	return 10 * s.width(), s.width() > 0
}

// Distance returns the viewing distance in metres, 0 when unknown.
func (s Screen) Distance() float64 { return s.width() / s.spread() }

// String says in words what is judged for.
func (s Screen) String() string {
	switch {
	case s.width() == 0:
		return fmt.Sprintf("a picture that fills %s° of the view", short(s.View))
	case s.View > 0:
		return fmt.Sprintf("a screen %s m wide that fills %s° of the view (watched from %s m)", short(s.Width), short(s.View), rounded(s.Distance()))
	}
	text := fmt.Sprintf("a screen %s m wide watched from %d picture heights (%s m)", short(s.width()), DesignHeights, rounded(s.Distance()))
	if s.Width == 0 {
		text += ", assumed since none was named"
	}
	return text
}

// Name tells the screen from others in a few words.
func (s Screen) Name() string {
	if s.width() == 0 {
		return fmt.Sprintf("a picture that fills %s°", short(s.View))
	}
	name := fmt.Sprintf("a screen %s m wide", short(s.width()))
	if s.View > 0 {
		name += fmt.Sprintf(" that fills %s°", short(s.View))
	}
	return name
}

func short(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// rounded writes a length with three digits.
func rounded(v float64) string {
	decimals := 2
	if v >= 10 {
		decimals = 1
	}
	if v >= 100 {
		decimals = 0
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

// Showing returns the screen with the shape of the records' pictures: the one
// that most of them have, if it does not say another.
func (s Screen) Showing(records []record.Record) Screen {
	if s.Aspect > 0 {
		return s
	}
	count := map[float64]int{}
	for _, r := range records {
		if a := r.Header.Aspect(); a > 0 {
			count[math.Round(a*1000)/1000]++
		}
	}
	var shapes []float64
	for a := range count {
		shapes = append(shapes, a)
	}
	slices.SortFunc(shapes, func(a, b float64) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(a, b))
	})
	if len(shapes) > 0 && math.Abs(shapes[0]-DefaultAspect) > 0.001 {
		s.Aspect = shapes[0]
	}
	return s
}
