package pairing

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"nightpair/qc/table"
)

// RigsName is the name of the file in which the crew can say which camera is which eye of
// which rig.
const RigsName = "rigs.csv"

// rigCamera is a row of such a file. Camera is a serial, a name or a folder.
type rigCamera struct {
	Camera string
	Eye    side // noSide where it is not said
	Rig    string
	line   int
}

// parseRigs reads the columns camera, eye, rig, focal_mm, sensor_width_mm and
// interaxial_mm, of which all but the first may be missing and all cells but the first
// column's empty.
func parseRigs(r io.Reader, path string) ([]rigCamera, error) {
	lengths := []string{"focal_mm", "sensor_width_mm", "interaxial_mm"}
	rows, err := table.Read(r, path, []string{"camera"}, append([]string{"eye", "rig"}, lengths...))
	if err != nil {
		return nil, err
	}
	var cameras []rigCamera
	for _, row := range rows {
		c := rigCamera{Camera: row.Cells["camera"], Rig: row.Cells["rig"], line: row.Line}
		if c.Camera == "" {
			return nil, fmt.Errorf("%s:%d: no camera: its serial, its name or its folder", path, row.Line)
		}
		if eye := row.Cells["eye"]; eye != "" {
			if c.Eye = markWords[strings.ToLower(eye)]; c.Eye == noSide {
				return nil, fmt.Errorf("%s:%d: eye %s: it is left or right", path, row.Line, eye)
			}
		}
		for _, column := range lengths {
			if cell := row.Cells[column]; cell != "" {
				if mm, err := strconv.ParseFloat(cell, 64); err != nil || !(mm > 0) {
					return nil, fmt.Errorf("%s:%d: %s %s: it must be a number of millimetres above 0", path, row.Line, column, cell)
				}
			}
		}
		cameras = append(cameras, c)
	}
	return cameras, nil
}

func readRigs(path string) ([]rigCamera, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read the list of rigs: %w", err)
	}
	defer f.Close()
	return parseRigs(f, path)
}

// took reports whether the camera took a file: it is tagged with its name or serial, or lies
// in its folder.
func (c rigCamera) took(path, tagged string) bool {
	if containsWords(tagged, c.Camera) {
		return true
	}
	folder := filepath.ToSlash(filepath.Dir(path))
	want := strings.Trim(filepath.ToSlash(filepath.Clean(c.Camera)), "/")
	return strings.Contains("/"+strings.ToLower(strings.Trim(folder, "/"))+"/", "/"+strings.ToLower(want)+"/")
}

// containsWords reports whether the words of part are in s in a row, in any case.
func containsWords(s, part string) bool {
	words := " " + strings.ToLower(strings.Join(strings.Fields(s), " ")) + " "
	wanted := " " + strings.ToLower(strings.Join(strings.Fields(part), " ")) + " "
	return strings.TrimSpace(wanted) != "" && strings.Contains(words, wanted)
}
