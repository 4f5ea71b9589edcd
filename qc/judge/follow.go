package judge

import (
	"cmp"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"time"
	"unicode"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// Follow is two clips of one setup of which the one was shot next after the other,
// with the depth of the last measured moment of the one and of the first of the
// other: what eyes would have to do if they were cut together. Whether they will
// be, nobody knows by night.
type Follow struct {
	From, To           string // names of the clips
	FromLabel, ToLabel string // when these moments are
	Before, After      record.Depths
	record             record.Record // the first clip
	place              Place
}

// Follows lists the clips that follow each other, in the order of their shooting.
//
// Of one setup are clips from one folder, of the same cameras and picture size,
// whose names differ in their last number alone, as cameras and slates count: the
// files tell no more of it. They come in the order in which they were begun by
// their own times, or else by their timecodes, or where the files tell neither by
// that number.
func Follows(records []record.Record) []Follow {
	var list []Follow
	for _, takes := range setups(records) {
		for i := 1; i < len(takes); i++ {
			a, b := takes[i-1].Record, takes[i].Record
			from, to := a.Moments[len(a.Moments)-1], b.Moments[0]
			if before, after := from.Depths(), to.Depths(); before != nil && after != nil {
				list = append(list, Follow{
					From: a.Header.Clip.Name, To: b.Header.Clip.Name, FromLabel: from.Label(), ToLabel: to.Label(),
					Before: *before, After: *after, record: a, place: placeOf(from, to, nowhere.Worst),
				})
			}
		}
	}
	return list
}

// setupKey is what clips that follow each other have in common.
type setupKey struct {
	folder, before, after string // around the last number of their names
	left, right           string // cameras
	width, height         int
}

// numbered is a clip with the last number of its name.
type numbered struct {
	record.Record
	number uint64
}

// setups parts clips that were measured by their setups, in the order in which
// these first come, each in the order of shooting. Clips without a number in their
// names are left out.
func setups(records []record.Record) [][]numbered {
	var all [][]numbered
	at := map[setupKey]int{}
	for _, r := range records {
		if r.Failure() != "" {
			continue
		}
		h := r.Header
		before, number, after, ok := lastNumber(h.Clip.Name)
		if !ok {
			continue
		}
		key := setupKey{filepath.Dir(h.Clip.Left), before, after, h.Left.Camera, h.Right.Camera, h.EyeWidth, h.EyeHeight}
		i, known := at[key]
		if !known {
			i = len(all)
			at[key] = i
			all = append(all, nil)
		}
		all[i] = append(all[i], numbered{r, number})
	}
	for _, takes := range all {
		began := beginning(takes)
		slices.SortStableFunc(takes, func(a, b numbered) int {
			return cmp.Or(cmp.Compare(began(a), began(b)), cmp.Compare(a.number, b.number))
		})
	}
	return all
}

// beginning returns what tells when clips were begun, in hours from any instant:
// the same for all where the files do not tell.
func beginning(takes []numbered) func(numbered) float64 {
	created := func(n numbered) (float64, bool) {
		c := n.Header.Left.Created
		return c.Sub(time.Unix(0, 0)).Hours(), !c.IsZero()
	}
	label := func(n numbered) (float64, bool) { return n.Header.Left.LabelHours() }
	for _, told := range []func(numbered) (float64, bool){created, label} {
		if !slices.ContainsFunc(takes, func(n numbered) bool { _, ok := told(n); return !ok }) {
			return func(n numbered) float64 { v, _ := told(n); return v }
		}
	}
	return func(numbered) float64 { return 0 }
}

// lastNumber parts a name around the last number in it.
func lastNumber(name string) (before string, number uint64, after string, ok bool) {
	runes := []rune(name)
	digit := func(r rune) bool { return r < unicode.MaxASCII && unicode.IsDigit(r) }
	end := len(runes)
	for end > 0 && !digit(runes[end-1]) {
		end--
	}
	from := end
	for from > 0 && digit(runes[from-1]) {
		from--
	}
	number, err := strconv.ParseUint(string(runes[from:end]), 10, 64)
	return string(runes[:from]), number, string(runes[end:]), err == nil
}

// followingReadings returns the largest jump of an end of the depth from a clip to the one
// that follows it, of each setup once.
func followingReadings(d day, limits []Limit) []dayReading {
	metric := limits[0].Metric
	type worst struct {
		follow         Follow
		value          stat.Measurement
		beyond, number int
	}
	var setups []*worst
	of := map[string]*worst{}
	for _, f := range Follows(d.records) {
		m, ok := change(metric, &f.Before, &f.After)
		if !ok {
			continue
		}
		before, _, after, _ := lastNumber(f.From)
		key := fmt.Sprintf("%q %q %q", filepath.Dir(f.record.Header.Clip.Left), before, after)
		w := of[key]
		if w == nil {
			w = &worst{follow: f, value: m}
			of[key] = w
			setups = append(setups, w)
		}
		w.number++
		if _, status := worstOf(limits, m); status != Passed {
			w.beyond++
		}
		if math.Abs(m.Value) > math.Abs(w.value.Value) {
			w.follow, w.value = f, m
		}
	}
	var all []dayReading
	for _, w := range setups {
		r := dayReading{
			value: w.value, clips: []string{w.follow.From, w.follow.To}, in: w.follow.record.Header, mend: Post, place: w.follow.place,
			say: func(f Finding) string {
				return fmt.Sprintf("from %s to %s, which follows it, %s would jump by %s", w.follow.From, w.follow.To, Label(metric), f.signedAmount(f.Value))
			},
			advice: "If they are cut together, ease it by a shift on either side of the cut.",
		}
		if w.beyond > 1 {
			r.notes = []string{fmt.Sprintf("%d of %d such places of this setup are beyond the limit.", w.beyond, w.number)}
		}
		all = append(all, r)
	}
	return all
}
