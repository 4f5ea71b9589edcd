package pairing

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"nightpair/qc/record"
)

// pairPaths pairs files by their paths, without a folder of them.
func (p Search) pairPaths(files []string, manifests ...manifest) []record.Clip {
	found := make([]file, len(files))
	for i, path := range files {
		path = filepath.Clean(path)
		found[i] = file{path: path, id: path}
	}
	clips, err := p.pair(found, manifests, nil, filepath.Clean)
	if err != nil {
		panic(err)
	}
	return clips
}

func TestPairByMarks(t *testing.T) {
	for _, c := range []struct{ left, right, name, why string }{
		{"A001_L.mov", "A001_R.mov", "A001", "marks _L and _R"},
		{"a-left.mp4", "a-right.mp4", "a", "marks -left and -right"},
		{"a.L.mov", "a.R.mov", "a", "marks .L and .R"},
		{"shot 3 L.mov", "shot 3 R.mov", "shot 3", "marks L and R"},
		{"left_take2.mov", "right_take2.mov", "take2", "marks left_ and right_"},
		{"R_take2.mov", "L_take2.mov", "take2", "marks L_ and R_"},
		{"A001C003_L_0412.mov", "A001C003_R_0412.mov", "A001C003_0412", "marks _L and _R"},
		{"A001 (Left).MOV", "A001 (right).mov", "A001", "marks Left and right"},
		{"left01.mov", "right01.mov", "01", "marks left and right"},
		{"day/LEFT/c1.mov", "day/RIGHT/c1.mov", "day/c1", "folders LEFT and RIGHT"},
		{"day/L/reel 1/c1.mov", "day/R/reel 1/c1.mov", "day/reel 1/c1", "folders L and R"},
		{"left eye/c1.mov", "right eye/c1.mov", "c1", "folders left eye and right eye"},
		{"CAM_L/c1.mov", "CAM_R/c1.mov", "c1", "folders CAM_L and CAM_R"},
		{"LEFT/c1_L.mov", "RIGHT/c1_R.mov", "c1", "folders LEFT and RIGHT, marks _L and _R"},
		{"L001/c_L.mov", "L001/c_R.mov", "L001/c", "marks _L and _R"},
		{"R/turn right_L.mov", "R/turn right_R.mov", "R/turn right", "marks _L and _R"},
		{"LEFT/L.mov", "RIGHT/R.mov", "clip", "folders LEFT and RIGHT, marks L and R"},
		{"a_L.mov", "a_R.mp4", "a", "marks _L and _R, file types .mov and .mp4"},
		{"Straße_L.mov", "Straße_R.mov", "Straße", "marks _L and _R"},
		{"café_L.mov", "cafe\u0301_R.mov", "café", "marks _L and _R"}, // as drives of different systems write it
		{"-rf_L.mov", "-rf_R.mov", "-rf", "marks _L and _R"},
		{"a\nb_L.mov", "a\nb_R.mov", "a_b", "marks _L and _R"},
		{strings.Repeat("x", 240) + "_L.mov", strings.Repeat("x", 240) + "_R.mov", strings.Repeat("x", 240), "marks _L and _R"},
		{"day1/100%_L.mov", "day1/100%_R.mov", "day1/100%", "marks _L and _R"},
	} {
		if strings.HasPrefix(c.left, "R_") {
			c.left, c.right = c.right, c.left
		}
		clips := Search{}.pairPaths([]string{c.left, c.right})
		require.Equal(t, []record.Clip{{Name: c.name, Left: c.left, Right: c.right, Packing: record.Separate, Why: c.why}}, clips)
	}
}

func TestLettersWithinWordsAreNoMarks(t *testing.T) {
	for _, names := range [][]string{
		{"A001L.mov", "A001R.mov"},
		{"L001.mov", "R001.mov"},
		{"bright.mov", "bleft.mov"},
		{"leftover.mov", "rightover.mov"},
		{"LR.mov", "RL.mov"},
	} {
		clips := Search{}.pairPaths(names)
		require.Len(t, clips, 2)
		for _, c := range clips {
			require.NotEmpty(t, c.Problem, c.Name)
		}
	}
}

