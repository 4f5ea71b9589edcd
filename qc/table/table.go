package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// Row is a row of a table: its line in the file and its cells by column,
// without the space around them.
type Row struct {
	Line  int
	Cells map[string]string
}

// Read reads a CSV file with a header, in which # starts a comment line.
// The columns may come in any order; those that are optional may be missing.
func Read(r io.Reader, name string, required, optional []string) ([]Row, error) {
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
	var table []Row
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
		row := Row{Line: line, Cells: map[string]string{}}
		for i, field := range fields {
			row.Cells[header[i]] = strings.TrimSpace(field)
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
