package pairing

import (
	"cmp"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"nightpair/qc/record"
)

// names returns what a clip of the element could be called without the given
// marks: from its folder down, by its whole path, and with its extension.
func (e element) names(marks []mark) []string {
	stem := e.stem()
	short := 0
	if e.root != "" {
		if rel, err := filepath.Rel(e.root, stem); err == nil && strings.HasSuffix(stem, rel) {
			short = len(stem) - len(rel)
		}
	}
	removed := slices.Clone(marks)
	if !e.number.none() {
		removed = append(removed, mark{span: e.number})
		slices.SortFunc(removed, func(a, b mark) int { return cmp.Compare(a.start, b.start) })
	}
	tidy := func(from int) string {
		return tidyName(removeSpans(stem, from, removed))
	}
	whole := tidy(0)
	return []string{tidy(short), whole, whole + e.extension()}
}

// removeSpans takes marks out of a path, each with one of the signs that part it
// from the rest, from a place on.
func removeSpans(stem string, from int, marks []mark) string {
	var b strings.Builder
	at := from
	for _, m := range marks {
		if m.start < at {
			continue
		}
		b.WriteString(stem[at:m.start])
		at = m.end
		kept := b.String()
		switch {
		case parts(kept, len(kept)-1):
			b.Reset()
			b.WriteString(kept[:len(kept)-1])
		case parts(stem, at):
			at++
		}
	}
	b.WriteString(stem[at:])
	return b.String()
}

// parts reports whether the byte at i is a sign that parts words.
func parts(s string, i int) bool {
	return i >= 0 && i < len(s) && strings.IndexByte("_-. ", s[i]) >= 0
}

var emptyBrackets = strings.NewReplacer("()", "", "[]", "", "{}", "")

// tidyName makes a name of what remains of a path: without empty folders and
// those that hold no more than the word for an eye or a camera.
func tidyName(s string) string {
	var kept []string
	for part := range strings.SplitSeq(filepath.ToSlash(s), "/") {
		part = strings.TrimSpace(emptyBrackets.Replace(part))
		switch strings.ToLower(strings.Trim(part, "_-. ")) {
		case "", "eye", "cam", "camera":
			continue
		}
		kept = append(kept, part)
	}
	return cleanName(strings.Join(kept, "/"))
}

// cleanName makes a name fit to be shown: valid UTF-8 without control
// characters, which could change what a terminal does.
func cleanName(s string) string {
	s = strings.ToValidUTF8(s, "\ufffd")
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return '_'
		}
		return r
	}, s)
	s = strings.TrimPrefix(path.Clean("/"+s), "/")
	if s == "" {
		return "clip"
	}
	return s
}

// named gives every draft a name of its own, as short as that allows, and
// returns the clips in the order of their names. No two names differ in case
// only, since not every file system can tell them apart.
func named(drafts []draft) []record.Clip {
	slices.SortFunc(drafts, func(a, b draft) int {
		return cmp.Or(cmp.Compare(a.Left, b.Left), cmp.Compare(a.Right, b.Right), cmp.Compare(a.Problem, b.Problem))
	})
	level := make([]int, len(drafts))
	name := func(i int) string { return drafts[i].names[level[i]] }
	for range 2 {
		count := map[string]int{}
		for i := range drafts {
			count[strings.ToLower(name(i))]++
		}
		for i, d := range drafts {
			if count[strings.ToLower(name(i))] > 1 && level[i] < len(d.names)-1 {
				level[i]++
			}
		}
	}
	used := map[string]bool{}
	clips := make([]record.Clip, len(drafts))
	for i, d := range drafts {
		unique := name(i)
		for n := 2; used[strings.ToLower(unique)]; n++ {
			unique = fmt.Sprintf("%s (%d)", name(i), n)
		}
		used[strings.ToLower(unique)] = true
		clips[i] = d.Clip
		clips[i].Name = unique
	}
	slices.SortFunc(clips, func(a, b record.Clip) int { return cmp.Compare(a.Name, b.Name) })
	return clips
}
