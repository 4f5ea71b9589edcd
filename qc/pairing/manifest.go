package pairing

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"

	"nightpair/qc/record"
	"nightpair/qc/table"
)

// ManifestName is the name of the file in which the crew can say what belongs
// together. It overrides whatever the names of the files would say.
const ManifestName = "pairs.csv"

// manifest is what a pairs.csv file says: a CSV file with the columns left and
// right and, where wanted, packing and name. Lines that start with # are
// comments.
type manifest struct {
	Path string // of the manifest; file names in it are relative to its folder
	Rows []manifestRow
}

// manifestRow is one clip of a manifest. Right is empty where the packing says
// that the file named as left holds both eyes.
type manifestRow struct {
	Line        int
	Left, Right string // paths, joined to the manifest's folder
	Packing     record.Packing
	Name        string // empty: from the files' names
}

// parseManifest reads a manifest. The path says where it comes from: it opens
// the error messages and is what the files named in it are relative to.
func parseManifest(r io.Reader, path string) (manifest, error) {
	m := manifest{Path: path}
	table, err := table.Read(r, path, []string{"left", "right"}, []string{"packing", "name"})
	if err != nil {
		return m, err
	}
	folder := filepath.Dir(path)
	within := func(name string) string {
		if name == "" || filepath.IsAbs(name) {
			return name
		}
		return filepath.Join(folder, filepath.FromSlash(name))
	}
	var problems []error
	for _, cells := range table {
		row := manifestRow{
			Line: cells.Line, Name: cells.Cells["name"],
			Left: within(cells.Cells["left"]), Right: within(cells.Cells["right"]),
		}
		problem := ""
		row.Packing = record.Separate
		if word := cells.Cells["packing"]; word != "" {
			if row.Packing, err = record.ParsePacking(word); err != nil {
				problem = err.Error()
			}
		} else if row.Right == "" {
			problem = "a left file without a right one needs a packing"
		}
		switch {
		case problem != "":
		case row.Left == "":
			problem = "no left file"
		case row.Left == row.Right:
			problem = "the same file for both eyes"
		case !row.Packing.OneFile() && row.Right == "":
			problem = "no right file"
		case row.Packing.OneFile() && row.Right != "":
			problem = fmt.Sprintf("two files, yet %s: leave the right one empty", row.Packing)
		}
		if problem != "" {
			problems = append(problems, fmt.Errorf("%s:%d: %s", path, cells.Line, problem))
			continue
		}
		m.Rows = append(m.Rows, row)
	}
	return m, errors.Join(problems...)
}
