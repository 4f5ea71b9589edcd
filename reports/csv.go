package reports

import (
	"bytes"
	"encoding/csv"
	"math"
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

// cell writes v with at most that many decimals, in the shortest form that
// reads back as the rounded value.
func cell(v float64, decimals int) string {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'f', decimals, 64), 64)
	if r == 0 {
		return "0" // not -0
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// cellSE writes a standard error like cell, but never lets rounding claim that
// a value is exact: what would become 0 keeps two significant digits.
func cellSE(se float64, decimals int) string {
	if se > 0 && se < 0.5*math.Pow(10, -float64(decimals)) {
		r, _ := strconv.ParseFloat(strconv.FormatFloat(se, 'e', 1, 64), 64)
		return strconv.FormatFloat(r, 'f', -1, 64)
	}
	return cell(se, decimals)
}

// count writes a number of things, and nothing where it is not known.
func count(n int) string {
	if n <= 0 {
		return ""
	}
	return strconv.Itoa(n)
}
