package record

import "nightpair/metrics/picture"

// Setup is what was found out about a clip before it was measured. Measuring
// undoes it; whatever in it a clean clip would not need is a finding too.
type Setup struct {
	Packing Packing `json:"packing"`
	// Left and Right say how each eye's picture is turned against the scene.
	Left  picture.Orientation `json:"left_orientation"`
	Right picture.Orientation `json:"right_orientation"`
	// Either says that one eye is turned but the picture cannot tell which; it
	// is then entered as the right one.
	Either bool     `json:"either,omitempty"`
	Order  EyeOrder `json:"eye_order"`
	// Slip is by how many frames the file named right shows the same instants later
	// than the one named left; see Late.
	Slip int `json:"slip"`
}

// Late returns by how many whole frames the right eye is late, whichever file it
// is in: by so many it has to be played earlier.
func (s Setup) Late() int {
	if s.Order == Swapped {
		return -s.Slip
	}
	return s.Slip
}

// EyeOrder says whether the eyes are what their names say.
type EyeOrder string

const (
	AsNamed      EyeOrder = "as named"
	Swapped      EyeOrder = "swapped"
	OrderUnknown EyeOrder = "unknown"
)

// Orientation puts the orientation of the eyes into the words of the reports,
// such as "upright", "left flop" or "either flip".
func (s Setup) Orientation() string {
	switch {
	case s.Either:
		return "either " + s.Right.String()
	case s.Left == picture.Upright && s.Right == picture.Upright:
		return "upright"
	case s.Right == picture.Upright:
		return "left " + s.Left.String()
	case s.Left == picture.Upright:
		return "right " + s.Right.String()
	default:
		return "left " + s.Left.String() + ", right " + s.Right.String()
	}
}

// MirroredEyes returns how each eye of a packed file is turned by what its tags
// say.
func MirroredEyes(source Source, packing Packing) (left, right picture.Orientation) {
	arrangement, _ := packing.Arrangement()
	switch first := source.MirroredEye == 1; {
	case source.MirroredEye == 0:
		return picture.Upright, picture.Upright
	case first != source.Inverted:
		return arrangement.Mirrored, picture.Upright
	default:
		return picture.Upright, arrangement.Mirrored
	}
}
