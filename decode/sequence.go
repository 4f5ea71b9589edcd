package decode

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
)

// sequence is a numbered row of still images in one folder.
type sequence struct {
	pattern     string
	first, last int
	paths       map[int]string // by number; gaps are absent
}

var numberVerb = regexp.MustCompile(`%(0[0-9]+)?d`)

// findSequence looks for the files of a pattern such as name.%04d.dpx. Found
// is false when path holds no such verb.
func findSequence(path string) (s sequence, found bool, err error) {
	dir, base := filepath.Split(path)
	verbs := numberVerb.FindAllStringSubmatchIndex(base, -1)
	if len(verbs) != 1 {
		return sequence{}, false, nil
	}
	digits := 1
	if v := verbs[0]; v[2] >= 0 {
		if digits, err = strconv.Atoi(base[v[2]:v[3]]); err != nil {
			return sequence{}, false, nil
		}
	}
	prefix := strings.ReplaceAll(base[:verbs[0][0]], "%%", "%")
	suffix := strings.ReplaceAll(base[verbs[0][1]:], "%%", "%")
	entries, err := os.ReadDir(filepath.Clean("./" + dir))
	if filepath.IsAbs(dir) {
		entries, err = os.ReadDir(dir)
	}
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
