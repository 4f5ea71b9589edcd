package qc

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
)

// ManifestName is the name of the file in which the crew can say what belongs
// together. It overrides whatever the names of the files would say.
const ManifestName = "pairs.csv"

// Manifest is what a pairs.csv file says: a CSV file with the columns left and
// right and, where wanted, packing and name. Lines that start with # are
// comments.
type Manifest struct {
	Path string // of the manifest; file names in it are relative to its folder
	Rows []ManifestRow
}

// ManifestRow is one clip of a manifest. Right is empty where the packing says
// that the file named as left holds both eyes.
type ManifestRow struct {
	Line        int
	Left, Right string // paths, joined to the manifest's folder
	Packing     Packing
	Name        string // empty: from the files' names
}

// ParseManifest reads a manifest. The path says where it comes from: it opens
// the error messages and is what the files named in it are relative to.
func ParseManifest(r io.Reader, path string) (Manifest, error) {
	m := Manifest{Path: path}
	table, err := readTable(r, path, []string{"left", "right"}, []string{"packing", "name"})
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
		row := ManifestRow{
			Line: cells.line, Name: cells.at["name"],
			Left: within(cells.at["left"]), Right: within(cells.at["right"]),
		}
		problem := ""
		row.Packing = Separate
		if word := cells.at["packing"]; word != "" {
			if row.Packing, err = ParsePacking(word); err != nil {
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
			problems = append(problems, fmt.Errorf("%s:%d: %s", path, cells.line, problem))
			continue
		}
		m.Rows = append(m.Rows, row)
	}
	return m, errors.Join(problems...)
}

// cells is a row of a table: its line in the file and its cells by column,
// without the space around them.
type cells struct {
	line int
	at   map[string]string
}

// readTable reads a CSV file with a header, in which # starts a comment line.
// The columns may come in any order; those that are optional may be missing.
func readTable(r io.Reader, name string, required, optional []string) ([]cells, error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	// Spreadsheets open a UTF-8 file with a byte order mark.
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	reader := csv.NewReader(bytes.NewReader(data))
	reader.Comment = '#'
	reader.FieldsPerRecord = -1

	header, err := reader.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: empty; its first line should be %s", name, strings.Join(slices.Concat(required, optional), ","))
	}
	if err != nil {
		return nil, tableError(name, err)
	}
	for i, column := range header {
		header[i] = strings.ToLower(strings.TrimSpace(column))
		line, _ := reader.FieldPos(i)
		switch {
		case len(header) == 1 && strings.Contains(column, ";"):
			return nil, fmt.Errorf("%s:%d: its cells are separated by semicolons: separate them by commas, and write numbers with a point", name, line)
		case !slices.Contains(required, header[i]) && !slices.Contains(optional, header[i]):
			return nil, fmt.Errorf("%s:%d: unknown column %q (%s)", name, line, column, strings.Join(slices.Concat(required, optional), ", "))
		case slices.Contains(header[:i], header[i]):
			return nil, fmt.Errorf("%s:%d: column %s comes twice", name, line, header[i])
		}
	}
	for _, column := range required {
		if !slices.Contains(header, column) {
			return nil, fmt.Errorf("%s: no column %q in its first line", name, column)
		}
	}
	var table []cells
	for {
		fields, err := reader.Read()
		if errors.Is(err, io.EOF) {
			return table, nil
		}
		if err != nil {
			return nil, tableError(name, err)
		}
		line, _ := reader.FieldPos(0)
		if len(fields) != len(header) {
			return nil, fmt.Errorf("%s:%d: %d cells under %d columns (a cell with a comma in it needs quotes)", name, line, len(fields), len(header))
		}
		row := cells{line: line, at: map[string]string{}}
		for i, field := range fields {
			row.at[header[i]] = strings.TrimSpace(field)
		}
		table = append(table, row)
	}
}

func tableError(name string, err error) error {
	if parse, ok := errors.AsType[*csv.ParseError](err); ok {
		return fmt.Errorf("%s:%d: %w", name, parse.Line, parse.Err)
	}
	return fmt.Errorf("%s: %w", name, err)
}
