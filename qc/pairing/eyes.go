package pairing

import (
	"cmp"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// findEyes finds out which eye each shot is: by the flags for the cards, which the walk has
// entered already, by rigs.csv, by marks in names, and by what people call reels and cards.
// Where the one camera's eye is known, the only other camera is the other eye.
func findEyes(shots []shot, rigs []rigCamera) {
	for i := range shots {
		s := &shots[i]
		if s.flagged != noSide {
			s.eye, s.by = s.flagged, "--"+s.flagged.String()
		}
		for _, c := range rigs {
			if !c.took(s.path, s.told.Source.Camera) {
				continue
			}
			if s.rig == "" {
				s.rig = c.Rig
			}
			if s.eye == noSide && c.Eye != noSide {
				s.eye, s.by = c.Eye, fmt.Sprintf("%s line %d", RigsName, c.line)
			}
		}
		if s.eye == noSide {
			if s.eye = s.side(); s.eye != noSide {
				s.by = "the names of files or folders"
			}
		}
	}
	unknown := map[string][]int{}
	known := map[side]bool{}
	for i, s := range shots {
		if s.eye == noSide {
			unknown[s.card(shots)] = append(unknown[s.card(shots)], i)
		}
		known[s.eye] = true
	}
	// What people call reels and cards counts where both eyes are called so.
	loose := map[string]side{}
	for card, members := range unknown {
		loose[card] = looseSide(shots, members)
	}
	both := map[side]bool{leftSide: known[leftSide], rightSide: known[rightSide]}
	for _, s := range loose {
		both[s] = true
	}
	if both[leftSide] && both[rightSide] {
		for card, s := range loose {
			for _, i := range unknown[card] {
				if shots[i].eye = s; s != noSide {
					shots[i].by = "the name of its reel or card"
				}
			}
			if s != noSide {
				known[s] = true
				delete(unknown, card)
			}
		}
	}
	if len(unknown) == 1 && known[leftSide] != known[rightSide] {
		other := rightSide
		if known[rightSide] {
			other = leftSide
		}
		for _, members := range unknown {
			for _, i := range members {
				shots[i].eye, shots[i].by = other, "the other camera being the "+other.other().String()+" eye"
			}
		}
	}
}

// card returns what tells cameras apart whose eyes are not known: what the files are tagged
// with where that differs, else the first folder in which the paths differ.
func (s shot) card(shots []shot) string {
	cameras := map[string]bool{}
	common, any := "", false
	for _, o := range shots {
		if o.eye != noSide {
			continue
		}
		cameras[o.told.Source.Camera] = true
		folder := filepath.ToSlash(filepath.Dir(o.path)) + "/"
		if !any {
			common, any = folder, true
		}
		for !strings.HasPrefix(folder, common) {
			common = common[:strings.LastIndexByte(strings.TrimSuffix(common, "/"), '/')+1]
		}
	}
	if len(cameras) == 2 && !cameras[""] {
		return s.told.Source.Camera
	}
	rest := strings.TrimPrefix(filepath.ToSlash(filepath.Dir(s.path))+"/", common)
	first, _, _ := strings.Cut(rest, "/")
	return first
}

// looseWord matches words that name an eye among letters and digits, as reels and cards are
// called: L001, A001L, CAML, R_CARD, LE.
var looseWord = regexp.MustCompile(`(?i)^(?:(l|r)(?:e|t)?(?:cam|camera|card|reel|mag|eye)?\d*|(?:cam|camera|card|reel|mag|eye)(l|r)\d*|[a-z]?\d+(l|r)|(left|right)[a-z]*\d*|[a-z]*(left|right)\d*|(l|r)\d+c\d+)$`)

// looseSide returns the eye that the names of all given shots, or of their folders, agree on.
func looseSide(shots []shot, members []int) side {
	agreed := noSide
	for _, i := range members {
		own := noSide
		for word := range strings.FieldsFuncSeq(shots[i].stem(), func(r rune) bool { return !isLetterOrDigit(r) }) {
			m := looseWord.FindStringSubmatch(word)
			if m == nil {
				continue
			}
			s := markWords[strings.ToLower(cmp.Or(m[1:]...))]
			if own != noSide && own != s {
				return noSide
			}
			own = s
		}
		if own == noSide || agreed != noSide && agreed != own {
			return noSide
		}
		agreed = own
	}
	return agreed
}

func isLetterOrDigit(r rune) bool {
	return r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r > 127
}

// rigKeys parts shots by rig: by rigs.csv, and where that says nothing by what their folders
// are called without the mark of the eye and without numbers, if each such name has both eyes.
func rigKeys(shots []shot) map[string][]int {
	keys := map[string][]int{}
	named := map[string][]int{}
	eyes := map[string]map[side]bool{}
	rigEyes := map[string]map[side]bool{}
	for _, s := range shots {
		if rigEyes[s.rig] == nil {
			rigEyes[s.rig] = map[side]bool{}
		}
		rigEyes[s.rig][s.eye] = true
	}
	for i, s := range shots {
		// The other camera of a rig may not be listed.
		if s.rig != "" && rigEyes[s.rig][leftSide] && rigEyes[s.rig][rightSide] {
			keys["rig "+s.rig] = append(keys["rig "+s.rig], i)
			continue
		}
		name := ""
		if marks := s.marks(); len(marks) > 0 && !marks[0].inName && s.flagged == noSide {
			name = strings.ToLower(s.component(marks[0].span))
			name = strings.Join(slices.DeleteFunc(strings.FieldsFunc(name, func(r rune) bool { return !isLetterOrDigit(r) || r >= '0' && r <= '9' }),
				func(word string) bool { return markWords[word] != noSide }), " ")
		}
		named[name] = append(named[name], i)
		if eyes[name] == nil {
			eyes[name] = map[side]bool{}
		}
		eyes[name][s.eye] = true
	}
	complete := true
	for _, e := range eyes {
		complete = complete && e[leftSide] && e[rightSide]
	}
	for name, members := range named {
		if !complete {
			name = ""
		}
		keys["folder "+name] = append(keys["folder "+name], members...)
	}
	return keys
}
