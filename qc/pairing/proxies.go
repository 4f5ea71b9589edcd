package pairing

import (
	"math"
	"path/filepath"
	"regexp"
	"strings"
)

// proxyFolder and proxyEnd are what cameras call the folders and the names of small copies.
var (
	proxyFolder = regexp.MustCompile(`(?i)^(?:.*[^\pL])?(?:prox(?:y|ies)|sub|thumb(?:nail)?s?|thmbnl|preview|lores|lowres)$`)
	proxyEnd    = regexp.MustCompile(`(?i)(?:[_-]?s0\d|[_ -](?:proxy|prx|lores|lowres|small))$`)
)

// withoutProxies sets small copies of other shots aside: of the same name but for what marks a
// copy, in the same folder or one beside it, as long, and with fewer pixels. It returns the
// rest.
func withoutProxies(shots []shot, aside func(path, of string)) []shot {
	byName := map[string][]int{}
	name := func(s shot) string {
		return strings.ToLower(proxyEnd.ReplaceAllString(filepath.Base(s.stem()), ""))
	}
	for i, s := range shots {
		byName[name(s)] = append(byName[name(s)], i)
	}
	drop := map[int]bool{}
	for i, s := range shots {
		for _, j := range byName[name(s)] {
			o := shots[j]
			if i != j && s.isCopyOf(o) {
				drop[i] = true
				if aside != nil {
					aside(s.path, o.path)
				}
				break
			}
		}
	}
	var rest []shot
	for i, s := range shots {
		if !drop[i] {
			rest = append(rest, s)
		}
	}
	return rest
}

func (s shot) isCopyOf(o shot) bool {
	pixels := func(s shot) int { return s.told.Source.Width * s.told.Source.Height }
	folder, other := filepath.Dir(s.path), filepath.Dir(o.path)
	inProxies := proxyFolder.MatchString(filepath.Base(folder))
	beside := folder == other || inProxies && (filepath.Dir(folder) == other || filepath.Dir(folder) == filepath.Dir(other))
	const apart = 0.5 // seconds that the lengths of a copy and its original may differ
	return !s.named && beside && s.flagged == o.flagged &&
		pixels(s) > 0 && pixels(s) < pixels(o) &&
		math.Abs(s.length()-o.length()) < apart
}
