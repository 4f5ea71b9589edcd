package decode

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/asticode/go-astiav"
	"github.com/stretchr/testify/require"
)

// The shim reads the pointer that go-astiav keeps in the first field.
func TestBindingKeepsItsPointerFirst(t *testing.T) {
	for _, v := range []any{astiav.FormatContext{}, astiav.CodecContext{}, astiav.Packet{}} {
		kind := reflect.TypeOf(v)
		require.Equal(t, "c", kind.Field(0).Name, kind.Name())
		require.Equal(t, reflect.Pointer, kind.Field(0).Type.Kind(), kind.Name())
	}
}

func TestFilesThatAreNoVideo(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		return path
	}
	tone := filepath.Join(dir, "tone.m4a")
	ffmpeg(t, 1, "-f", "lavfi", "-i", "sine=duration=0.2", "-map", "1:a", "-c:a", "aac", tone)
	cover := filepath.Join(dir, "cover.mp3")
	ffmpeg(t, 1, "-f", "lavfi", "-i", "sine=duration=0.2", "-map", "1:a", "-map", "0:v", "-frames:v", "1", "-c:a", "libmp3lame", "-c:v", "mjpeg", "-pix_fmt", "yuvj420p", cover)
	secret := filepath.Join(dir, "secret.mp4")
	ffmpeg(t, 5, "-c:v", "libx264", "-encryption_scheme", "cenc-aes-ctr",
		"-encryption_key", "76a6c65c5ea762046bd749a2e632ccbb", "-encryption_kid", "a7e61c373e219033c21091fa607bf3b8", secret)
	late := clip(t, "late.mov", 5, "-c:v", "prores_ks") // table of contents at the end

	for _, c := range []struct {
		name, path string
		cause      error
		reason     string
	}{
		{"empty", write("empty.mov", ""), ErrEmpty, "empty"},
		{"text", write("notes.txt", "The second take is the better one.\n"), ErrNotVideo, "not a video"},
		{"text that fills a screen", write("screen.txt", strings.Repeat("The second take is the better one.\n", 500)), ErrNotVideo, ""},
		{"text named as a film", write("notes.mov", "The second take is the better one.\n"), ErrNotVideo, "not a video"},
		{"playlist", write("list.m3u8", "#EXTM3U\n#EXTINF:1,\nhttp://localhost:1/a.ts\n#EXT-X-ENDLIST\n"), nil, ""},
		{"not there", filepath.Join(dir, "gone.mov"), fs.ErrNotExist, "no such file"},
		{"no such folder", filepath.Join(dir, "gone", "x.%04d.dpx"), fs.ErrNotExist, "no such file"},
		{"no such images", filepath.Join(dir, "x.%04d.dpx"), fs.ErrNotExist, "no file fits"},
		{"folder", dir, ErrNotVideo, "folder"},
		{"sound", tone, ErrNotVideo, "no video"},
		{"sound with a cover", cover, ErrNotVideo, "no video"},
		{"encrypted", secret, ErrEncrypted, "encrypted"},
		{"cut before the table of contents", cut(t, late, 0.7), ErrTruncated, "truncated"},
		{"odd name", write("http:x.mov", ""), ErrEmpty, "empty"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Open(context.Background(), c.path, Options{})
			var typed *Error
			require.ErrorAs(t, err, &typed)
			require.Equal(t, c.path, typed.File)
			require.NotEmpty(t, typed.Op)
			require.Contains(t, typed.Reason, c.reason)
			require.Contains(t, err.Error(), c.path)
			if c.cause != nil {
				require.ErrorIs(t, err, c.cause)
			}
		})
	}
}

// Root may read anything, so what the system answers to others is put in.
func TestPermissionDenied(t *testing.T) {
	err := fail("a.mov", "open", astiav.Error(-int(syscall.EACCES)))
	require.ErrorIs(t, err, fs.ErrPermission)
	require.Equal(t, "open a.mov: permission denied", err.Error())
}

