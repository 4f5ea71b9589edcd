package decode

import (
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/timing"
)

// heard makes a file with four seconds of noise that is late by some samples at
// 48 kHz.
func heard(t *testing.T, name, late string, args ...string) *File {
	path := filepath.Join(t.TempDir(), name)
	all := append([]string{"-v", "error", "-nostdin", "-f", "lavfi", "-i", "testsrc=size=64x48:rate=24:duration=4",
		"-f", "lavfi", "-i", "anoisesrc=sample_rate=48000:seed=7:duration=4:amplitude=0.5", "-af", "adelay=" + late, "-shortest"}, args...)
	out, err := exec.Command("ffmpeg", append(all, path)...).CombinedOutput()
	require.NoError(t, err, "install the Debian package ffmpeg: %s", out)
	return opened(t, path)
}

// 137 samples is the check value of the reference for sound that is late.
func TestSound(t *testing.T) {
	for _, k := range []struct {
		name string
		args []string
	}{
		{"pcm.mov", []string{"-c:v", "mpeg4", "-c:a", "pcm_s16le"}},
		{"wide.mov", []string{"-c:v", "mpeg4", "-c:a", "pcm_s24le", "-ac", "2"}},
		{"float.mkv", []string{"-c:v", "mpeg4", "-c:a", "pcm_f32le"}},
		{"planar.mp4", []string{"-c:v", "mpeg4", "-c:a", "aac", "-b:a", "256k"}},
	} {
		left, right := heard(t, "left"+k.name, "0", k.args...), heard(t, "right"+k.name, "137S", k.args...)
		l, rate, err := left.Sound(t.Context(), 3*time.Second)
		require.NoError(t, err)
		require.Equal(t, 48000, rate)
		require.Len(t, l, 3*48000)
		r, _, err := right.Sound(t.Context(), time.Minute)
		require.NoError(t, err)
		require.InDelta(t, 4*48000, len(r), 2*2048, "all there is")
		m := timing.SoundDelay(l, r[:len(l)], 48000, 4800)
		require.True(t, m.OK(), "%s: %s", k.name, m.Missing)
		require.InDelta(t, 137, m.Value, 0.5, k.name)

		// Frames go on being read as before.
		_, err = left.Frame(t.Context(), 5)
		require.NoError(t, err)
	}
}

func TestSoundOfASilentFile(t *testing.T) {
	f := opened(t, clip(t, "mute.mov", 5, "-c:v", "mpeg4"))
	_, _, err := f.Sound(t.Context(), time.Second)
	require.ErrorIs(t, err, ErrSilent)
}
