package record

// Cut is a place within a file where one shot ends and the next begins in both
// eyes.
type Cut struct {
	Frame int `json:"frame"` // the left eye's first of the new shot
	// Before and After are the depth of the frames next to the cut; nil where it
	// was not measured.
	Before *Depths `json:"before,omitempty"`
	After  *Depths `json:"after,omitempty"`
}

// Shot returns which of the shots of a cut file a frame of the left eye is in,
// counted from 0.
func (r Record) Shot(frame int) int { return r.Header.Sync.Shot(frame) }

// Shot returns which of the shots of a cut file a frame of the left eye is in, counted from 0.
func (s Sync) Shot(frame int) int {
	n := 0
	for _, c := range s.Cuts {
		if c.Frame <= frame {
			n++
		}
	}
	return n
}