func TestOrphansSayWhatWasLookedFor(t *testing.T) {
	clips := Search{}.pairPaths([]string{"a/x_L.mov", "b/right eye/y.mov", "z.mov"})
	require.Equal(t, []record.Clip{
		{Name: "a/x_L", Left: "a/x_L.mov", Packing: record.Separate, Problem: "no right eye found for it: looked for a/x_R.mov"},
		{Name: "b/right eye/y", Right: "b/right eye/y.mov", Packing: record.Separate, Problem: "no left eye found for it: looked for b/left eye/y.mov"},
		{Name: "z", Left: "z.mov", Packing: record.Separate, Problem: "no other eye found, and no mark in its name says which eye it is; if it holds both, say how they are packed; if the names of the eyes differ otherwise, list them in pairs.csv"},
	}, clips)
}

func TestAmbiguousNamesAreNotGuessed(t *testing.T) {
	for _, c := range []struct {
		name  string
		files []string
		want  record.Clip
	}{
		{
			"two types for one mate",
			[]string{"a_L.mov", "a_R.mov", "a_R.mp4"},
			record.Clip{Name: "a", Left: "a_L.mov", Packing: record.Separate, Problem: "more than two files fit one another: a_R.mov, a_R.mp4; list in pairs.csv what belongs together"},
		},
		{
			"two folders for one mate",
			[]string{"L/a.mov", "R/a.mov", "right eye/a.mov", "Right/a.mov"},
			record.Clip{Name: "a", Left: "L/a.mov", Packing: record.Separate, Problem: "more than two files fit one another: R/a.mov, Right/a.mov; list in pairs.csv what belongs together"},
		},
		{
			"marks that contradict one another",
			[]string{"LEFT/a_L.mov", "LEFT/a_R.mov", "RIGHT/a_L.mov", "RIGHT/a_R.mov"},
			record.Clip{Name: "a", Left: "LEFT/a_L.mov", Right: "RIGHT/a_R.mov", Packing: record.Separate, Problem: "more than two files fit one another: LEFT/a_R.mov, RIGHT/a_L.mov; list in pairs.csv what belongs together"},
		},
		{
			"a packing and a mate",
			[]string{"a_SBS_L.mov", "a_SBS_R.mov"},
			record.Clip{Name: "a_SBS", Left: "a_SBS_L.mov", Right: "a_SBS_R.mov", Packing: record.Separate, Problem: "the name of a_SBS_L.mov is marked SBS, yet it has a mate; list in pairs.csv what belongs together"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Contains(t, Search{}.pairPaths(c.files), c.want)
		})
	}
}

func TestOriginalsAndProxiesPairByType(t *testing.T) {
	clips := Search{}.pairPaths([]string{"a_L.mov", "a_R.mov", "a_L.mp4", "a_R.mp4"})
	require.Equal(t, []record.Clip{
		{Name: "a.mov", Left: "a_L.mov", Right: "a_R.mov", Packing: record.Separate, Why: "marks _L and _R"},
		{Name: "a.mp4", Left: "a_L.mp4", Right: "a_R.mp4", Packing: record.Separate, Why: "marks _L and _R"},
	}, clips)
}

func TestMatesOnTwoCards(t *testing.T) {
	clips := Search{}.pairPaths([]string{"card1/x_L.mov", "card1/y_L.mov", "card2/x_R.mov", "card2/y_R.mov"})
	require.Len(t, clips, 2)
	require.Equal(t, record.Clip{Name: "card1/x", Left: "card1/x_L.mov", Right: "card2/x_R.mov", Packing: record.Separate, Why: "marks _L and _R in the folders card1 and card2"}, clips[0])

	// A folder that holds complete pairs too is no card of one camera.
	clips = Search{}.pairPaths([]string{"s1/x_L.mov", "s1/y_L.mov", "s1/y_R.mov", "s2/x_R.mov"})
	require.Equal(t, []record.Clip{
		{Name: "s1/x_L", Left: "s1/x_L.mov", Packing: record.Separate, Problem: "no mate beside it, but in other folders: s2/x_R.mov; list in pairs.csv what belongs together"},
		{Name: "s1/y", Left: "s1/y_L.mov", Right: "s1/y_R.mov", Packing: record.Separate, Why: "marks _L and _R"},
		{Name: "s2/x_R", Right: "s2/x_R.mov", Packing: record.Separate, Problem: "no mate beside it, but in other folders: s1/x_L.mov; list in pairs.csv what belongs together"},
	}, clips)
}

