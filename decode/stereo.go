package decode

import "encoding/binary"

// Stereo is what a file says about two eyes in one stream. Nothing of it is
// applied to the frames.
type Stereo struct {
	Packing FramePacking
	// Inverted says that the right eye comes first: on the left, on top.
	Inverted bool
	// Mirrored says which of the two views is stored flipped, side by side
	// left to right and top and bottom upside down; 0 for neither, 1 for the
	// first, 2 for the second view.
	Mirrored int
}

// FramePacking says how two views share one stream.
type FramePacking int

// The order is FFmpeg's (libavutil/stereo3d.h).
const (
	Mono FramePacking = iota
	SideBySide
	TopBottom
	FrameAlternate
	Checkerboard
	SideBySideQuincunx
	Lines
	Columns
)

var packingNames = [...]string{
	"mono", "side by side", "top and bottom", "frame alternate", "checkerboard",
	"side by side, quincunx", "interleaved lines", "interleaved columns",
}

func (p FramePacking) String() string {
	if p < 0 || int(p) >= len(packingNames) {
		return "unknown packing"
	}
	return packingNames[p]
}

// stereo3D reads FFmpeg's AVStereo3D: three native integers, type, flags and
// view, of which flag bit 0 means that the views are exchanged.
func stereo3D(b []byte) Stereo {
	if len(b) < 8 {
		return Stereo{}
	}
	return Stereo{
		Packing:  FramePacking(binary.NativeEndian.Uint32(b)),
		Inverted: binary.NativeEndian.Uint32(b[4:])&1 != 0,
	}
}