func TestFileVanishesWhileItIsRead(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "stills")
	require.NoError(t, os.Mkdir(dir, 0o755))
	pattern := filepath.Join(dir, "eye.%04d.png")
	ffmpeg(t, 4, pattern)
	f := opened(t, pattern)
	require.NoError(t, os.Remove(filepath.Join(dir, "eye.0003.png")))
	_, err := f.Frame(context.Background(), 2)
	require.ErrorIs(t, err, fs.ErrNotExist)
	var typed *Error
	require.ErrorAs(t, err, &typed)
	require.Equal(t, filepath.Join(dir, "eye.0003.png"), typed.File)
	frame, err := f.Frame(context.Background(), 3)
	require.NoError(t, err)
	require.Equal(t, 3, number(t, frame))
}

func TestGapInASequence(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "100% sure") // a verb may stand in the file name alone
	require.NoError(t, os.Mkdir(dir, 0o755))
	plain := filepath.Join(t.TempDir(), "stills")
	require.NoError(t, os.Mkdir(plain, 0o755))
	ffmpeg(t, 12, "-start_number", "95", filepath.Join(plain, "eye.%03d.png"))
	entries, err := os.ReadDir(plain)
	require.NoError(t, err)
	for _, e := range entries {
		if e.Name() != "eye.098.png" && e.Name() != "eye.100.png" && e.Name() != "eye.101.png" {
			require.NoError(t, os.Rename(filepath.Join(plain, e.Name()), filepath.Join(dir, e.Name())))
		}
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "eye.0999.png"), nil, 0o644)) // too many zeros
	require.NoError(t, os.WriteFile(filepath.Join(dir, "eye.+99.png"), nil, 0o644))

	f := opened(t, filepath.Join(dir, "eye.%03d.png"))
	require.Equal(t, 12, f.Info().Frames)
	require.Zero(t, f.Info().RateNum)
	require.Equal(t, []Remark{{"3 images are missing from the sequence: 98, 100 to 101", 1}}, f.Remarks())
	for i := range 12 {
		frame, err := f.Frame(context.Background(), i)
		if i == 3 || i == 5 || i == 6 {
			require.ErrorIs(t, err, ErrDamaged)
			require.ErrorContains(t, err, "missing from the sequence")
			continue
		}
		require.NoError(t, err)
		require.Equal(t, i, number(t, frame))
	}
	_, err = f.Frame(context.Background(), 12)
	require.Equal(t, io.EOF, err)

	doubled := filepath.Join(filepath.Dir(dir), "100%% sure", "eye.%03d.png") // as clips have it
	require.Equal(t, 12, opened(t, doubled).Info().Frames)
}

// What Files lists is what Open reads, by whatever verb the number is given.
func TestFiles(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "100%")
	require.NoError(t, os.Mkdir(dir, 0o755))
	for _, name := range []string{
		"eye.8.png", "eye.9.png", "eye.10.png", "eye.009.png", "eye.010.png", "eye.1000.png",
		"eye..png", "eye.+9.png", "eye.x.png", "eye.9.tif", "50%d_1.png", "50%d_2.png", "one.mov",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), nil, 0o644))
	}
	for _, c := range []struct {
		pattern string
		want    []string
	}{
		{"eye.%d.png", []string{"eye.8.png", "eye.9.png", "eye.10.png", "eye.1000.png"}},
		{"eye.%01d.png", []string{"eye.8.png", "eye.9.png", "eye.10.png", "eye.1000.png"}},
		{"eye.%03d.png", []string{"eye.009.png", "eye.010.png", "eye.1000.png"}},
		{"50%%d_%d.png", []string{"50%d_1.png", "50%d_2.png"}},
		{"one.mov", []string{"one.mov"}},
		{"50%d_1.png", []string{"50%d_1.png"}}, // a file that is there is no pattern
	} {
		got, err := Files(filepath.Join(dir, c.pattern))
		require.NoError(t, err, c.pattern)
		for i := range got {
			got[i], err = filepath.Rel(dir, got[i])
			require.NoError(t, err)
		}
		require.Equal(t, c.want, got, c.pattern)
	}
	for _, gone := range []string{"gone.mov", "gone.%04d.png", "gone.%d.png", "%d_%d.png", filepath.Join("no folder", "eye.%d.png")} {
		_, err := Files(filepath.Join(dir, gone))
		require.ErrorIs(t, err, os.ErrNotExist, gone)
	}
}

