package main

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/measure"
	"nightpair/qc/record"
	"nightpair/qc/takes"
)

// Two cards as cameras write them: counters that do not agree, a false start on one, a proxy
// and the files of another system beside the clips.
func TestTwoCards(t *testing.T) {
	dir := t.TempDir()
	card := func(eye, path string, take int, begins string) {
		path = filepath.Join(dir, path)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o777))
		plain := filepath.Join(t.TempDir(), "plain.mov")
		shot{frames: 12 + 6*take, right: -4, seed: uint64(take)}.write(t, plain, eye)
		ffmpeg(t, nil, "-i", plain, "-c", "copy", "-timecode", begins, "-metadata",
			"creation_time=2031-05-06T"+begins[:8]+"Z", path)
	}
	for take, at := range []string{"10:00:00", "10:03:10", "10:07:00"} {
		card("left", fmt.Sprintf("A001/CLIP/C%04d.MOV", take+2), take, at+":00")
		card("right", fmt.Sprintf("B001/CLIP/C%04d.MOV", take+37), take, at+":00")
	}
	card("left", "A001/CLIP/C0001.MOV", 0, "09:58:00:00")
	proxy := filepath.Join(dir, "A001", "SUB", "C0002S03.MP4")
	require.NoError(t, os.MkdirAll(filepath.Dir(proxy), 0o777))
	ffmpeg(t, nil, "-i", filepath.Join(dir, "A001/CLIP/C0002.MOV"), "-vf", "scale=120:-2", "-c:v", "libx264", proxy)
	for _, name := range []string{"A001/CLIP/._C0002.MOV", "A001/CLIP/C0002.XML", "B001/MEDIAPRO.XML"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte("?"), 0o666))
	}
	cards := []string{"--left", "A001", "--right", "B001"}

	got := nightpair(t, dir, append([]string{"pairs", "--write", "day.csv"}, cards...)...)
	require.Equal(t, 3, got.code, "%+v", got)
	require.Contains(t, got.out, "left   A001/CLIP/C0003.MOV\n  right  B001/CLIP/C0038.MOV\n  because of timecode that overlaps by 0.8 s; eyes by --left and --right; sure to 99.9")
	require.Contains(t, got.out, "left   A001/CLIP/C0001.MOV\n  not measurable: only this camera has the take")
	require.Contains(t, got.out, "set aside as small copies of other files: 1, such as A001/SUB/C0002S03.MP4\n")
	require.Equal(t, 3, strings.Count(got.out, "because of"), got.out)
	require.Empty(t, got.errors)

	written, err := os.ReadFile(filepath.Join(dir, "day.csv"))
	require.NoError(t, err)
	again := nightpair(t, dir, append([]string{"pairs", "--write", "day.csv"}, cards...)...)
	require.Equal(t, 2, again.code, "%+v", again)
	listed := nightpair(t, dir, "pairs", "day.csv", "--json")
	require.Equal(t, 0, listed.code, "%+v", listed)
	require.Equal(t, 3, strings.Count(listed.out, `"why":"day.csv line `), "%s\n%s", listed.out, written)
	unknown := nightpair(t, dir, "pairs", "A001", "B001")
	require.Equal(t, 3, unknown.code)
	require.Contains(t, unknown.out, "yet nothing says which is the left eye")

	got = nightpair(t, dir, append([]string{"check", "--quiet", "--samples", "3"}, cards...)...)
	require.Equal(t, 3, got.code, "%+v", got)
	file, err := os.Open(filepath.Join(dir, defaultOut, "clips.csv"))
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	measured := 0
	for _, row := range rows[1:] {
		if row[1] != "unmeasured" {
			measured++
			require.Equal(t, "A001", filepath.ToSlash(row[2])[:4])
			require.Equal(t, "B001", filepath.ToSlash(row[3])[:4])
		}
	}
	require.Equal(t, 3, measured, "%v", rows)
}

