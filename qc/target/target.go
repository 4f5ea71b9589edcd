package target

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"

	"nightpair/qc/table"
)

// Target is a clip that shows a target at a known distance, as the crew tells it in a
// file: CSV with the columns clip and metres and, where wanted, converged and
// setup. Lines that start with # are comments.
type Target struct {
	Line int
	// Clip is the clip's name in the report. The target fills its picture, or is what
	// is in focus.
	Clip   string
	Metres float64 // from the lenses, along the axis
	// Converged is the distance in metres at which the cameras were set to converge,
	// +Inf where they were set parallel; 0 when the file does not say.
	Converged float64
	// Setup tells targets apart that were shot with other lenses or another distance
	// between the cameras or, where Converged is not told, another convergence.
	Setup string
}

// What a distance can be, the project's own choice: what is beyond was given in
// another unit.
const MinTargetMetres, MaxTargetMetres = 0.05, 1000 // metres

// Parse reads a file of targets. The name opens the error messages, which
// tell line and reason of everything that is wrong.
func Parse(r io.Reader, name string) ([]Target, error) {
	table, err := table.Read(r, name, []string{"clip", "metres"}, []string{"converged", "setup"})
	if err != nil {
		return nil, err
	}
	var targets []Target
	var problems []error
	told := map[string]bool{} // by setup, whether the first row says where it converges
	lines := map[string]int{} // by clip
	for _, row := range table {
		c := Target{Line: row.Line, Clip: row.Cells["clip"], Setup: row.Cells["setup"]}
		problem := func(format string, args ...any) {
			problems = append(problems, fmt.Errorf("%s:%d: "+format, append([]any{name, row.Line}, args...)...))
		}
		if c.Clip == "" {
			problem("no clip")
			continue
		}
		if line, twice := lines[c.Clip]; twice {
			problem("%s is in line %d already", c.Clip, line)
			continue
		}
		lines[c.Clip] = row.Line
		if c.Metres, err = parseMetres(row.Cells["metres"]); err != nil || math.IsInf(c.Metres, 0) {
			problem("metres: %q is no distance from %v to %v m", row.Cells["metres"], MinTargetMetres, MaxTargetMetres)
			continue
		}
		if cell := row.Cells["converged"]; cell != "" {
			if c.Converged, err = parseMetres(cell); err != nil {
				problem("converged: %q is no distance from %v to %v m, nor inf for parallel cameras", cell, MinTargetMetres, MaxTargetMetres)
				continue
			}
		}
		first, known := told[c.Setup]
		if known && first != (c.Converged != 0) {
			problem("of the targets of one setup all or none say where the cameras converge")
			continue
		}
		told[c.Setup] = c.Converged != 0
		targets = append(targets, c)
	}
	if err := errors.Join(problems...); err != nil {
		return nil, err
	}
	if len(targets) == 0 {
		return nil, fmt.Errorf("%s: no targets in it", name)
	}
	return targets, nil
}

func parseMetres(cell string) (float64, error) {
	v, err := strconv.ParseFloat(cell, 64)
	if err == nil && !math.IsInf(v, 1) && !(v >= MinTargetMetres && v <= MaxTargetMetres) {
		err = strconv.ErrRange
	}
	return v, err
}

// OpenTargets reads the file of targets of that path.
func OpenTargets(path string) ([]Target, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read the targets: %w", err)
	}
	defer f.Close()
	return Parse(f, path)
}
