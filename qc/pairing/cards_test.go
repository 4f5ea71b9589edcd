package pairing

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/qc/record"
	"nightpair/qc/takes"
)

// tagged says what a file tells: when it was taken, counted in seconds from ten o'clock by
// timecode and by the camera's clock, and for how long.
func tagged(at, clock, length float64) Told {
	label := func(seconds float64) string {
		frames := int(36000*25 + seconds*25 + 0.5)
		return fmt.Sprintf("%02d:%02d:%02d:%02d", frames/25/3600, frames/25/60%60, frames/25%60, frames%25)
	}
	s := record.Source{Width: 1920, Height: 1080, Frames: int(length*25 + 0.5), RateNum: 25, RateDen: 1}
	if at >= 0 {
		s.Timecode = label(at)
	}
	if clock >= 0 {
		s.Created = time.Date(2031, 5, 6, 10, 0, 0, 0, time.UTC).Add(time.Duration(clock * float64(time.Second)))
	}
	return Told{Source: s}
}

// asking answers for files by what they are told to say.
func asking(told map[string]Told) func([]string) (map[string]Told, error) {
	return func([]string) (map[string]Told, error) { return told, nil }
}

// paired returns the pairs as left=right, and the paths of what has a problem.
func paired(clips []record.Clip) (pairs, problems []string) {
	for _, c := range clips {
		if c.Problem == "" {
			pairs = append(pairs, c.Left+"="+c.Right)
		} else {
			problems = append(problems, strings.TrimPrefix(c.Left+c.Right, "="))
		}
	}
	return pairs, problems
}

// Cards on which counters do not agree.
func TestCards(t *testing.T) {
	for _, c := range []struct {
		name     string
		told     map[string]Told
		pairs    []string
		problems []string
	}{
		{
			"a false start on the left",
			map[string]Told{
				"LEFT/C0001.MOV": tagged(0, 0, 4), "LEFT/C0002.MOV": tagged(30, 30, 40), "LEFT/C0003.MOV": tagged(100, 100, 25),
				"RIGHT/C0037.MOV": tagged(28, 7228, 44), "RIGHT/C0038.MOV": tagged(101, 7301, 24),
			},
			[]string{"LEFT/C0002.MOV=RIGHT/C0037.MOV", "LEFT/C0003.MOV=RIGHT/C0038.MOV"},
			[]string{"LEFT/C0001.MOV"},
		},
		{
			"counters that agree by chance",
			map[string]Told{
				"LEFT/C0001.MOV": tagged(0, 0, 30), "LEFT/C0002.MOV": tagged(60, 60, 20), "LEFT/C0003.MOV": tagged(130, 130, 45),
				"RIGHT/C0002.MOV": tagged(1, 1, 30), "RIGHT/C0003.MOV": tagged(61, 61, 20), "RIGHT/C0004.MOV": tagged(131, 131, 45),
			},
			[]string{"LEFT/C0001.MOV=RIGHT/C0002.MOV", "LEFT/C0002.MOV=RIGHT/C0003.MOV", "LEFT/C0003.MOV=RIGHT/C0004.MOV"},
			nil,
		},
		{
			"the same names, and tags that say nothing",
			map[string]Told{
				"LEFT/a.mov": tagged(-1, -1, 30), "LEFT/b.mov": tagged(-1, -1, 30),
				"RIGHT/a.mov": tagged(-1, -1, 30), "RIGHT/c.mov": tagged(-1, -1, 30),
			},
			[]string{"LEFT/a.mov=RIGHT/a.mov"},
			[]string{"LEFT/b.mov", "RIGHT/c.mov"},
		},
		{
			"reels called by their eye, a proxy and a file that cannot be read",
			map[string]Told{
				"day/L001/A1.mxf": tagged(0, -1, 30), "day/L001/Sub/A1S03.mp4": {Source: record.Source{Width: 640, Height: 360, Frames: 750, RateNum: 25, RateDen: 1}},
				"day/R007/B9.mxf": tagged(1, -1, 30), "day/R007/B8.mxf": {Problem: "truncated"},
			},
			[]string{"day/L001/A1.mxf=day/R007/B9.mxf"},
			[]string{"day/R007/B8.mxf"},
		},
		{
			"nothing says which eye is which",
			map[string]Told{"A/x.mov": tagged(0, 0, 30), "B/y.mov": tagged(1, 1, 30)},
			nil, []string{"A/x.movB/y.mov"},
		},
		{
			"two rigs at once",
			map[string]Told{
				"big_L/a.mov": tagged(0, -1, 30), "big_R/b.mov": tagged(0, -1, 30),
				"small_L/c.mov": tagged(1, -1, 30), "small_R/d.mov": tagged(1, -1, 30),
			},
			[]string{"big_L/a.mov=big_R/b.mov", "small_L/c.mov=small_R/d.mov"},
			nil,
		},
		{
			"chapters on both sides",
			map[string]Told{
				"L/GX010007.mp4": tagged(0, 0, 600), "L/GX020007.mp4": tagged(600, 600, 100), "L/GX010008.mp4": tagged(900, 900, 50),
				"R/GX010003.mp4": tagged(4, 4, 600), "R/GX020003.mp4": tagged(604, 604, 97), "R/GX010004.mp4": tagged(902, 902, 50),
			},
			[]string{"L/GX010007.mp4=R/GX010003.mp4", "L/GX010008.mp4=R/GX010004.mp4", "L/GX020007.mp4=R/GX020003.mp4"},
			nil,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			var files []string
			for path := range c.told {
				files = append(files, path)
			}
			pairs, problems := paired(Search{Ask: asking(c.told)}.pairPaths(files))
			require.Equal(t, c.pairs, pairs)
			require.ElementsMatch(t, c.problems, problems)
		})
	}
}