// A pipe that nobody writes to hangs in the kernel, where no flag reaches it.
func TestCancelledContextStopsAHangingRead(t *testing.T) {
	for _, c := range []struct {
		name   string
		writer bool // someone has it open and says nothing
	}{{"nobody writes", false}, {"a silent writer", true}} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "pipe.mov")
			require.NoError(t, syscall.Mkfifo(path, 0o600))
			if c.writer {
				w, err := os.OpenFile(path, os.O_RDWR, 0)
				require.NoError(t, err)
				defer w.Close()
			} else {
				defer func() { // lets the thread go that hangs in opening
					if w, err := os.OpenFile(path, os.O_WRONLY|syscall.O_NONBLOCK, 0); err == nil {
						w.Close()
					}
				}()
			}
			ctx, cancel := context.WithTimeout(context.Background(), 100*time.Millisecond)
			defer cancel()
			start := time.Now()
			_, err := Open(ctx, path, Options{})
			require.ErrorIs(t, err, context.DeadlineExceeded)
			require.Less(t, time.Since(start), 100*time.Millisecond+3*patience)
			var typed *Error
			require.ErrorAs(t, err, &typed)
		})
	}
}

func TestCancelledContextLeavesTheFileUsable(t *testing.T) {
	f := opened(t, clip(t, "a.mp4", 60, "-c:v", "libx264", "-preset", "veryfast", "-g", "60"))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := f.Frame(ctx, 40)
	require.ErrorIs(t, err, context.Canceled)
	for range 20 { // stops at odd places
		ctx, cancel := context.WithTimeout(context.Background(), 300*time.Microsecond)
		_, err := f.Frame(ctx, 50)
		cancel()
		if err != nil {
			require.ErrorIs(t, err, context.DeadlineExceeded)
		}
		frame, err := f.Frame(context.Background(), 7)
		require.NoError(t, err)
		require.Equal(t, 7, number(t, frame))
	}
}

func TestClosedFile(t *testing.T) {
	f, err := Open(context.Background(), clip(t, "a.mov", 2, "-c:v", "prores_ks"), Options{})
	require.NoError(t, err)
	frame, err := f.Frame(context.Background(), 1)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	require.NoError(t, f.Close())
	require.Equal(t, 1, number(t, frame), "frames outlive their file")
	_, err = f.Frame(context.Background(), 0)
	require.Error(t, err)
	require.False(t, errors.Is(err, io.EOF))
	_, err = f.Frame(context.Background(), -1)
	require.Error(t, err)
}

// Nothing that FFmpeg says may reach the terminal: its lines become notes.
func TestLogStaysOffTheTerminal(t *testing.T) {
	path := spoil(t, clip(t, "a.mov", 8, "-c:v", "mjpeg", "-pix_fmt", "yuvj420p"), 4, false)
	caught, err := os.Create(filepath.Join(t.TempDir(), "stderr"))
	require.NoError(t, err)
	defer caught.Close()
	var saved [2]int
	for i, fd := range []int{1, 2} {
		saved[i], err = syscall.Dup(fd)
		require.NoError(t, err)
		require.NoError(t, syscall.Dup3(int(caught.Fd()), fd, 0))
	}
	notes, opens := func() ([]Remark, error) {
		defer func() {
			for i, fd := range []int{1, 2} {
				_ = syscall.Dup3(saved[i], fd, 0)
				_ = syscall.Close(saved[i])
			}
		}()
		f, err := Open(context.Background(), path, Options{Threads: 2})
		if err != nil {
			return nil, err
		}
		for range 9 {
			_, _ = f.Next(context.Background())
		}
		_, _ = Open(context.Background(), "file_test.go", Options{})
		return f.Remarks(), f.Close()
	}()
	require.NoError(t, opens)
	require.NotEmpty(t, notes)
	text, err := os.ReadFile(caught.Name())
	require.NoError(t, err)
	require.Empty(t, string(text))
}

func TestNotesCount(t *testing.T) {
	var n notebook
	n.log("h264", "error at 12\n", true)
	n.log("h264", "error at 345\n", true)
	n.log("", "  ", true)
	n.log("/a/path.mov", "odd", false)
	require.Equal(t, []Remark{{"h264: error at 12", 2}, {"odd", 1}}, n.list())
	for i := range 100 {
		n.tell(string(rune('a'+i%26)) + string(rune('a'+i/26)) + "\xff")
	}
	require.Len(t, n.list(), maxNotes+1)
	require.Equal(t, Remark{otherNotes, 100 - (maxNotes - 2)}, n.list()[maxNotes])
}
