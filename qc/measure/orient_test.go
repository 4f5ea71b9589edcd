package measure

import (
	"context"
	"fmt"
	"io"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
	"nightpair/qc/record"
)

// stills reads a few given pictures as a clip.
type stills struct {
	frames []*picture.Frame
	turned picture.Orientation
}

func (s *stills) Source() record.Source {
	f := s.frames[0]
	return record.Source{Path: "stills", Width: f.Width(), Height: f.Height(), Depth: f.Depth, Frames: len(s.frames), RateNum: 24, RateDen: 1}
}

func (s *stills) Frame(_ context.Context, index int) (*picture.Frame, error) {
	if index >= len(s.frames) {
		return nil, io.EOF
	}
	return s.frames[index].Oriented(s.turned), nil
}

func (s *stills) Notes() []record.Note { return nil }
func (s *stills) Close() error         { return nil }

// drawnClip draws a few moments of a scene, a second apart.
func drawnClip(t *testing.T, name string) (left, right []*picture.Frame) {
	t.Helper()
	scene, ok := synth.Named(name)
	require.True(t, ok, name)
	width, height := 640, 360 // half the cost, and half the evidence
	if os.Getenv("NIGHTPAIR_ACCURACY") != "" {
		width, height = 960, 540
	}
	for i := range looks {
		l, r, _ := synth.Shot{Scene: scene, Width: width, Height: height, Noise: 1.5, Seed: uint64(i + 1)}.Render(float64(i))
		left, right = append(left, l), append(right, r)
	}
	return left, right
}

// oriented returns what orient makes of a clip whose eyes are turned.
func oriented(t *testing.T, left, right []*picture.Frame, l, r picture.Orientation, mirrored record.Mirrored) record.Setup {
	t.Helper()
	f := &footage{
		left: &stills{left, l}, right: &stills{right, r},
		setup: record.Setup{Packing: record.Separate, Order: record.OrderUnknown},
	}
	require.NoError(t, f.orient(t.Context(), mirrored))
	return f.setup
}

// edged lists scenes with edges of depth, which tell the order of the eyes; under
// make accuracy, all of them.
func edged() []string {
	if os.Getenv("NIGHTPAIR_ACCURACY") == "" {
		return []string{"street", "portrait"}
	}
	return []string{"street", "bricks", "blinds", "foliage", "smoke", "water", "portrait", "posts", "crowd", "stairs", "yard"}
}

// A turned eye is found in every combination that the pictures can tell apart:
// all but those in which both eyes are turned, which are seen as what comes to
// the same with fewer faults.
func TestOrientFindsTheTurnedEye(t *testing.T) {
	for _, name := range edged() {
		left, right := drawnClip(t, name)
		for l := range picture.Orientation(4) {
			for r := range picture.Orientation(4) {
				t.Run(fmt.Sprintf("%s %v %v", name, l, r), func(t *testing.T) {
					s := oriented(t, left, right, l, r, record.MirroredUnknown)
					relative := l.Then(r)
					require.Equal(t, relative, s.Left.Then(s.Right), "the turn of one eye against the other")
					sideways := func(o picture.Orientation) bool { return o == picture.Flop || o == picture.Turn }
					switch {
					case relative == picture.Upright:
						// Both mirrored from side to side is the same as exchanged.
						want := record.AsNamed
						if sideways(l) {
							want = record.Swapped
						}
						require.Equal(t, record.Setup{Packing: record.Separate, Order: want}, s)
					case relative == picture.Flip:
						require.True(t, s.Either)
						require.Equal(t, "either flip", s.Orientation())
					case sideways(r):
						require.Equal(t, record.Setup{Packing: record.Separate, Right: relative, Order: record.AsNamed}, s)
					default:
						require.Equal(t, record.Setup{Packing: record.Separate, Left: relative, Order: record.AsNamed}, s)
					}
				})
			}
		}
		t.Run(name+" exchanged", func(t *testing.T) {
			s := oriented(t, right, left, picture.Upright, picture.Upright, record.MirroredUnknown)
			require.Equal(t, record.Setup{Packing: record.Separate, Order: record.Swapped}, s)
		})
	}
}

func TestOrientTakesTheUsersWord(t *testing.T) {
	left, right := drawnClip(t, "portrait")
	s := oriented(t, left, right, picture.Flip, picture.Upright, record.MirroredLeft)
	require.Equal(t, "left flip", s.Orientation())
	s = oriented(t, left, right, picture.Upright, picture.Flip, record.MirroredRight)
	require.Equal(t, "right flip", s.Orientation())
}

// Where nothing tells, nothing is claimed.
func TestOrientLeavesOpenWhatCannotBeSeen(t *testing.T) {
	left, right := drawnClip(t, "target")
	require.Equal(t, record.Setup{Packing: record.Separate, Order: record.OrderUnknown}, oriented(t, left, right, 0, 0, record.MirroredUnknown))
	require.Equal(t, record.Setup{Packing: record.Separate, Order: record.OrderUnknown}, oriented(t, right, left, 0, 0, record.MirroredUnknown))
	s := oriented(t, left, right, picture.Upright, picture.Flop, record.MirroredUnknown)
	require.Equal(t, "either flop", s.Orientation())

	blank := &picture.Frame{Layout: picture.Grey, Depth: 8, Planes: []picture.Plane{{Width: 640, Height: 360, Stride: 640, Pix: make([]uint16, 640*360)}}}
	black := []*picture.Frame{blank, blank}
	require.Equal(t, record.Setup{Packing: record.Separate, Order: record.OrderUnknown}, oriented(t, black, black, 0, 0, record.MirroredUnknown))
}