// What tags leave open is listened to, and looked at only where that does not settle it.
func TestOpenTakesAreListenedTo(t *testing.T) {
	told := map[string]Told{}
	var files []string
	for i := range 4 {
		for _, card := range []string{"LEFT/C%04d.MOV", "RIGHT/D%04d.MOV"} {
			path := fmt.Sprintf(card, i)
			told[path] = tagged(-1, -1, 30)
			files = append(files, path)
		}
	}
	clips := Search{Ask: asking(told)}.pairPaths(files)
	pairs, problems := paired(clips)
	require.Empty(t, pairs)
	require.Len(t, problems, 8)
	require.Contains(t, clips[0].Problem, "add to pairs.csv the line LEFT/C0000.MOV,RIGHT/D000")

	// The sound of a take is its number's; the first right take lies a second later.
	voice := func(path string, shift int) takes.Shown {
		number := int(path[len(path)-5] - '0')
		state := uint32(1000 + number)
		var s takes.Shown
		for range 30*takes.SoundRate + 50 {
			state = state*1664525 + 1013904223
			s.Sound = append(s.Sound, float64(state>>16))
		}
		s.Sound = s.Sound[shift : shift+30*takes.SoundRate]
		return s
	}
	listened, watched := 0, 0
	clips = Search{
		Ask: asking(told),
		Listen: func(paths []string) (map[string]takes.Shown, error) {
			shown := map[string]takes.Shown{}
			for _, path := range paths {
				shift := 0
				if strings.HasPrefix(path, "RIGHT") {
					shift = takes.SoundRate
				}
				shown[path] = voice(path, shift)
				listened++
			}
			return shown, nil
		},
		Watch: func(paths []string) (map[string]takes.Shown, error) {
			watched += len(paths)
			return nil, nil
		},
	}.pairPaths(files)
	pairs, problems = paired(clips)
	require.Len(t, pairs, 4)
	require.Empty(t, problems)
	for _, pair := range pairs {
		require.Equal(t, pair[len("LEFT/C"):len("LEFT/C")+4], pair[strings.Index(pair, "D")+1:][:4])
	}
	require.Contains(t, clips[0].Why, "sounds that correlate by 1.00, the right eye beginning 1.0 s later")
	require.Equal(t, 8, listened)
	require.Zero(t, watched)
}

