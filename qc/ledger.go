package qc

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"nightpair/qc/record"
)

// Ledger is the folder of records of a report: what was measured, and with
// that, what is still to be measured. There is no other state. One process at
// a time holds it.
type Ledger struct {
	dir  string
	lock *os.File
}

const (
	recordsFolder = "records"
	recordEnding  = ".jsonl"
	partialEnding = ".partial"
	lockName      = ".lock"
)

// ErrBusy says that another process writes to the same report.
var ErrBusy = errors.New("another nightpair is measuring into this folder")

// OpenLedger opens the records of the report in the folder out, which is made
// where there is none. What an earlier process left unfinished is removed.
func OpenLedger(out string) (*Ledger, error) {
	dir := filepath.Join(out, recordsFolder)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, err
	}
	lock, err := os.OpenFile(filepath.Join(dir, lockName), os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, err
	}
	if err := lockFile(lock); err != nil {
		lock.Close()
		return nil, fmt.Errorf("%s: %w", out, err)
	}
	l := &Ledger{dir: dir, lock: lock}
	partials, err := l.files(partialEnding)
	for _, path := range partials {
		err = errors.Join(err, os.Remove(path))
	}
	if err != nil {
		l.Close()
		return nil, err
	}
	return l, nil
}

// Close lets other processes have the ledger.
func (l *Ledger) Close() error { return l.lock.Close() }

// ReadRecords reads the records of the report in the folder out, in the order
// of the clips' names. A file that is not a whole record is an error.
func ReadRecords(out string) ([]record.Record, error) {
	l := Ledger{dir: filepath.Join(out, recordsFolder)}
	paths, err := l.files(recordEnding)
	if err != nil {
		return nil, err
	}
	var records []record.Record
	for _, path := range paths {
		record, err := readRecordFile(path)
		if err != nil {
			return nil, err
		}
		records = append(records, record)
	}
	slices.SortFunc(records, func(a, b record.Record) int {
		return strings.Compare(a.Header.Clip.Name, b.Header.Clip.Name)
	})
	return records, nil
}

func readRecordFile(path string) (record.Record, error) {
	f, err := os.Open(path)
	if err != nil {
		return record.Record{}, err
	}
	defer f.Close()
	rec, err := record.Read(f)
	if err != nil {
		return record.Record{}, &RecordError{Path: path, Err: err}
	}
	return rec, nil
}

// RecordError says that a file among the records is none. Deleting the file
// has its clip measured again.
type RecordError struct {
	Path string
	Err  error
}

func (e *RecordError) Error() string { return fmt.Sprintf("read record %s: %v", e.Path, e.Err) }
func (e *RecordError) Unwrap() error { return e.Err }

// files returns the paths with an ending, in order.
func (l *Ledger) files(ending string) ([]string, error) {
	entries, err := os.ReadDir(l.dir)
	if err != nil {
		return nil, err
	}
	var paths []string
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), ending) {
			paths = append(paths, filepath.Join(l.dir, e.Name()))
		}
	}
	return paths, nil
}

func (l *Ledger) path(clip record.Clip) string { return filepath.Join(l.dir, clip.Key()+recordEnding) }

// standing says what the ledger holds of a clip.
type standing uint8

const (
	absent standing = iota // nothing of use
	partly                 // a record that the end of a night left short
	whole                  // a record of everything
)

// holds reports what there is of a clip with that fingerprint. A record that
// failed, or cannot be read, is to be measured again.
func (l *Ledger) holds(clip record.Clip, fingerprint string) standing {
	record, err := readRecordFile(l.path(clip))
	if err != nil || record.Header.Fingerprint != fingerprint || record.Trailer.Failed != "" {
		return absent
	}
	if record.Trailer.Short {
		return partly
	}
	return whole
}

// recordFile is the record of one clip as it is being written.
type recordFile struct {
	*os.File
	path string // of the record to be
}