func TestSequences(t *testing.T) {
	numbered := func(pattern string, numbers ...string) []string {
		var files []string
		for _, n := range numbers {
			files = append(files, strings.Replace(pattern, "#", n, 1))
		}
		return files
	}
	for _, c := range []struct {
		name              string
		files             []string
		left, right, clip string
		why               string
	}{
		{"marks before the number", append(numbered("a_L.#.dpx", "0001", "0002", "0003"), numbered("a_R.#.dpx", "0001", "0002", "0003")...),
			"a_L.%04d.dpx", "a_R.%04d.dpx", "a", "marks _L and _R"},
		{"marks behind the number", append(numbered("a.#_L.exr", "100", "101"), numbered("a.#_R.exr", "100", "101")...),
			"a.%03d_L.exr", "a.%03d_R.exr", "a", "marks _L and _R"},
		{"numbers alone in sister folders", append(numbered("shot/L/#.tif", "1", "2"), numbered("shot/R/#.tif", "1", "2")...),
			"shot/L/%01d.tif", "shot/R/%01d.tif", "shot", "folders L and R"},
		{"widths that differ", append(numbered("a_L.#.png", "01", "02"), numbered("a_R.#.png", "0001", "0002")...),
			"a_L.%02d.png", "a_R.%04d.png", "a", "marks _L and _R"},
		{"a counter that outgrows its digits", append(numbered("a_L.#.png", "98", "99", "100"), numbered("a_R.#.png", "98", "99", "100")...),
			"a_L.%02d.png", "a_R.%02d.png", "a", "marks _L and _R"},
		{"missing pictures", append(numbered("left#.jpg", "01", "02", "04"), numbered("right#.jpg", "01", "02", "04")...),
			"left%02d.jpg", "right%02d.jpg", "clip", "marks left and right; left%02d.jpg lacks 1 of its pictures; right%02d.jpg lacks 1 of its pictures"},
		{"a percent sign", append(numbered("50%_L.#.png", "01", "02"), numbered("50%_R.#.png", "01", "02")...),
			"50%%_L.%02d.png", "50%%_R.%02d.png", "50%%", "marks _L and _R"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, []record.Clip{{Name: c.clip, Left: c.left, Right: c.right, Packing: record.Separate, Why: c.why}}, Search{}.pairPaths(c.files))
		})
	}
}

func TestPicturesThatAreNoSequence(t *testing.T) {
	// A pair of stills is footage; a picture beside a video of its name, or
	// without any mark, is not.
	clips := Search{}.pairPaths([]string{
		"still_L.png", "still_R.png",
		"a_L.mov", "a_L.jpg", "a_R.mov", "a_R.jpg", "slate.jpg",
		"photo 7.jpg", "photo 9.jpg",
	})
	require.Equal(t, []string{"a", "still"}, names(clips))
	for _, c := range clips {
		require.Empty(t, c.Problem)
	}
}

func names(clips []record.Clip) []string {
	var all []string
	for _, c := range clips {
		all = append(all, c.Name)
	}
	return all
}

func TestWhatIsNoFootageIsPassedOver(t *testing.T) {
	require.Empty(t, Search{}.pairPaths([]string{
		".hidden_L.mov", "._A001_L.mov", "A001_L.xml", "A001_L.wav", "notes.txt", "thumbs.db", "noextension", "mov", ".mov",
	}))
}

func TestPackedFiles(t *testing.T) {
	for name, want := range map[string]record.Packing{
		"a_SBS.mov": record.SideBySide, "a-side-by-side.mp4": record.SideBySide, "a.hsbs.mkv": record.SideBySide, "Side by Side 3.mov": record.SideBySide,
		"a_TB.mov": record.TopBottom, "a top-and-bottom.mov": record.TopBottom, "over-under_2.mov": record.TopBottom, "a_left_SBS.mov": record.SideBySide,
	} {
		clips := Search{}.pairPaths([]string{name})
		require.Len(t, clips, 1)
		require.Equal(t, want, clips[0].Packing, name)
		require.Equal(t, name, clips[0].Left)
		require.Empty(t, clips[0].Right)
		require.Empty(t, clips[0].Problem)
		require.Contains(t, clips[0].Why, "the mark ")
	}
	require.NotEmpty(t, Search{}.pairPaths([]string{"a_SBS_TB.mov"})[0].Problem)
	require.NotEmpty(t, Search{Packing: record.Separate}.pairPaths([]string{"a_SBS.mov"})[0].Problem)

	clips := Search{Packing: record.TopBottom}.pairPaths([]string{"a_L.mov", "a_R.mov"})
	require.Len(t, clips, 2)
	require.Equal(t, record.Clip{Name: "a_L", Left: "a_L.mov", Packing: record.TopBottom, Why: "the packing said for all files"}, clips[0])
}

