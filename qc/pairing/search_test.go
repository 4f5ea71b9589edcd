package pairing

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/record"
)

// lay makes files in a folder; a name that ends in a slash makes a folder.
func lay(t *testing.T, folder string, files map[string]string) {
	t.Helper()
	for name, text := range files {
		path := filepath.Join(folder, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	}
}

func TestSearch(t *testing.T) {
	day := t.TempDir()
	lay(t, day, map[string]string{
		"LEFT/A001.mov": "", "RIGHT/A001.mov": "",
		"scene 2/b_L.mov": "", "scene 2/b_R.mov": "", "scene 2/._b_L.mov": "", "scene 2/b_L.xml": "",
		".trash/c_L.mov": "", "__MACOSX/c_L.mov": "",
		"more/pairs.csv": "left,right,name\none.mov,two.mov,three\n", "more/one.mov": "", "more/two.mov": "",
		"report/clips.csv": "", "report/findings.csv": "", "report/records/x": "", "report/pictures/a_L.jpg": "",
		"told/pictures/b_L.jpg": "",
	})
	clips, err := Search{Skip: []string{filepath.Join(day, "told")}}.Clips(day)
	require.NoError(t, err)
	require.Equal(t, []record.Clip{
		{Name: "A001", Left: filepath.Join(day, "LEFT/A001.mov"), Right: filepath.Join(day, "RIGHT/A001.mov"), Packing: record.Separate, Why: "folders LEFT and RIGHT"},
		{Name: "scene 2/b", Left: filepath.Join(day, "scene 2/b_L.mov"), Right: filepath.Join(day, "scene 2/b_R.mov"), Packing: record.Separate, Why: "marks _L and _R"},
		{Name: "three", Left: filepath.Join(day, "more/one.mov"), Right: filepath.Join(day, "more/two.mov"), Packing: record.Separate, Why: "pairs.csv line 2"},
	}, clips)

	// The eyes' folders given one by one, in any order, and twice over.
	left, right := filepath.Join(day, "LEFT"), filepath.Join(day, "RIGHT")
	for _, paths := range [][]string{{left, right}, {right, left, left}} {
		clips, err := Search{}.Clips(paths...)
		require.NoError(t, err)
		require.Equal(t, []record.Clip{{Name: "A001", Left: filepath.Join(left, "A001.mov"), Right: filepath.Join(right, "A001.mov"), Packing: record.Separate, Why: "folders LEFT and RIGHT"}}, clips)
	}

	// Single files, one of which was found already.
	clips, err = Search{}.Clips(filepath.Join(day, "scene 2/b_L.mov"), filepath.Join(day, "scene 2/b_R.mov"), filepath.Join(day, "scene 2"))
	require.NoError(t, err)
	require.Equal(t, []string{"b"}, names(clips))
}

func TestSearchFromWithin(t *testing.T) {
	day := t.TempDir()
	lay(t, day, map[string]string{"-x_L.mov": "", "-x_R.mov": "", "L/a.mov": "", "R/a.mov": ""})
	t.Chdir(day)
	clips, err := Search{}.Clips(".")
	require.NoError(t, err)
	require.Equal(t, []string{"-x", "a"}, names(clips))
	require.Equal(t, "L/a.mov", filepath.ToSlash(clips[1].Left))
}

func TestSearchFollowsLinksOnce(t *testing.T) {
	day, drive := t.TempDir(), t.TempDir()
	lay(t, drive, map[string]string{"a_L.mov": "", "a_R.mov": ""})
	lay(t, day, map[string]string{"b_L.mov": "", "b_R.mov": ""})
	require.NoError(t, os.Symlink(drive, filepath.Join(day, "card")))
	require.NoError(t, os.Symlink(drive, filepath.Join(day, "card again")))
	require.NoError(t, os.Symlink(day, filepath.Join(day, "loop")))
	require.NoError(t, os.Symlink(day, filepath.Join(drive, "back")))
	require.NoError(t, os.Symlink(filepath.Join(day, "gone"), filepath.Join(day, "dead_L.mov")))
	clips, err := Search{}.Clips(day)
	require.NoError(t, err)
	require.Equal(t, []string{"b", "card/a", "dead_L"}, names(clips))
	require.NotEmpty(t, clips[2].Problem)
}

func TestManifestMayNameFilesElsewhere(t *testing.T) {
	day, drive := t.TempDir(), t.TempDir()
	lay(t, drive, map[string]string{"one.mov": "", "other_L.mov": "", "s.01.dpx": "", "s.02.dpx": ""})
	lay(t, day, map[string]string{
		"pairs.csv": "left,right,packing\nmine.mov," + filepath.Join(drive, "one.mov") + ",\n" + filepath.Join(drive, "s.%02d.dpx") + ",,tb\n",
		"mine.mov":  "",
	})
	clips, err := Search{}.Clips(day)
	require.NoError(t, err)
	require.Equal(t, []record.Clip{
		{Name: "mine", Left: filepath.Join(day, "mine.mov"), Right: filepath.Join(drive, "one.mov"), Packing: record.Separate, Why: "pairs.csv line 2"},
		{Name: "s", Left: filepath.Join(drive, "s.%02d.dpx"), Packing: record.TopBottom, Why: "pairs.csv line 3"},
	}, clips)
}

func TestSearchErrors(t *testing.T) {
	day := t.TempDir()
	_, err := Search{}.Clips(filepath.Join(day, "gone"))
	require.ErrorIs(t, err, os.ErrNotExist)

	lay(t, day, map[string]string{"pairs.csv": "left,right\na.mov\n"})
	_, err = Search{}.Clips(day)
	require.ErrorContains(t, err, "pairs.csv:2: 1 cells under 2 columns")
}

func TestFolderThatCannotBeRead(t *testing.T) {
	if os.Geteuid() == 0 {
		// Root reads everything: let the walk meet a folder that is none.
		w := walk{visited: map[string]bool{}, skip: map[string]bool{}}
		file := filepath.Join(t.TempDir(), "card")
		require.NoError(t, os.WriteFile(file, nil, 0o644))
		w.folder(file, filepath.Dir(file))
		require.Len(t, w.unread, 1)
		require.Equal(t, "the folder cannot be read: not a directory", w.unread[0].Problem)
		return
	}
	day := t.TempDir()
	lay(t, day, map[string]string{"a_L.mov": "", "a_R.mov": "", "card/b_L.mov": ""})
	require.NoError(t, os.Chmod(filepath.Join(day, "card"), 0))
	t.Cleanup(func() { os.Chmod(filepath.Join(day, "card"), 0o755) })
	clips, err := Search{}.Clips(day)
	require.NoError(t, err)
	require.Equal(t, []string{"a", "card"}, names(clips))
	require.Equal(t, "the folder cannot be read: permission denied", clips[1].Problem)
}
