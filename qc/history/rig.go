package history

import (
	"cmp"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"nightpair/qc/record"
)

// Rig is the clips of one rig in the order of shooting.
type Rig struct {
	Name  string  // of its cameras, or the folder; empty where all clips are taken for one rig's
	By    string  // what told its clips from those of others, in words
	Order string  // what told the order of its clips, in words
	Began float64 // when the first clip was begun, in hours, as Order tells
	Clips []Clip
}

// What tells the order of clips, in words.
const (
	ByTimecode = "timecode"
	ByCreation = "the files' times of creation"
)

// Clip is a clip in the order of shooting.
type Clip struct {
	Record *record.Record
	Hours  float64 // when it was begun, since the first clip of the rig
}

// Name returns the clip's name.
func (c Clip) Name() string { return c.Record.Header.Clip.Name }

// Rigs parts the clips that were measured by the rig that shot them: by the cameras that the
// files name, or else by folders whose clips were shot in turns, which one rig cannot do. Rigs
// come in the order of their names. A clip of which the files do not tell when it was shot is
// left out.
func Rigs(records []record.Record) []Rig {
	groups := map[string][]Clip{}
	by := map[string]string{}
	var nameless []Clip
	for i := range records {
		r := &records[i]
		if r.Failure() != "" {
			continue
		}
		if name := cameras(r.Header); name != "" {
			groups[name] = append(groups[name], Clip{Record: r})
			by[name] = "the cameras that the files name"
		} else {
			nameless = append(nameless, Clip{Record: r})
		}
	}
	var rigs []Rig
	for name, clips := range groups {
		rigs = append(rigs, ordered(Rig{Name: name, By: by[name], Clips: clips}))
	}
	rigs = append(rigs, byFolder(nameless)...)
	rigs = slices.DeleteFunc(rigs, func(r Rig) bool { return len(r.Clips) == 0 })
	slices.SortFunc(rigs, func(a, b Rig) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.By, b.By)) })
	return rigs
}

// cameras names the rig by its cameras.
func cameras(h record.Header) string {
	left, right := h.Left.Camera, h.Right.Camera
	if left == "" || right == "" || left == right {
		return left + strings.TrimPrefix(right, left)
	}
	return left + " / " + right
}

// byFolder parts clips whose files name no camera.
func byFolder(clips []Clip) []Rig {
	whole := ordered(Rig{By: "nothing: the files name no cameras", Clips: clips})
	parts := map[string][]Clip{}
	folders := differingFolders(clips)
	for i, f := range folders {
		parts[f] = append(parts[f], clips[i])
	}
	type span struct{ from, to float64 }
	var rigs []Rig
	var spans []span
	at := map[*record.Record]float64{}
	for _, c := range whole.Clips {
		at[c.Record] = c.Hours
	}
	for name, part := range parts {
		r := ordered(Rig{Name: name, By: "folders whose clips were shot in turns", Clips: part})
		if len(r.Clips) == 0 {
			continue
		}
		rigs = append(rigs, r)
		spans = append(spans, span{at[r.Clips[0].Record], at[r.Clips[len(r.Clips)-1].Record]})
	}
	for i, a := range spans {
		for _, b := range spans[:i] {
			if a.from < b.to && b.from < a.to {
				return rigs
			}
		}
	}
	return []Rig{whole}
}

// differingFolders returns of each clip the first folder of its left file's path that is not
// the same for all.
func differingFolders(clips []Clip) []string {
	var paths [][]string
	for _, c := range clips {
		paths = append(paths, strings.Split(filepath.ToSlash(filepath.Dir(c.Record.Header.Clip.Left)), "/"))
	}
	element := func(path []string, i int) string {
		if i < len(path) {
			return path[i]
		}
		return ""
	}
	depth := 0
	for depth < 64 && !slices.ContainsFunc(paths, func(p []string) bool { return element(p, depth) != element(paths[0], depth) }) {
		depth++
	}
	names := make([]string, len(paths))
	for i, p := range paths {
		names[i] = element(p, depth)
	}
	return names
}

// ordered puts the clips of a rig into the order of shooting: by when the files were created,
// where all of them tell it, or by their timecodes where these tell more of them apart.
func ordered(r Rig) Rig {
	created := func(c Clip) (float64, bool) {
		left := c.Record.Header.Left.Created
		return left.Sub(time.Unix(0, 0)).Hours(), !left.IsZero()
	}
	label := func(c Clip) (float64, bool) { return c.Record.Header.Left.LabelHours() }
	dated := func(when func(Clip) (float64, bool)) (clips []Clip, instants int) {
		for _, c := range r.Clips {
			if hours, ok := when(c); ok {
				clips = append(clips, Clip{c.Record, hours})
			}
		}
		slices.SortStableFunc(clips, func(a, b Clip) int {
			return cmp.Or(cmp.Compare(a.Hours, b.Hours), cmp.Compare(a.Name(), b.Name()))
		})
		for i, c := range clips {
			if i == 0 || c.Hours != clips[i-1].Hours {
				instants++
			}
		}
		return clips, instants
	}
	byCreation, created1 := dated(created)
	byLabel, label1 := dated(label)
	clips := byLabel
	r.Order = ByTimecode
	if len(byCreation) == len(r.Clips) && created1 >= label1 {
		clips, r.Order = byCreation, ByCreation
	}
	if len(clips) > 0 {
		r.Began = clips[0].Hours
	}
	for i := range clips {
		clips[i].Hours -= r.Began
	}
	r.Clips = clips
	return r
}
