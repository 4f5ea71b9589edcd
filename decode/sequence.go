package decode

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// sequence is a numbered row of still images in one folder.
type sequence struct {
	pattern     string
	first, last int
	paths       map[int]string // by number; gaps are absent
}

// Files returns the files that Open would read for a path: the file itself, or the
// images of a sequence in ascending order of their numbers.
func Files(path string) ([]string, error) {
	_, err := os.Stat(path)
	if err == nil {
		return []string{path}, nil
	}
	s, found, seqErr := findSequence(path)
	switch {
	case seqErr != nil:
		return nil, seqErr
	case !found:
		return nil, fail(path, "open", err)
	}
	var paths []string
	for _, number := range slices.Sorted(maps.Keys(s.paths)) {
		paths = append(paths, s.paths[number])
	}
	return paths, nil
}

// numberVerb finds where a pattern has the number, and the percent signs that are
// doubled to stand for themselves.
var numberVerb = regexp.MustCompile(`%%|%(0[0-9]+)?d`)

// findSequence looks for the files of a pattern such as name.%04d.dpx, in whose
// folders and name a percent sign is doubled. Found is false when the name holds no
// such verb, or more than one.
func findSequence(path string) (s sequence, found bool, err error) {
	dir, base := filepath.Split(path)
	var verb []int
	for _, at := range numberVerb.FindAllStringSubmatchIndex(base, -1) {
		switch {
		case base[at[0]:at[1]] == "%%":
		case verb != nil:
			return sequence{}, false, nil
		default:
			verb = at
		}
	}
	if verb == nil {
		return sequence{}, false, nil
	}
	digits := 1
	if verb[2] >= 0 {
		if digits, err = strconv.Atoi(base[verb[2]:verb[3]]); err != nil {
			return sequence{}, false, nil
		}
	}
	plain := func(s string) string { return strings.ReplaceAll(s, "%%", "%") }
	dir, prefix, suffix := plain(dir), plain(base[:verb[0]]), plain(base[verb[1]:])
	entries, err := os.ReadDir(filepath.Clean(dir))
	if err != nil {
		return sequence{}, true, fail(path, "open", err)
	}
	s = sequence{pattern: path, paths: map[int]string{}}
	for _, e := range entries {
		name := e.Name()
		if len(name) < len(prefix)+len(suffix)+1 || !strings.HasPrefix(name, prefix) || !strings.HasSuffix(name, suffix) {
			continue
		}
		number := name[len(prefix) : len(name)-len(suffix)]
		n, err := strconv.Atoi(number)
		// A number longer than asked for has outgrown its zeros.
		if err != nil || n < 0 || number[0] == '+' || number != fmt.Sprintf("%0*d", digits, n) {
			continue
		}
		if len(s.paths) == 0 || n < s.first {
			s.first = n
		}
		if len(s.paths) == 0 || n > s.last {
			s.last = n
		}
		s.paths[n] = filepath.Join(dir, name)
	}
	if len(s.paths) == 0 {
		return sequence{}, true, &Error{File: path, Op: "open", Reason: "no file fits this pattern", Err: os.ErrNotExist}
	}
	return s, true, nil
}

// gaps lists the missing numbers in words, such as "3, 7 to 9".
func (s sequence) gaps() (text string, missing int) {
	var parts []string
	for n := s.first; n <= s.last; n++ {
		if _, ok := s.paths[n]; ok {
			continue
		}
		from := n
		for ; n < s.last; n++ {
			if _, ok := s.paths[n+1]; ok {
				break
			}
		}
		missing += n - from + 1
		if from == n {
			parts = append(parts, strconv.Itoa(n))
		} else {
			parts = append(parts, fmt.Sprintf("%d to %d", from, n))
		}
	}
	return strings.Join(parts, ", "), missing
}
