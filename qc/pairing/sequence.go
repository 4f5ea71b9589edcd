package pairing

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// element is what one eye, or both, can be read from: a file or a sequence of
// numbered pictures.
type element struct {
	file
	still   bool
	number  span     // of the %04d in the path of a sequence
	members []string // ids of the files of a sequence
	lacking int      // numbers that are missing within a sequence
}

var videoTypes = extensions(`3gp asf avi dv flv gxf h264 h265 hevc ivf lxf m2t m2ts m2v m4v mj2 mjpeg mjpg mkv
	mov mp4 mpeg mpg mts mxf nut ogv qt ts vob webm wmv y4m`)

var stillTypes = extensions(`bmp cin dng dpx exr j2c j2k jp2 jpeg jpg pam pgm png ppm sgi tga tif tiff webp`)

func extensions(s string) map[string]bool {
	set := map[string]bool{}
	for _, w := range strings.Fields(s) {
		set["."+w] = true
	}
	return set
}

// extension returns the extension in lower case with its dot, empty where
// there is none.
func (e element) extension() string {
	return strings.ToLower(e.path[len(e.stem()):])
}

// stem returns the path without the extension.
func (e element) stem() string {
	ext := filepath.Ext(e.path)
	if len(ext) == len(filepath.Base(e.path)) { // a name such as .mov
		return e.path
	}
	return strings.TrimSuffix(e.path, ext)
}

// isFootage reports whether a file's name is one of a video or a picture, and not
// hidden.
func isFootage(path string) bool {
	if strings.HasPrefix(filepath.Base(path), ".") {
		return false
	}
	ext := strings.ToLower(filepath.Ext(path))
	return videoTypes[ext] || stillTypes[ext]
}

// sidecar reports whether the element is a single picture beside a video of the
// same name, as cameras store them for display.
func (e element) sidecar(elements []element) bool {
	if !e.still || !e.number.none() || e.chosen {
		return false
	}
	stem := e.stem()
	// Entries are in the order of their paths, so those that start like this one
	// are together.
	i, _ := slices.BinarySearchFunc(elements, stem, func(o element, s string) int { return cmp.Compare(o.path, s) })
	for ; i < len(elements) && strings.HasPrefix(elements[i].path, stem); i++ {
		if o := elements[i]; !o.still && o.stem() == stem {
			return true
		}
	}
	return false
}

// foldSequences turns files into elements in the order of their paths. What is
// no footage is dropped, a file that comes twice is kept once, and numbered
// pictures become one element if at least two numbers follow one another.
func foldSequences(files []file) []element {
	files = slices.Clone(files)
	slices.SortFunc(files, func(a, b file) int {
		return cmp.Or(cmp.Compare(a.path, b.path), cmp.Compare(a.root, b.root), cmp.Compare(a.id, b.id))
	})
	seen := map[string]int{}
	var elements []element
	sequences := map[string][]numberedStill{}
	var patterns []string
	for _, f := range files {
		if !f.chosen && !isFootage(f.path) {
			continue
		}
		if i, ok := seen[f.id]; ok {
			if i >= 0 {
				elements[i].listed = elements[i].listed && f.listed
			}
			continue
		}
		seen[f.id] = -1
		e := element{file: f, still: stillTypes[strings.ToLower(filepath.Ext(f.path))]}
		if e.still {
			if p, ok := e.picture(); ok {
				if sequences[p.frame] == nil {
					patterns = append(patterns, p.frame)
				}
				sequences[p.frame] = append(sequences[p.frame], p)
				continue
			}
		}
		seen[f.id] = len(elements)
		elements = append(elements, e)
	}
	for _, frame := range patterns {
		for _, run := range byWidth(sequences[frame]) {
			elements = append(elements, folded(run)...)
		}
	}
	slices.SortFunc(elements, func(a, b element) int { return cmp.Compare(a.path, b.path) })
	return elements
}

// numberedStill is a file that may be one of a sequence.
type numberedStill struct {
	element
	frame         string // the path with the number taken out
	before, after string
	digits        string
	value         int
}

// picture splits the path of a still at the last number in its name.
func (e element) picture() (numberedStill, bool) {
	stem := e.stem()
	name := filepath.Base(stem)
	isDigit := func(r rune) bool { return r < unicode.MaxASCII && unicode.IsDigit(r) }
	end := strings.LastIndexFunc(name, isDigit) + 1
	if end == 0 {
		return numberedStill{}, false
	}
	start := end
	for start > 0 && isDigit(rune(name[start-1])) {
		start--
	}
	value, err := strconv.Atoi(name[start:end])
	if err != nil {
		return numberedStill{}, false // more digits than any counter has
	}
	at := len(stem) - len(name)
	p := numberedStill{
		element: e, before: e.path[:at+start], after: e.path[at+end:],
		digits: name[start:end], value: value,
	}
	p.frame = p.before + "\x00" + p.after
	return p, true
}

// byWidth parts pictures of the same name by the number of their digits. A
// counter that outgrows its digits, as from 9999 to 10000, stays one sequence.
func byWidth(pictures []numberedStill) [][]numberedStill {
	slices.SortFunc(pictures, func(a, b numberedStill) int {
		return cmp.Or(cmp.Compare(len(a.digits), len(b.digits)), cmp.Compare(a.value, b.value))
	})
	var runs [][]numberedStill
	for i, p := range pictures {
		if i > 0 {
			last := pictures[i-1]
			outgrown := len(p.digits) == len(last.digits)+1 && p.value == last.value+1
			if len(p.digits) == len(last.digits) || outgrown {
				runs[len(runs)-1] = append(runs[len(runs)-1], p)
				continue
			}
		}
		runs = append(runs, []numberedStill{p})
	}
	return runs
}

// folded makes one element of a run of pictures if two of its numbers follow one
// another, and an element of each otherwise.
func folded(run []numberedStill) []element {
	follow := false
	for i := 1; i < len(run); i++ {
		follow = follow || run[i].value == run[i-1].value+1
	}
	if !follow {
		elements := make([]element, len(run))
		for i, p := range run {
			elements[i] = p.element
		}
		return elements
	}
	first, last := run[0], run[len(run)-1]
	before := escapePercent(first.before)
	conversion := fmt.Sprintf("%%0%dd", len(first.digits))
	e := first.element
	e.path = before + conversion + escapePercent(first.after)
	e.number = span{len(before), len(before) + len(conversion)}
	e.lacking = last.value - first.value + 1 - len(run)
	for _, p := range run {
		e.members = append(e.members, p.id)
		e.chosen = e.chosen || p.chosen
		e.listed = e.listed && p.listed
	}
	return []element{e}
}

// escapePercent doubles percent signs, which open the number in a pattern.
func escapePercent(s string) string { return strings.ReplaceAll(s, "%", "%%") }
