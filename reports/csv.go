package reports

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
)

// csvWriter writes rows as RFC 4180 wants them: lines end in CR LF, and a cell
// keeps its own line breaks as they are, which csv.Writer alone would not do
// with UseCRLF.
type csvWriter struct {
	dst *bytes.Buffer
}

func (w *csvWriter) row(cells []string) {
	for i, c := range cells {
		cells[i] = strings.ToValidUTF8(c, "\uFFFD")
	}
	enc := csv.NewWriter(w.dst)
	if err := enc.Write(cells); err != nil {
		panic(err) // only a bad separator, and ours is the default
	}
	enc.Flush()
	w.dst.Truncate(w.dst.Len() - 1)
	w.dst.WriteString("\r\n")
}

// count writes a number of things, and nothing where it is not known.
func count(n int) string {
	if n <= 0 {
		return ""
	}
	return strconv.Itoa(n)
}
