package coarse_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/coarse"
	"nightpair/metrics/synth"
)

func TestExplore(t *testing.T) {
	for _, s := range synth.Scenes[:3] {
		shot := synth.Shot{Scene: s, Noise: 1.5, Width: 960, Height: 540}
		left := coarse.Reduce(shot.Eye(synth.LeftEye, 1))
		clean := coarse.Reduce(shot.Eye(synth.RightEye, 1))
		shot.Rig.Picture = synth.PictureError{Shift: 1.1, Roll: 0.5, Zoom: 0.8}
		shot.Right.Exposure = 0.3
		wrong := coarse.Reduce(shot.Eye(synth.RightEye, 1))
		prior := coarse.Prior{Near: -0.25, Far: 0.25}
		a := coarse.Compare(left, clean, prior)
		start := time.Now()
		b := coarse.Compare(left, wrong, prior)
		took := time.Since(start)
		t.Logf("%-10s n %3d  %+.3f±%.3f %+.3f±%.3f %+.3f±%.3f %+.3f±%.3f", s.Name, a.Places, a.Offset, a.OffsetSE, a.Roll, a.RollSE, a.Zoom, a.ZoomSE, a.Exposure, a.ExposureSE)
		t.Logf("%-10s n %3d  %+.3f±%.3f %+.3f±%.3f %+.3f±%.3f %+.3f±%.3f %v", "", b.Places, b.Offset-1.1, b.OffsetSE, b.Roll-0.5, b.RollSE, b.Zoom-0.8, b.ZoomSE, b.Exposure-0.3, b.ExposureSE, took)
	}
	require.True(t, true)
}
