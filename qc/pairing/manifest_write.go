package pairing

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"nightpair/qc/record"
)

// manifestLine returns a line of a manifest.
func manifestLine(cells ...string) string {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write(cells) // to memory
	w.Flush()
	line := strings.TrimSuffix(b.String(), "\n")
	if strings.HasPrefix(line, "#") {
		line = `"` + line + `"` // no comment
	}
	return line
}

// WriteManifest writes clips as a manifest to edit, to lie in a folder. What cannot be
// measured as it is comes as comments.
func WriteManifest(w io.Writer, folder string, clips []record.Clip) error {
	var b strings.Builder
	b.WriteString("left,right,packing,name\n")
	path := func(p string) string {
		if p == "" {
			return ""
		}
		abs, err := filepath.Abs(p)
		if err != nil {
			return p
		}
		if within, err := filepath.Rel(folder, abs); err == nil && filepath.IsLocal(within) {
			return filepath.ToSlash(within)
		}
		return abs
	}
	comment := func(text string) {
		text = strings.Map(func(r rune) rune {
			if r == '\n' || r == '\r' {
				return ' '
			}
			return r
		}, text)
		b.WriteString("# " + text + "\n")
	}
	for _, c := range clips {
		packing := ""
		if c.Packing.OneFile() {
			packing = string(c.Packing)
		}
		line := manifestLine(path(c.Left), path(c.Right), packing, c.Name)
		if c.Problem != "" {
			comment(c.Problem)
			comment(line)
			continue
		}
		comment(c.Why)
		b.WriteString(line + "\n")
	}
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("write the list of pairs: %w", err)
	}
	return nil
}