// Files that say nothing of when they were taken are listened to and looked at.
func TestCardsBySoundAndPicture(t *testing.T) {
	for _, sound := range []bool{true, false} {
		dir := t.TempDir()
		const number = 3
		for take := range number {
			// Light and loudness go up and down irregularly, in each take otherwise.
			k := float64(take)
			wave := fmt.Sprintf("(sin(%g*t)+sin(%g*t+1)+sin(%g*t+2))/3", 3+0.7*k, 7.1-1.3*k, 11.3+0.9*k)
			light := "color=gray:s=96x54:r=24:d=20,eq=brightness='0.3*" + wave + "':eval=frame,noise=alls=6:allf=t"
			for eye, from := range map[string]float64{"LEFT/A%d.mov": 0, "RIGHT/Z%d.mov": 3} {
				path := filepath.Join(dir, fmt.Sprintf(eye, take+4*len(eye)))
				require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o777))
				args := []string{"-f", "lavfi", "-i", light}
				if sound {
					loud := "anoisesrc=d=20:seed=7,volume='0.6+0.5*" + wave + "':eval=frame"
					args = append(args, "-f", "lavfi", "-i", loud, "-c:a", "pcm_s16le")
				}
				ffmpeg(t, nil, append(args, "-ss", fmt.Sprint(from), "-t", "15", "-c:v", "mjpeg", "-q:v", "3", "-pix_fmt", "yuvj420p", "-fflags", "+bitexact", path)...)
			}
		}
		got := nightpair(t, dir, "pairs", ".")
		require.Equal(t, 0, got.code, "%+v", got)
		require.Equal(t, number, strings.Count(got.out, "the right eye beginning 3.0 s later"), got.out)
		for take := range number {
			require.Contains(t, got.out, fmt.Sprintf("left   LEFT/A%d.mov\n  right  RIGHT/Z%d.mov\n", take+4*len("LEFT/A%d.mov"), take+4*len("RIGHT/Z%d.mov")))
		}
	}
}

// Takes cut at random from a real street, of which each camera has its own recompressed
// picture, pair by that picture alone, and no other two do. Some takes only one camera has.
func TestCutsFromAStreetPairByPicture(t *testing.T) {
	dir := t.TempDir()
	watched := func(name string, args ...string) takes.Shown {
		path := filepath.Join(dir, name)
		ffmpeg(t, nil, append(append([]string{"-i", street}, args...), path)...)
		reply := measure.Answer(t.Context(), measure.Job{Clip: record.Clip{Left: path}, Ask: measure.AskPictures}, open, ask)
		require.Empty(t, reply.Problem)
		return reply.Shown
	}
	left := watched("left.mp4", "-c:v", "libx264", "-preset", "veryfast", "-crf", "24")
	right := watched("right.mp4", "-vf", "crop=760:570:8:4,eq=contrast=1.1,noise=alls=4:allf=t", "-c:v", "mpeg4", "-q:v", "4")
	const rate = takes.PictureRate
	seconds := len(left.Light) / rate
	cut := func(s takes.Shown, from, to int) takes.Comparable {
		return takes.Shown{Light: s.Light[from*rate : to*rate], Motion: s.Motion[from*rate : to*rate]}.Comparable()
	}
	random := rand.New(rand.NewPCG(19, 79))
	there, made := 0, 0
	for range 40 {
		type eye struct {
			tags   []takes.Take
			shown  []takes.Comparable
			begins []int
			number []int
		}
		var l, r eye
		add := func(e *eye, s takes.Shown, number, from, to int) {
			e.tags = append(e.tags, takes.Take{Timecode: math.NaN(), Created: math.NaN(), Length: float64(to - from)})
			e.shown, e.begins, e.number = append(e.shown, cut(s, from, to)), append(e.begins, from), append(e.number, number)
		}
		const slot = 19
		for number := range seconds / slot {
			from, to := number*slot, (number+1)*slot
			lacks := random.IntN(6)
			if lacks != 0 {
				add(&l, left, number, from+random.IntN(4), to-random.IntN(3))
			}
			if lacks != 1 {
				add(&r, right, number, from+random.IntN(4), to-random.IntN(3))
			}
		}
		compared := func(i, j int) takes.Compared { return takes.Compare(l.shown[i], r.shown[j]) }
		found := takes.Align(l.tags, r.tags, func(i, j int) float64 { return compared(i, j).Evidence })
		for i, number := range l.number {
			if slices.Contains(r.number, number) {
				there++
			}
			if c, ok := found.Pair(i); ok {
				require.Equal(t, number, r.number[c.Right], "%v %v", l, r)
				require.InDelta(t, r.begins[c.Right]-l.begins[i], compared(i, c.Right).Apart, 0.2)
				made++
			}
		}
	}
	t.Logf("%d of %d pairs", made, there)
	require.GreaterOrEqual(t, float64(made), 0.9*float64(there))
}
