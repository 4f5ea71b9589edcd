package qc

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/synth"
)

// onSet is a file that is drawn by a camera as it is read.
type onSet struct {
	shot   synth.Shot
	eye    synth.Eye
	frames int
}

func (s *onSet) Source() Source {
	return Source{Path: "drawn", Codec: "drawn", Width: s.shot.Width, Height: s.shot.Height, Depth: 10, PixelAspect: 1,
		Frames: s.frames, RateNum: 24, RateDen: 1}
}

func (s *onSet) Frame(_ context.Context, index int) (*metrics.Frame, error) {
	if index < 0 || index >= s.frames {
		return nil, io.EOF
	}
	return s.shot.Eye(s.eye, float64(index)/24), nil
}

func (s *onSet) Notes() []Note { return nil }
func (s *onSet) Close() error  { return nil }

// Clips of varied content, noise, rig and light in which nothing is wrong raise no
// finding. The light differs as that of two good cameras does.
func TestSoundClipsRaiseNothing(t *testing.T) {
	var clips []synth.Shot
	for i, scene := range synth.Scenes {
		if scene.Name == "ground" {
			continue // nothing but the ground: too little to tell the rig's errors apart
		}
		for variant := range 2 {
			shot := synth.Shot{Scene: scene, Width: 960, Height: 540, Noise: []float64{0.7, 1.5}[variant], Seed: uint64(i)}
			if scene.Name == "night" {
				shot.Noise = 0.3 * shot.Noise // cameras for the night
			}
			if scene.Name == "crowd" {
				shot.Rig.Convergence = 3.2 // nothing is cut in front of the screen
			}
			if variant == 1 {
				shot.Right = synth.Light{Exposure: 0.03, Red: -0.02, Blue: 0.02, Blur: 0.05}
				shot.Chroma = synth.Chroma420
			}
			clips = append(clips, shot)
		}
	}
	require.Len(t, clips, 30)
	if os.Getenv("NIGHTPAIR_ACCURACY") == "" {
		clips = []synth.Shot{clips[0], clips[15], clips[27]}
	}
	for _, shot := range clips {
		t.Run(fmt.Sprintf("%s, noise %g", shot.Scene.Name, shot.Noise), func(t *testing.T) {
			open := func(_ context.Context, path string) (Reader, error) {
				eye := synth.LeftEye
				if path == "right" {
					eye = synth.RightEye
				}
				return &onSet{shot, eye, 3}, nil
			}
			var out bytes.Buffer
			job := Job{Clip: Clip{Name: shot.Scene.Name, Left: "left", Right: "right", Packing: Separate}}
			require.NoError(t, Measure(t.Context(), &out, job, open))
			record, err := ReadRecord(&out)
			require.NoError(t, err)
			for _, set := range LimitSets {
				if shot.Scene.Name == "landscape" && set.Name == "rig" {
					continue // all is far away: camera height and tilt look the same
				}
				limits, _ := set.Limits().On(Screen{})
				v := Judge([]Record{record}, limits)[0]
				for _, f := range v.Findings {
					t.Errorf("%s: %s: %s (%g ± %g)", set.Name, f.Status, f.Detail, f.Value, f.SE)
				}
			}
		})
	}
}
