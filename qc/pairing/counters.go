package pairing

import (
	"path/filepath"
	"slices"

	"nightpair/qc/record"
)

// counted is a pair of files of the same name in the folders of two eyes.
type counted struct {
	draft
	left, right element
}

// countedApart returns the pairs among which names may be no more than two cameras' own
// counters: files of the same name in the folders of two eyes, both of which also hold files
// without a mate.
func countedApart(pairs []counted, shots []shot) []counted {
	lonely := map[string]bool{}
	for _, s := range shots {
		lonely[filepath.Dir(s.path)] = true
	}
	return slices.DeleteFunc(slices.Clone(pairs), func(c counted) bool {
		return !lonely[filepath.Dir(c.left.path)] || !lonely[filepath.Dir(c.right.path)]
	})
}

// reconciled puts pairs by counter and what was found by when and what together. A pair by
// counter stays unless one of its files surely belongs with another; what was found of the
// files of those that stay is dropped.
func reconciled(pairs []counted, found []draft) []draft {
	mate := map[string]string{}
	for _, d := range found {
		if d.Problem == "" && d.Packing == record.Separate {
			mate[d.Left], mate[d.Right] = d.Right, d.Left
		}
	}
	stays := map[string]bool{}
	var drafts []draft
	for _, c := range pairs {
		l, leftMated := mate[c.left.path]
		r, rightMated := mate[c.right.path]
		if leftMated && l != c.right.path || rightMated && r != c.left.path {
			continue
		}
		stays[c.left.path], stays[c.right.path] = true, true
		drafts = append(drafts, c.draft)
	}
	for _, d := range found {
		if !stays[d.Left] && !stays[d.Right] {
			drafts = append(drafts, d)
		}
	}
	return drafts
}
