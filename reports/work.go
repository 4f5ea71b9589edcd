package reports

import (
	"html/template"
	"slices"
	"strings"

	"nightpair/qc/judge"
)

// workList is what one of the crew has to do.
type workList struct {
	Name, For, Nothing string
	Items              []workItem
}

// workItem is a fault with the clips that show it.
type workItem struct {
	Fault string
	Range string // of the values, with their unit
	Clips []workClip
}

// foldFrom is how many clips are listed openly; more would push the clips
// themselves off the page.
const foldFrom = 9

// Folded reports whether there are so many clips that the list opens on demand.
func (w workItem) Folded() bool { return len(w.Clips) >= foldFrom }

type workClip struct {
	Name string
	Page template.URL
}

// workLists sorts the findings by who must act. A finding that nobody can be
// given goes on the list of what to look at, and so does every clip that could
// not be measured: what is unknown is somebody's work too.
func (r *report) workLists() []workList {
	return []workList{
		{Name: "For the edit", For: "Can be put right in post; each clip's page says how.",
			Nothing: "Nothing to correct.", Items: r.workOnClips(judge.Post)},
		{Name: "Shoot again", For: "No correction saves these.",
			Nothing: "Nothing to repeat.", Items: r.workOnClips(judge.Reshoot)},
		{Name: "For the rig crew", For: "Realign before the next shot.",
			Nothing: "Nothing to realign.", Items: r.workOnRig()},
		{Name: "Look at it", For: "The figures leave these open: somebody has to watch them.",
			Nothing: "Nothing was left open.", Items: r.workOnClips(judge.NoMend)},
	}
}

// mender gives whose work a finding is. One that could not be judged is
// nobody's yet, whatever would mend it.
func mender(f judge.Finding) judge.Mend {
	if f.Status == judge.Unmeasured {
		return judge.NoMend
	}
	return f.Mend
}

// workOnClips lists what a mender has to see to: the clips that show the same
// faults together, those with the worst clip first, then what is about the day, each
// with the clips that it lies between.
func (r *report) workOnClips(m judge.Mend) []workItem {
	var items []workItem
	at := map[string]int{} // which item has the fault
	for _, c := range r.worst {
		var faults []string
		for _, f := range c.verdict.Findings {
			if fault := judge.Label(f.Limit.Metric); mender(f) == m && !slices.Contains(faults, fault) {
				faults = append(faults, fault)
			}
		}
		if m == judge.NoMend && len(faults) == 0 && c.verdict.Status == judge.Unmeasured {
			faults = append(faults, orElse(c.failure(), "not measured"))
		}
		if len(faults) == 0 {
			continue
		}
		fault := strings.Join(faults, ", ")
		i, ok := at[fault]
		if !ok {
			i = len(items)
			at[fault] = i
			items = append(items, workItem{Fault: fault})
		}
		items[i].Clips = append(items[i].Clips, c.workClip())
	}
	for _, f := range r.Day {
		if mender(f) == m {
			items = append(items, workItem{Fault: faultOf(f), Range: r.valueRange([]judge.Finding{f}), Clips: r.workClips(f)})
		}
	}
	return items
}

// workOnRig lists the faults of the rig, each with the clips that show it, if it is
// theirs, and the values found: a rig is realigned once, not clip by clip. Clips that
// the editor can mend are there too, as the next ones would need the same.
func (r *report) workOnRig() []workItem {
	var faults []string
	found := map[string][]judge.Finding{}
	clips := map[string][]workClip{}
	add := func(f judge.Finding, by ...workClip) {
		k := faultOf(f)
		if found[k] == nil {
			faults = append(faults, k)
		}
		found[k] = append(found[k], f)
		for _, w := range by {
			if !slices.Contains(clips[k], w) {
				clips[k] = append(clips[k], w)
			}
		}
	}
	for _, c := range r.worst {
		for _, f := range c.verdict.Findings {
			if mender(f) == judge.Rig || f.Realign {
				add(f, c.workClip())
			}
		}
	}
	for _, f := range r.Day {
		if mender(f) == judge.Rig {
			add(f, r.workClips(f)...)
		}
	}
	var items []workItem
	for _, k := range faults {
		items = append(items, workItem{Fault: k, Clips: clips[k], Range: r.valueRange(found[k])})
	}
	return items
}

// faultOf names what a finding is about.
func faultOf(f judge.Finding) string {
	fault := judge.Label(f.Limit.Metric)
	if f.Limit.Statistic != nil && f.Limit.Statistic.Fault != "" {
		fault += " " + f.Limit.Statistic.Fault
	}
	return fault
}

// workClips returns the clips that a finding about the day names.
func (r *report) workClips(f judge.Finding) []workClip {
	var all []workClip
	for _, name := range f.Clips {
		for _, c := range r.clips {
			if c.name() == name {
				all = append(all, c.workClip())
			}
		}
	}
	return all
}

// valueRange writes the smallest and the largest value of findings on one
// thing.
func (r *report) valueRange(found []judge.Finding) string {
	m, _ := r.lookup(found[0].Limit.Metric)
	low, high := found[0].Value, found[0].Value
	for _, f := range found {
		low, high = min(low, f.Value), max(high, f.Value)
	}
	text := format(m, low)
	if t := format(m, high); t != text {
		text += " to " + t
	}
	return text + " " + found[0].Unit
}

func (c *clip) workClip() workClip {
	return workClip{Name: c.name(), Page: c.page("clips/")}
}