func TestTagsOfSingleFiles(t *testing.T) {
	var asked []string
	p := Search{Ask: func(paths []string) (map[string]Told, error) {
		asked = append(asked, paths...)
		return map[string]Told{"b.mov": {Source: record.Source{Packing: record.TopBottom}}}, nil
	}}
	clips := p.pairPaths([]string{"a_L.mov", "a_R.mov", "b.mov", "c.mov", "d_SBS.mov"})
	require.Equal(t, []string{"b.mov", "c.mov"}, asked)
	require.Equal(t, record.Clip{Name: "b", Left: "b.mov", Packing: record.TopBottom, Why: "the file's own stereo tags"}, clips[1])
	require.NotEmpty(t, clips[2].Problem)
}

func TestManifestOverridesNames(t *testing.T) {
	m := manifest{Path: "day/pairs.csv", Rows: []manifestRow{
		{Line: 2, Left: "day/a_R.mov", Right: "day/a_L.mov", Packing: record.Separate},
		{Line: 3, Left: "day/x.mov", Packing: record.SideBySide, Name: "both\x1b[31m"},
		{Line: 4, Left: "day/y.mov", Right: "day/gone.mov", Packing: record.Separate},
		{Line: 5, Left: "day/x.mov", Right: "day/z.mov", Packing: record.Separate},
		{Line: 6, Left: "day/s_L.0001.dpx", Right: "day/s_R.%04d.dpx", Packing: record.Separate},
		{Line: 7, Left: "day/odd.footage", Right: "day/odder.footage", Packing: record.Separate, Name: "both"},
	}}
	clips := Search{}.pairPaths([]string{
		"day/a_L.mov", "day/a_R.mov", "day/b_L.mov", "day/b_R.mov", "day/x.mov", "day/y.mov", "day/z.mov",
		"day/s_L.0001.dpx", "day/s_L.0002.dpx", "day/s_R.0001.dpx", "day/s_R.0002.dpx",
		"day/odd.footage", "day/odder.footage",
	}, m)
	require.Equal(t, []record.Clip{
		{Name: "both", Left: "day/odd.footage", Right: "day/odder.footage", Packing: record.Separate, Why: "pairs.csv line 7"},
		{Name: "both_[31m", Left: "day/x.mov", Packing: record.SideBySide, Why: "pairs.csv line 3"},
		{Name: "day/a", Left: "day/a_R.mov", Right: "day/a_L.mov", Packing: record.Separate, Why: "pairs.csv line 2"},
		{Name: "day/b", Left: "day/b_L.mov", Right: "day/b_R.mov", Packing: record.Separate, Why: "marks _L and _R"},
		{Name: "day/s", Left: "day/s_L.%04d.dpx", Right: "day/s_R.%04d.dpx", Packing: record.Separate, Why: "pairs.csv line 6"},
		{Name: "day/y", Left: "day/y.mov", Packing: record.Separate, Why: "pairs.csv line 4", Problem: "pairs.csv line 4: no such file: day/gone.mov"},
		{Name: "day/z", Right: "day/z.mov", Packing: record.Separate, Why: "pairs.csv line 5", Problem: "pairs.csv line 5: day/x.mov is in pairs.csv line 3 already"},
	}, clips)
}

func TestNamesAreUniqueInAnyCase(t *testing.T) {
	clips := Search{}.pairPaths([]string{"a_L.mov", "a_R.mov", "A_L.mov", "A_R.mov", "a-L.mov", "a-R.mov"})
	require.Len(t, clips, 3)
	seen := map[string]bool{}
	for _, c := range clips {
		require.Empty(t, c.Problem)
		require.False(t, seen[strings.ToLower(c.Name)], c.Name)
		seen[strings.ToLower(c.Name)] = true
	}
}

func TestPathsThatNoRecordCanHold(t *testing.T) {
	clips := Search{}.pairPaths([]string{"caf\xe9_L.mov", "caf\xe9_R.mov"})
	require.Len(t, clips, 2)
	for _, c := range clips {
		require.True(t, utf8.ValidString(c.Name))
		require.Equal(t, "its name is not valid UTF-8: rename the file", c.Problem)
	}
}