func TestCardsByFlagsAndRigs(t *testing.T) {
	day := t.TempDir()
	lay(t, day, map[string]string{
		"one/C0001.mov": "", "one/C0002.mov": "", "two/C0009.mov": "", "two/C0010.mov": "",
		"same/a/x.mov": "", "same/b/x.mov": "",
	})
	at := func(path string) string { return filepath.Join(day, filepath.FromSlash(path)) }
	told := map[string]Told{
		at("one/C0001.mov"): tagged(0, -1, 20), at("one/C0002.mov"): tagged(60, -1, 25),
		at("two/C0009.mov"): tagged(1, -1, 20), at("two/C0010.mov"): tagged(61, -1, 25),
		at("same/a/x.mov"): tagged(-1, -1, 20), at("same/b/x.mov"): tagged(-1, -1, 22),
	}
	want := []string{at("two/C0009.mov") + "=" + at("one/C0001.mov"), at("two/C0010.mov") + "=" + at("one/C0002.mov")}

	clips, err := Search{Ask: asking(told), Left: []string{at("two")}, Right: []string{at("one")}}.Clips()
	require.NoError(t, err)
	pairs, _ := paired(clips)
	require.Equal(t, want, pairs)
	require.Contains(t, clips[0].Why, "eyes by --left and --right")
	require.Greater(t, clips[0].Sure, 0.99)

	// The same names throughout say something where nothing else does.
	clips, err = Search{Ask: asking(told), Left: []string{at("same/a")}, Right: []string{at("same/b")}}.Clips()
	require.NoError(t, err)
	pairs, _ = paired(clips)
	require.Equal(t, []string{at("same/a/x.mov") + "=" + at("same/b/x.mov")}, pairs)

	// They do not where the tags surely say otherwise.
	lay(t, day, map[string]string{"a/c1.mov": "", "a/c2.mov": "", "a/c3.mov": "", "b/c1.mov": "", "b/c2.mov": "", "b/c3.mov": ""})
	shifted := map[string]Told{}
	for i := range 3 {
		shifted[at(fmt.Sprintf("a/c%d.mov", i+1))] = tagged(float64(i*i+i)*50, -1, 20+float64(5*i))
		shifted[at(fmt.Sprintf("b/c%d.mov", i+1))] = tagged(float64((i+1)*(i+2))*50, -1, 25+float64(5*i))
	}
	clips, err = Search{Ask: asking(shifted), Left: []string{at("a")}, Right: []string{at("b")}}.Clips()
	require.NoError(t, err)
	pairs, _ = paired(clips)
	require.Equal(t, []string{at("a/c2.mov") + "=" + at("b/c1.mov"), at("a/c3.mov") + "=" + at("b/c2.mov")}, pairs)

	for _, flags := range []Search{{Left: []string{at("one")}, Right: []string{at("one")}}, {Left: []string{at("gone")}}, {Left: []string{at("one/C0001.mov")}}} {
		_, err := flags.Clips()
		require.Error(t, err)
	}

	// By folder, and by what the files are tagged with.
	for _, rigs := range []string{"camera,eye\none,right\n", "camera,eye,rig,focal_mm\nTwin 7,L,big,32\n"} {
		require.NoError(t, os.WriteFile(at(RigsName), []byte(rigs), 0o644))
		for _, path := range []string{"two/C0009.mov", "two/C0010.mov"} {
			tags := told[at(path)]
			tags.Source.Camera = "Lumenwerk Twin 7"
			told[at(path)] = tags
		}
		clips, err := Search{Ask: asking(told), Skip: []string{at("same"), at("a"), at("b")}}.Clips(day)
		require.NoError(t, err)
		pairs, problems := paired(clips)
		require.Empty(t, problems, rigs)
		require.Equal(t, want, pairs, rigs)
	}
	for text, problem := range map[string]string{
		"camera,eye\none,up\n": "rigs.csv:2: eye up: it is left or right", "eye\nleft\n": "no column \"camera\"",
		"camera,focal_mm\none,wide\n": "focal_mm wide: it must be", "camera\n\"\"\n": "no camera",
	} {
		require.NoError(t, os.WriteFile(at(RigsName), []byte(text), 0o644))
		_, err := Search{Ask: asking(told)}.Clips(day)
		require.ErrorContains(t, err, problem)
	}
}

