package reports

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"nightpair/qc/judge"
)

// mark stands near the beginning of every page and still, and tells our own
// files from those of somebody who keeps pictures in a folder of the same name.
const mark = "written by nightpair"

// markWithin is how far from its beginning a file is searched for the mark.
const markWithin = 512

// folder is the folder of a report. Names inside it are given with slashes.
type folder struct {
	dir     string
	written map[string]bool
}

func openFolder(dir string) (*folder, error) {
	for _, sub := range []string{"clips", "pictures", "fixes"} {
		if err := os.MkdirAll(filepath.Join(dir, sub), 0o777); err != nil {
			return nil, fmt.Errorf("report: %w", err)
		}
	}
	return &folder{dir: dir, written: map[string]bool{}}, nil
}

// write puts data into place as a whole: a reader sees the old file or the new
// one. It does not wait for the disk, since a report can be written again from
// the records.
func (f *folder) write(name string, data []byte) (err error) {
	final := filepath.Join(f.dir, filepath.FromSlash(name))
	temporary := final + ".part"
	defer func() {
		if err != nil {
			os.Remove(temporary)
			err = fmt.Errorf("report: %w", err)
		}
	}()
	if err := os.WriteFile(temporary, data, 0o666); err != nil {
		return err
	}
	if err := os.Rename(temporary, final); err != nil {
		return err
	}
	f.written[name] = true
	return nil
}

// removeStale removes the pages, stills and colour decisions that carry our mark and were not
// written this time.
func (f *folder) removeStale() error {
	for _, sub := range []string{"clips", "pictures", "fixes"} {
		entries, err := os.ReadDir(filepath.Join(f.dir, sub))
		if err != nil {
			return fmt.Errorf("report: %w", err)
		}
		for _, e := range entries {
			name := path.Join(sub, e.Name())
			if f.written[name] || !e.Type().IsRegular() {
				continue
			}
			file := filepath.Join(f.dir, sub, e.Name())
			ours, err := marked(file)
			if err == nil && ours {
				err = os.Remove(file)
			}
			if err != nil && !errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("report: %w", err)
			}
		}
	}
	return nil
}

// marked reports whether a file is ours: a page, a still or a colour
// decision with the mark, or key frames by their columns.
func marked(file string) (bool, error) {
	ours := mark
	switch name := strings.TrimSuffix(file, ".part"); filepath.Ext(name) {
	case ".html", ".jpg", ".cc", ".ccc":
	case ".csv":
		if !strings.HasSuffix(name, overTimeEnd) {
			return false, nil
		}
		ours = strings.Join(judge.OverTimeColumns, ",")
	default:
		return false, nil
	}
	r, err := os.Open(file)
	if err != nil {
		return false, err
	}
	defer r.Close()
	head, err := io.ReadAll(io.LimitReader(r, markWithin))
	return bytes.Contains(head, []byte(ours)), err
}
