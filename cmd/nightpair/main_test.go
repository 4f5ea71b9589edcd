package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// These tests run the whole program. Whatever process they start from this
// test binary is nightpair: the children of a night, and the program itself
// where it is to be killed.
const asProgram = "NIGHTPAIR_TEST_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
		return
	}
	os.Setenv(asProgram, "1")
	os.Exit(m.Run())
}

// program returns nightpair as a process of its own, to be run in the folder
// dir.
func program(t *testing.T, dir string, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	t.Cleanup(cancel)
	cmd := exec.CommandContext(ctx, self, args...)
	cmd.Dir = dir
	return cmd
}

// started starts nightpair as a process of its own and gives the lines that it
// writes to standard error.
func started(t *testing.T, dir string, args ...string) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	cmd := program(t, dir, args...)
	stderr, err := cmd.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	return cmd, bufio.NewScanner(stderr)
}

// ran is what became of a command line.
type ran struct {
	code        int
	out, errors string
}

// nightpair runs a command line in the folder dir.
func nightpair(t *testing.T, dir string, args ...string) ran {
	t.Helper()
	t.Chdir(dir)
	var out, errs bytes.Buffer
	code := run(t.Context(), args, strings.NewReader(""), &out, &errs)
	return ran{code, out.String(), errs.String()}
}

// shot is a clip to be drawn: a textured plane, the same in all frames but for
// a little noise.
type shot struct {
	frames       int
	right, lower int // pixels by which the right eye's picture lies to the right and lower
	seed         uint64
}

const shotWidth, shotHeight = 480, 270

// drawnShots keeps what was encoded once.
var drawnShots = map[string][]byte{}

// write encodes one eye's picture of the shot, or both side by side.
func (s shot) write(t *testing.T, path string, eyes ...string) {
	t.Helper()
	key := fmt.Sprint(s, eyes)
	if drawnShots[key] == nil {
		s.encode(t, path, eyes)
		video, err := os.ReadFile(path)
		require.NoError(t, err)
		drawnShots[key] = video
	}
	require.NoError(t, os.WriteFile(path, drawnShots[key], 0o666))
}

func (s shot) encode(t *testing.T, path string, eyes []string) {
	t.Helper()
	const margin = 40
	texture := s.texture(shotWidth+2*margin, shotHeight+2*margin)
	var raw bytes.Buffer
	random := rand.New(rand.NewPCG(s.seed, uint64(len(eyes[0]))))
	for range s.frames {
		for y := range shotHeight {
			for _, eye := range eyes {
				dx, dy := margin, margin
				if eye == "right" {
					dx, dy = margin-s.right, margin-s.lower
				}
				row := texture[(y+dy)*(shotWidth+2*margin)+dx:][:shotWidth]
				for _, v := range row {
					raw.WriteByte(uint8(v + 2*random.Float64()))
				}
			}
		}
	}
	ffmpeg(t, &raw, "-f", "rawvideo", "-pix_fmt", "gray", "-r", "24",
		"-s", fmt.Sprintf("%dx%d", shotWidth*len(eyes), shotHeight), "-i", "-",
		"-c:v", "mjpeg", "-q:v", "2", "-pix_fmt", "yuvj420p", "-timecode", "01:00:00:00", path)
}

// texture draws random blots of all sizes, from 30 to 220.
func (s shot) texture(width, height int) []float64 {
	random := rand.New(rand.NewPCG(s.seed, 1))
	out := make([]float64, width*height)
	for i := range out {
		out[i] = 125
	}
	for range 2500 {
		cx, cy := random.IntN(width), random.IntN(height)
		radius := 2 + random.IntN(12)
		step := 90 * (random.Float64() - 0.5)
		for y := max(cy-radius, 0); y < min(cy+radius, height); y++ {
			for x := max(cx-radius, 0); x < min(cx+radius, width); x++ {
				if d := (x-cx)*(x-cx) + (y-cy)*(y-cy); d < radius*radius {
					v := &out[y*width+x]
					*v = min(max(*v+step, 30), 220)
				}
			}
		}
	}
	return out
}

func (s shot) pair(t *testing.T, dir, name string) {
	t.Helper()
	s.write(t, filepath.Join(dir, name+"_L.mov"), "left")
	s.write(t, filepath.Join(dir, name+"_R.mov"), "right")
}

func ffmpeg(t *testing.T, in io.Reader, args ...string) {
	t.Helper()
	path, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Fatal("these tests need the program ffmpeg: install the Debian package ffmpeg")
	}
	cmd := exec.Command(path, append([]string{"-v", "error", "-nostdin", "-y"}, args...)...)
	cmd.Stdin = in
	said, err := cmd.CombinedOutput()
	require.NoError(t, err, string(said))
}

// tables returns the report's CSV files.
func tables(t *testing.T, out string) map[string]string {
	t.Helper()
	contents := map[string]string{}
	for _, name := range []string{"clips.csv", "findings.csv", "samples.csv"} {
		text, err := os.ReadFile(filepath.Join(out, name))
		require.NoError(t, err)
		contents[name] = string(text)
	}
	return contents
}

// verdicts returns the second column of clips.csv by the first.
func verdicts(t *testing.T, out string) map[string]string {
	t.Helper()
	byClip := map[string]string{}
	for _, line := range strings.Split(strings.TrimSpace(tables(t, out)["clips.csv"]), "\n")[1:] {
		cells := strings.SplitN(line, ",", 3)
		byClip[cells[0]] = cells[1]
	}
	return byClip
}
