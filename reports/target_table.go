package reports

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"nightpair/metrics/stat"
	"nightpair/qc/number"
	"nightpair/qc/target"
)

// targetTable is what the targets of one setup tell of the rig.
type targetTable struct {
	Setup string
	Lead  string // the rig by the targets, in a sentence or two
	Told  bool   // whether the crew says where the cameras converge
	Rows  []targetTableRow
}

type targetTableRow struct {
	Clip              string
	Page              template.URL // empty where there is no such clip
	Metres, Converged string
	// Parallax and Apart have two standard errors with them.
	Parallax, Fitted, Apart, Sigmas string
	Missing                         string
}

func (r *report) targetTables() []targetTable {
	var tables []targetTable
	for _, f := range r.Targets {
		t := targetTable{Setup: f.Setup, Lead: targetLead(f)}
		for _, c := range f.Targets {
			row := targetTableRow{Clip: c.Clip, Metres: number.Plain(c.Metres, 2), Missing: c.Parallax.Missing}
			for _, other := range r.clips {
				if other.name() == c.Clip {
					row.Page = other.page("clips/")
				}
			}
			switch {
			case math.IsInf(c.Converged, 1):
				t.Told, row.Converged = true, "parallel"
			case c.Converged > 0:
				t.Told, row.Converged = true, number.Plain(c.Converged, 2)
			}
			if row.Missing == "" {
				row.Parallax = measured(c.Parallax, 3, true)
				if !math.IsNaN(c.Fitted) {
					row.Fitted = number.Signed(c.Fitted, 3)
				}
				if c.Apart.OK() {
					row.Apart = measured(c.Apart, 3, true)
					row.Sigmas = number.Signed(c.Apart.Value/c.Apart.SE, 1)
				}
			}
			t.Rows = append(t.Rows, row)
		}
		tables = append(tables, t)
	}
	return tables
}

// targetLead says what the targets come to.
func targetLead(f target.Fit) string {
	parts := []string{"Parallax has to be b·f·(1/Zc − 1/Z) at the distance Z, with the interaxial b, the focal length f in picture widths and the distance Zc of the convergence. ± is two standard errors."}
	if f.Strength.OK() {
		parts = append(parts, fmt.Sprintf("By these targets b·f is %s %% of the width × m.", measured(f.Strength, 2, false)))
	} else {
		parts = append(parts, "b·f is not known: "+f.Strength.Missing+".")
	}
	switch {
	case f.Converges.OK():
		parts = append(parts, fmt.Sprintf("The cameras converge at %s m.", measured(f.Converges, 2, false)))
	case f.Off.OK():
		parts = append(parts, fmt.Sprintf("What stands where the cameras are said to converge has a parallax of %s %% of the width.", measured(f.Off, 3, true)))
	case f.Strength.OK():
		parts = append(parts, "Where they converge is not known: "+f.Converges.Missing+".")
	}
	return strings.Join(parts, " ")
}

// measured writes a value with two standard errors.
func measured(m stat.Measurement, decimals int, sign bool) string {
	write := number.Plain
	if sign {
		write = number.Signed
	}
	return write(m.Value, decimals) + " ± " + number.Plain(2*m.SE, decimals)
}