// begin opens the record of a clip for writing. It does not count before it
// is kept.
func (l *Ledger) begin(clip record.Clip) (*recordFile, error) {
	f, err := os.Create(filepath.Join(l.dir, clip.Key()+partialEnding))
	if err != nil {
		return nil, err
	}
	return &recordFile{File: f, path: l.path(clip)}, nil
}

// keep makes the record count, once it is safe on the disk.
func (r *recordFile) keep() error {
	err := errors.Join(r.Sync(), r.Close())
	if err == nil {
		err = os.Rename(r.Name(), r.path)
	}
	if err != nil {
		os.Remove(r.Name())
		return err
	}
	return syncFolder(filepath.Dir(r.path))
}

// drop forgets what was written.
func (r *recordFile) drop() error {
	return errors.Join(r.Close(), os.Remove(r.Name()))
}

// write puts a record into the ledger in one go.
func (l *Ledger) write(record record.Record) error {
	f, err := l.begin(record.Header.Clip)
	if err != nil {
		return err
	}
	if _, err := record.WriteTo(f); err != nil {
		return errors.Join(err, f.drop())
	}
	return f.keep()
}

// prune removes the records that the clips of a new search replace: records of
// other clips that hold one of their files, and failed records that are no
// longer clips: those of files within the searched paths, and those that name
// no file. A file that is no record, and that no clip will replace, is a
// RecordError, and a record that a clip would replace although it is of other
// footage a TakenError.
func (l *Ledger) prune(clips []record.Clip, within []string) error {
	current := map[string]record.Clip{}
	used := map[string]bool{}
	for _, c := range clips {
		current[l.path(c)] = c
		for _, path := range []string{c.Left, c.Right} {
			if path != "" {
				used[absolute(path)] = true
			}
		}
	}
	paths, err := l.files(recordEnding)
	if err != nil {
		return err
	}
	for _, path := range paths {
		record, err := readRecordFile(path)
		if clip, ok := current[path]; ok {
			if err == nil && record.Trailer.Failed == "" && isOfOther(record.Header.Clip, clip, within) {
				return &TakenError{Path: path, Name: clip.Name, Held: record.Header.Clip.Left}
			}
			continue
		}
		if err != nil {
			return err // now, and not when the night is over and the report is due
		}
		left, right := record.Header.Clip.Left, record.Header.Clip.Right
		failed := record.Trailer.Failed != ""
		gone := failed && left == "" && right == ""
		for _, p := range []string{left, right} {
			if p == "" {
				continue
			}
			p = absolute(p)
			gone = gone || used[p] || failed && isWithin(p, within)
		}
		if gone {
			if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
		}
	}
	return nil
}

// TakenError says that a report holds a clip that is called as one to be
// measured and is another: cameras count anew every day.
type TakenError struct {
	Path string // of the record
	Name string // of both clips
	Held string // the left file of the clip that the report holds
}

func (e *TakenError) Error() string {
	return fmt.Sprintf("the report holds another clip %s, of %s", e.Name, e.Held)
}

// isOfOther reports whether a clip of a record is of other footage than one that has
// its name: of none within the searched paths. The record may tell the paths of
// the clip's files from another working folder.
func isOfOther(held, clip record.Clip, within []string) bool {
	for _, p := range [][2]string{{held.Left, clip.Left}, {held.Right, clip.Right}} {
		if p[0] == "" {
			continue
		}
		was, is := absolute(p[0]), absolute(p[1])
		relative := string(filepath.Separator) + filepath.Clean(p[0])
		if was == is || isWithin(was, within) || strings.HasSuffix(is, relative) {
			return false
		}
	}
	return held.Left != "" || held.Right != ""
}

// isWithin reports whether a path is one of the given ones or lies in one.
func isWithin(path string, within []string) bool {
	return slices.ContainsFunc(within, func(folder string) bool {
		relative, err := filepath.Rel(absolute(folder), path)
		return err == nil && relative != ".." && !strings.HasPrefix(relative, ".."+string(filepath.Separator))
	})
}

// absolute returns the path from the root, or as it is where the working
// folder is gone.
func absolute(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		return abs
	}
	return path
}
