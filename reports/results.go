package reports

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"

	"nightpair/metrics"
	"nightpair/qc/history"
	"nightpair/qc/judge"
	"nightpair/qc/record"
	"nightpair/qc/screen"
	"nightpair/qc/target"
)

// Results is what a report tells about: the clips of one run, measured and
// judged.
type Results struct {
	// Title says what was checked, such as the name of the day's folder; the
	// morning page carries it as its heading. May be empty.
	Title    string
	Records  []record.Record
	Verdicts []judge.Verdict // one for each record, in any order
	Day      []judge.Finding // what is about no single clip
	Screens  []screen.Screen // what the parallax was judged for
	LimitSet string          // name of the limits file or built-in set
	Limits   judge.Limits    // what was judged against, on those screens
	Targets  []target.Fit    // what test targets at known distances tell
	Notes    []string        // what else there is to know of the judging, a sentence each
}

// Write writes the report of n into the folder dir, which it makes when it is
// not there. Each file appears whole or not at all; pages and stills that an
// earlier report left for clips that are gone are removed, and nothing else
// is. The same night gives the same bytes, whatever the order of its records.
func Write(dir string, n Results) error {
	r, err := newReport(n, metrics.All)
	if err != nil {
		return err
	}
	out, err := openFolder(dir)
	if err != nil {
		return err
	}
	// The tables come first: they need no picture, and the morning page last,
	// so that it never links to what is not there.
	if err := r.writeTables(out); err != nil {
		return err
	}
	if err := r.writeStills(out); err != nil {
		return err
	}
	if err := r.writeFixes(out); err != nil {
		return err
	}
	if err := r.writePages(out); err != nil {
		return err
	}
	return out.removeStale()
}

// report is a night made ready for writing.
type report struct {
	Results
	metrics []metrics.Metric // the columns
	clips   []*clip          // by name
	worst   []*clip          // the same, worst first
	follows []judge.Follow
	// histories are those of the rigs, and lineUps what there is to adjust on each.
	histories []history.History
	lineUps   [][]adjustment
}

// clip is one clip of the night with all that is known of it.
type clip struct {
	*record.Record
	verdict judge.Verdict
	key     string // what its files are called
	stills  []still
	noStill string // why there is none
}

func (c *clip) name() string { return c.Header.Clip.Name }

func newReport(n Results, columns []metrics.Metric) (*report, error) {
	r := &report{Results: n, metrics: columns, follows: judge.Follows(n.Records)}
	r.histories = history.FollowAll(n.Records)
	crew, _ := judge.LookupLimits(rigLimits)
	for _, h := range r.histories {
		r.lineUps = append(r.lineUps, lineUp(h, crew.Limits()))
	}
	verdicts := make(map[string]judge.Verdict, len(n.Verdicts))
	for _, v := range n.Verdicts {
		verdicts[v.Clip] = v
	}
	keys := make(map[string]string, len(n.Records))
	for i := range n.Records {
		c := &clip{Record: &n.Records[i]}
		v, ok := verdicts[c.name()]
		if !ok {
			return nil, fmt.Errorf("report: clip %q has no verdict", c.name())
		}
		c.verdict = v
		c.key = c.Header.Clip.Key()
		if other, taken := keys[c.key]; taken {
			return nil, fmt.Errorf("report: clips %q and %q would share their files", other, c.name())
		}
		keys[c.key] = c.name()
		r.clips = append(r.clips, c)
	}
	slices.SortFunc(r.clips, func(p, q *clip) int { return cmp.Compare(p.name(), q.name()) })
	r.worst = slices.Clone(r.clips)
	slices.SortStableFunc(r.worst, func(p, q *clip) int { return p.verdict.Compare(q.verdict) })
	return r, nil
}

func (r *report) writeTables(out *folder) error {
	for _, table := range []struct {
		name string
		rows func(*csvWriter)
	}{
		{"clips.csv", r.clipRows},
		{"findings.csv", r.findingRows},
		{"samples.csv", r.sampleRows},
		{"day.csv", r.dayRows},
		{"rig.csv", r.rigRows},
	} {
		var b bytes.Buffer
		table.rows(&csvWriter{dst: &b})
		if err := out.write(table.name, b.Bytes()); err != nil {
			return err
		}
	}
	return nil
}