// FuzzPair holds that pairing never panics, that no file is used twice or lost,
// and that the order in which files are found changes nothing.
func FuzzPair(f *testing.F) {
	f.Add("a_L.mov\na_R.mov\nb.mov", uint64(1))
	f.Add("L/a.mov\nR/a.mov\nright eye/a.mov\nleft/L/R/l_r.mov", uint64(2))
	f.Add("s_L.0001.dpx\ns_L.0002.dpx\ns_R.0001.dpx\ns_R.0002.dpx\ns_R.9999.dpx\ns_R.10000.dpx", uint64(3))
	f.Add("LEFT/a_L.mov\nLEFT/a_R.mov\nRIGHT/a_L.mov\nRIGHT/a_R.mov\nRIGHT/a_R.mp4", uint64(4))
	f.Add("card1/x_L.mov\ncard2/x_R.mov\ncard3/x_R.mov\nx_SBS.mov\nx_TB_SBS.mov", uint64(5))
	f.Add("L.mov\nR.mov\n/L/R/L/R/L/R/L/R.mov\n%04d_L.png\n%05d_L.png\n\xff_L.mov\n..\n.\n/", uint64(6))
	f.Add("LEFT/C1.mov\nLEFT/C2.mov\nLEFT/Proxy/C2.mp4\nRIGHT/C2.mov\nRIGHT/C3.mov\nRIGHT/C4.mov", uint64(7))
	f.Add("L001/GX010001.mp4\nL001/GX020001.mp4\nR002/GX010005.mp4\nR002/GX020005.mp4\nday/x/1.mov\nday/y/2.mov", uint64(8))
	f.Fuzz(func(t *testing.T, text string, seed uint64) {
		files := strings.Split(text, "\n")
		if len(files) > 60 {
			return
		}
		aside := ""
		cards := Search{
			Aside: func(path, _ string) { aside += path + "\n" },
			Ask: func(paths []string) (map[string]Told, error) {
				told := map[string]Told{}
				for _, path := range paths {
					told[path] = drawnTags(path, seed)
				}
				return told, nil
			},
		}
		for _, search := range []Search{{}, cards} {
			holdPairs(t, files, search.pairPaths(files), &aside)
		}
		shuffled := slices.Clone(files)
		rand.New(rand.NewPCG(seed, 0)).Shuffle(len(shuffled), func(i, j int) {
			shuffled[i], shuffled[j] = shuffled[j], shuffled[i]
		})
		for _, search := range []Search{{}, cards} {
			require.Equal(t, search.pairPaths(files), search.pairPaths(shuffled))
		}
	})
}

// drawnTags makes up what a file says of itself from its path.
func drawnTags(path string, seed uint64) Told {
	hash := fnv.New64a()
	fmt.Fprint(hash, path, seed)
	rng := rand.New(rand.NewPCG(hash.Sum64(), 7))
	if rng.IntN(20) == 0 {
		return Told{Problem: "broken"}
	}
	at := float64(rng.IntN(6)) * 100
	told := tagged(at, at+float64(rng.IntN(2)*3600), 20+float64(rng.IntN(3)))
	if rng.IntN(4) == 0 {
		told.Source.Timecode = ""
	}
	if rng.IntN(4) == 0 {
		told.Source.Width, told.Source.Height = 320, 180
	}
	return told
}

// holdPairs holds that no file is used twice or lost, save those that were set aside.
func holdPairs(t *testing.T, files []string, clips []record.Clip, aside *string) {
	used := map[string]int{}
	mentioned := ""
	seen := map[string]bool{}
	for _, c := range clips {
		for _, path := range []string{c.Left, c.Right} {
			if path != "" {
				used[path]++
			}
		}
		mentioned += c.Problem + "\n"
		require.NotEmpty(t, c.Name)
		require.True(t, utf8.ValidString(c.Name))
		require.False(t, seen[strings.ToLower(c.Name)])
		seen[strings.ToLower(c.Name)] = true
		if c.Problem == "" {
			require.NotEmpty(t, c.Why)
			require.NotEmpty(t, c.Left)
			require.Equal(t, c.Packing == record.Separate, c.Right != "")
		}
	}
	for path, n := range used {
		require.Equal(t, 1, n, path)
	}
	for _, path := range files {
		path = filepath.Clean(path)
		if isFootage(path) && videoTypes[strings.ToLower(filepath.Ext(path))] {
			require.True(t, used[path] == 1 || strings.Contains(mentioned, path) || strings.Contains(*aside, path), "%q was lost", path)
		}
	}
}
