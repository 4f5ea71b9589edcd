package pairing

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"nightpair/qc/record"
)

// chosenBy marks the files that manifests name, which are footage whatever they
// are called.
func chosenBy(manifests []manifest, files []file, id func(path string) string) []file {
	wanted := map[string]bool{}
	for _, m := range manifests {
		for _, row := range m.Rows {
			wanted[id(row.Left)] = true
			if row.Right != "" {
				wanted[id(row.Right)] = true
			}
		}
	}
	files = slices.Clone(files)
	for i := range files {
		files[i].chosen = files[i].chosen || wanted[files[i].id]
	}
	return files
}

// fromManifests makes the clips that manifests name, and says which elements
// they take.
func fromManifests(elements []element, manifests []manifest, id func(path string) string) ([]draft, map[int]bool) {
	at := map[string]int{}
	for i, e := range elements {
		at[e.id] = i
		if len(e.members) > 0 {
			at[id(e.path)] = i
			for _, m := range e.members {
				at[m] = i
			}
		}
	}
	manifests = slices.Clone(manifests)
	slices.SortFunc(manifests, func(a, b manifest) int { return cmp.Compare(a.Path, b.Path) })

	var drafts []draft
	taken := map[int]bool{}
	by := map[int]string{}
	for _, m := range manifests {
		for _, row := range m.Rows {
			where := fmt.Sprintf("%s line %d", filepath.Base(m.Path), row.Line)
			d := draft{Clip: record.Clip{Packing: row.Packing, Why: where}}
			var problems []string
			claim := func(path string) string {
				i, ok := at[id(path)]
				switch {
				case !ok:
					problems = append(problems, "no such file: "+path)
					return ""
				case taken[i]:
					problems = append(problems, fmt.Sprintf("%s is in %s already", elements[i].path, by[i]))
					return ""
				}
				taken[i] = true
				by[i] = where
				if d.names == nil {
					d.names = elements[i].names(nil)
					if row.Right != "" {
						d.names = elements[i].names(elements[i].marks())
					}
				}
				return elements[i].path
			}
			d.Left = claim(row.Left)
			if row.Right != "" {
				d.Right = claim(row.Right)
			}
			if len(problems) > 0 {
				d.Problem = where + ": " + strings.Join(problems, "; ")
			}
			if row.Name != "" {
				d.names = []string{cleanName(row.Name)}
			}
			if d.names == nil {
				d.names = element{file: file{path: row.Left, root: filepath.Dir(m.Path)}}.names(nil)
			}
			drafts = append(drafts, d)
		}
	}
	return drafts, taken
}
