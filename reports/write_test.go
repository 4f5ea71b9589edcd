package reports

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/judge"
)

// tree reads all files under dir.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		rel, _ := filepath.Rel(dir, path)
		files[filepath.ToSlash(rel)] = string(data)
		return err
	}))
	return files
}

func names(files map[string]string) []string {
	var all []string
	for name := range files {
		all = append(all, name)
	}
	slices.Sort(all)
	return all
}

func TestWriteIsTheSameForTheSameNight(t *testing.T) {
	n := night(t)
	once, again := t.TempDir(), t.TempDir()
	require.NoError(t, Write(once, n))
	slices.Reverse(n.Records)
	slices.Reverse(n.Verdicts[2:])
	require.NoError(t, Write(again, n))
	require.NoError(t, Write(again, n), "over itself")
	want, got := tree(t, once), tree(t, again)
	require.Equal(t, names(want), names(got))
	for name := range want {
		require.True(t, want[name] == got[name], "%s differs", name)
	}
	for _, name := range []string{"index.html", "clips.csv", "findings.csv", "samples.csv"} {
		require.Contains(t, want, name)
	}
}

func TestWriteRemovesWhatIsStaleAndNothingElse(t *testing.T) {
	dir := t.TempDir()
	n := night(t)
	require.NoError(t, Write(dir, n))
	before := tree(t, dir)
	gone := n.Records[0].Header.Clip

	foreign := map[string]string{
		"pictures/" + gone.Key() + "-60-left.png": "somebody's picture",
		"pictures/holiday-left.jpg":               "\xff\xd8\xff somebody's picture",
		"clips/notes.html":                        "<p>somebody's notes</p>",
		"clips/" + gone.Key() + ".mov":            "footage",
		"records/kept.jsonl":                      "records",
	}
	for name, data := range foreign {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o777))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(data), 0o666))
	}
	// What a run leaves that was killed while it wrote.
	cut := before["clips/"+gone.Key()+".html"][:2000]
	require.NoError(t, os.WriteFile(filepath.Join(dir, "clips", gone.Key()+".html.part"), []byte(cut), 0o666))

	n.Records, n.Verdicts = n.Records[1:], n.Verdicts[1:]
	require.NoError(t, Write(dir, n))
	after := tree(t, dir)
	for name, data := range foreign {
		require.Equal(t, data, after[name], name)
	}
	fresh := t.TempDir()
	require.NoError(t, Write(fresh, n))
	for name := range foreign {
		delete(after, name)
	}
	require.Equal(t, names(tree(t, fresh)), names(after))
	require.Less(t, len(after), len(before))
}

func TestWriteTellsWhatIsWrong(t *testing.T) {
	n := night(t)
	t.Run("a file where the folder should be", func(t *testing.T) {
		file := filepath.Join(t.TempDir(), "taken")
		require.NoError(t, os.WriteFile(file, nil, 0o666))
		require.ErrorContains(t, Write(file, n), "taken")
	})
	t.Run("a folder where a file should be", func(t *testing.T) {
		dir := t.TempDir()
		require.NoError(t, os.MkdirAll(filepath.Join(dir, "findings.csv", "full"), 0o777))
		err := Write(dir, n)
		require.ErrorContains(t, err, "findings.csv")
		var left []string
		for name := range tree(t, dir) {
			if strings.HasSuffix(name, ".part") {
				left = append(left, name)
			}
		}
		require.Empty(t, left)
		require.NoFileExists(t, filepath.Join(dir, "index.html"), "the page is written last")
	})
	t.Run("a clip without a verdict", func(t *testing.T) {
		m := n
		m.Verdicts = m.Verdicts[1:]
		require.ErrorContains(t, Write(t.TempDir(), m), n.Records[0].Header.Clip.Name)
	})
	t.Run("the same clip twice", func(t *testing.T) {
		m := n
		m.Records = append(slices.Clone(m.Records), m.Records[0])
		require.ErrorContains(t, Write(t.TempDir(), m), "share their files")
	})
}

func TestWriteNothing(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, Write(dir, Results{}))
	tells(t, tree(t, dir)["index.html"], "No clips were checked.")
}

func TestLead(t *testing.T) {
	night := func(failed, unmeasured, warned, passed int) []statusCount {
		return []statusCount{{judge.Failed, failed}, {judge.Unmeasured, unmeasured}, {judge.Warned, warned}, {judge.Passed, passed}}
	}
	for want, counts := range map[string][]statusCount{
		"The one clip is within all limits.":                                                            night(0, 0, 0, 1),
		"All 7 clips are within all limits.":                                                            night(0, 0, 0, 7),
		"Of 1 clip, 1 is outside the limits.":                                                           night(1, 0, 0, 0),
		"Of 5 clips, 2 are outside the limits and 3 are clean.":                                         night(2, 0, 0, 3),
		"Of 7 clips, 1 is outside the limits, 1 could not be measured, 1 has warnings and 4 are clean.": night(1, 1, 1, 4),
	} {
		require.Equal(t, want, lead(counts))
	}
}