// A manifest that was written is read as the same pairs.
func TestManifestIsReadAsItWasWritten(t *testing.T) {
	day := t.TempDir()
	lay(t, day, map[string]string{"a, b/#1.mov": "", "#x/2.mov": "", "3.mov": "", "new\nline.mov": ""})
	at := func(path string) string { return filepath.Join(day, filepath.FromSlash(path)) }
	clips := []record.Clip{
		{Name: "first", Left: at("a, b/#1.mov"), Right: at("#x/2.mov"), Packing: record.Separate, Why: "a reason\nin two lines"},
		{Name: "second", Left: at("3.mov"), Packing: record.SideBySide, Why: "mark"},
		{Name: "third", Left: at("new\nline.mov"), Packing: record.Separate, Problem: "alone"},
	}
	var b bytes.Buffer
	require.NoError(t, WriteManifest(&b, day, clips))
	m, err := parseManifest(&b, at(ManifestName))
	require.NoError(t, err)
	require.Len(t, m.Rows, 2)
	for i, row := range m.Rows {
		require.Equal(t, clips[i].Left, row.Left)
		require.Equal(t, clips[i].Right, row.Right)
		require.Equal(t, clips[i].Packing, row.Packing)
		require.Equal(t, clips[i].Name, row.Name)
	}
}

func TestShootingOrder(t *testing.T) {
	shots := func(told map[string]Told) []string {
		var list []shot
		for path, told := range told {
			list = append(list, shot{element: element{file: file{path: path}}, told: told})
		}
		inShootingOrder(list)
		var paths []string
		for _, s := range list {
			paths = append(paths, s.path)
		}
		return paths
	}
	for _, c := range []struct {
		name string
		told map[string]Told
		want []string
	}{
		{"numbers by value", map[string]Told{"c9.mov": {}, "c10.mov": {}, "c1.mov": {}}, []string{"c1.mov", "c9.mov", "c10.mov"}},
		{"a clock that was set back", map[string]Told{"c1.mov": tagged(-1, 5000, 9), "c2.mov": tagged(-1, 6000, 9), "c3.mov": tagged(-1, 10, 9), "c4.mov": tagged(-1, 70, 9), "c5.mov": tagged(-1, 99, 9), "c6.mov": tagged(-1, 200, 9), "c7.mov": tagged(-1, 300, 9)},
			[]string{"c1.mov", "c2.mov", "c3.mov", "c4.mov", "c5.mov", "c6.mov", "c7.mov"}},
		{"a counter that began again", map[string]Told{"c9998.mov": tagged(-1, 10, 9), "c9999.mov": tagged(-1, 50, 9), "c0001.mov": tagged(-1, 90, 9)}, []string{"c9998.mov", "c9999.mov", "c0001.mov"}},
		{"names that are no counter", map[string]Told{"z.mov": tagged(-1, 10, 9), "b.mov": tagged(-1, 50, 9), "k.mov": tagged(-1, 90, 9), "a.mov": tagged(-1, 120, 9)}, []string{"z.mov", "b.mov", "k.mov", "a.mov"}},
		{"cards", map[string]Told{"x/c1.mov": tagged(-1, 500, 9), "y/c1.mov": tagged(-1, 50, 9)}, []string{"y/c1.mov", "x/c1.mov"}},
		{"chapters", map[string]Told{"GX010001.mp4": {}, "GX020001.mp4": {}, "GX010002.mp4": {}, "GOPR0003.mp4": {}, "GP010003.mp4": {}}, []string{"GX010001.mp4", "GX020001.mp4", "GX010002.mp4", "GOPR0003.mp4", "GP010003.mp4"}},
	} {
		require.Equal(t, c.want, shots(c.told), c.name)
	}
}
