package qc

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"nightpair/metrics"
)

// measureRevision is raised whenever records come out differently for another
// reason than a metric's: the plan's order, the setup, the form of a record.
const measureRevision = 4

// fingerprint covers all that a record depends on. Two equal fingerprints mean
// that measuring again would give the same figures. It is an error when a file
// of the clip is not there.
func fingerprint(clip Clip, plan Plan, mirrored Mirrored, all []metrics.Metric) (string, error) {
	type file struct {
		Path     string
		Size     int64
		Modified int64 // nanoseconds since 1970
	}
	type revision struct {
		Metric   string
		Revision int
	}
	covered := struct {
		Measure   int
		Packing   Packing
		Problem   string
		Left      []file
		Right     []file
		Samples   int
		Mirrored  Mirrored
		Revisions []revision
	}{
		Measure: measureRevision, Packing: clip.Packing, Problem: clip.Problem,
		Samples: plan.moments(), Mirrored: mirrored,
	}
	for _, metric := range all {
		covered.Revisions = append(covered.Revisions, revision{metric.Name, metric.Revision})
	}
	stat := func(path string) ([]file, error) {
		paths, err := filesOf(path)
		if err != nil {
			return nil, err
		}
		var files []file
		for _, p := range paths {
			info, err := os.Stat(p)
			if err != nil {
				return nil, err
			}
			if p, err = filepath.Abs(p); err != nil {
				return nil, err
			}
			files = append(files, file{p, info.Size(), info.ModTime().UnixNano()})
		}
		return files, nil
	}
	var err error
	if covered.Left, err = stat(clip.Left); err != nil {
		return "", err
	}
	if covered.Right, err = stat(clip.Right); err != nil {
		return "", err
	}
	text, err := json.Marshal(covered)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:16]), nil
}

// sequence finds the number in the pattern of an image sequence.
var sequence = regexp.MustCompile(`%0(\d+)d`)

// filesOf returns the files behind a clip's path: none for an empty one, the
// file itself, or the numbered pictures of a sequence in ascending order.
func filesOf(path string) ([]string, error) {
	if path == "" {
		return nil, nil
	}
	_, err := os.Stat(path)
	if err == nil {
		return []string{path}, nil
	}
	at := sequence.FindStringSubmatchIndex(path)
	if at == nil {
		return nil, err
	}
	plain := func(s string) string { return strings.ReplaceAll(s, "%%", "%") }
	before, after := plain(path[:at[0]]), plain(path[at[1]:])
	digits, _ := strconv.Atoi(path[at[2]:at[3]]) // a match of \d+; too large a number finds no file
	folder, prefix := filepath.Split(before)
	entries, err := os.ReadDir(filepath.Clean(folder))
	if err != nil {
		return nil, err
	}
	type picture struct {
		path   string
		number int
	}
	var pictures []picture
	for _, e := range entries {
		rest, starts := strings.CutPrefix(e.Name(), prefix)
		number, ends := strings.CutSuffix(rest, after)
		if !starts || !ends || len(number) < digits || len(number) > digits && number[0] == '0' {
			continue
		}
		if n, err := strconv.ParseUint(number, 10, 63); err == nil {
			pictures = append(pictures, picture{filepath.Join(folder, e.Name()), int(n)})
		}
	}
	if len(pictures) == 0 {
		return nil, fmt.Errorf("%s: %w", path, fs.ErrNotExist)
	}
	slices.SortFunc(pictures, func(p, q picture) int { return p.number - q.number })
	paths := make([]string, len(pictures))
	for i, p := range pictures {
		paths[i] = p.path
	}
	return paths, nil
}
