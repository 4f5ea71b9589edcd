package measure

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/qc/record"
)

// asFile lists a path as the file that it is.
func asFile(path string) ([]string, error) {
	_, err := os.Stat(path)
	return []string{path}, err
}

func TestFingerprint(t *testing.T) {
	dir := t.TempDir()
	touch := func(name, content string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(content), 0o666))
		when := time.Unix(1e9, 0)
		require.NoError(t, os.Chtimes(path, when, when))
		return path
	}
	pictures := []string{touch("1_L.dpx", "x"), touch("2_L.dpx", "x")}
	clip := record.Clip{Left: filepath.Join(dir, "%d_L.dpx"), Right: touch("R.mov", "y"), Packing: record.Separate}
	files := func(path string) ([]string, error) {
		if path == clip.Left {
			return pictures, nil
		}
		return asFile(path)
	}
	all := []metrics.Metric{{Name: "roll", Revision: 1}}
	of := func(clip record.Clip, plan Plan, mirrored record.Mirrored, all []metrics.Metric) string {
		f, err := Fingerprint(clip, files, plan, mirrored, all)
		require.NoError(t, err)
		return f
	}
	first := of(clip, Plan{}, "", all)
	require.Len(t, first, 32)
	require.Equal(t, first, of(clip, Plan{Samples: DefaultSamples}, "", all), "the usual plan, in so many words")

	seen := map[string]string{first: "the first"}
	differs := func(what, f string) {
		t.Helper()
		require.NotContains(t, seen, f, what)
		seen[f] = what
	}
	differs("plan", of(clip, Plan{Samples: 3}, "", all))
	differs("mirror", of(clip, Plan{}, record.MirroredLeft, all))
	differs("revision", of(clip, Plan{}, "", []metrics.Metric{{Name: "roll", Revision: 2}}))
	differs("metrics", of(clip, Plan{}, "", nil))
	packed := clip
	packed.Packing = record.TopBottom
	differs("packing", of(packed, Plan{}, "", all))
	exchanged := clip
	exchanged.Left, exchanged.Right = clip.Right, clip.Left
	differs("eyes", of(exchanged, Plan{}, "", all))
	single := clip
	single.Right = ""
	differs("no right eye", of(single, Plan{}, "", all))

	touch("2_L.dpx", "xx")
	differs("size of one picture", of(clip, Plan{}, "", all))
	touch("2_L.dpx", "x")
	require.Equal(t, first, of(clip, Plan{}, "", all))
	pictures = append(pictures, touch("3_L.dpx", "x"))
	differs("one picture more", of(clip, Plan{}, "", all))
	require.NoError(t, os.Chtimes(clip.Right, time.Time{}, time.Unix(1e9, 1)))
	differs("time", of(clip, Plan{}, "", all))

	_, err := Fingerprint(record.Clip{Left: filepath.Join(dir, "gone.mov")}, files, Plan{}, "", all)
	require.ErrorIs(t, err, os.ErrNotExist)
}
