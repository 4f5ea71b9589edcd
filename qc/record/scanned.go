package record

import (
	"slices"

	"nightpair/metrics/timing"
)

// Before moments are measured, every frame of clips up to ScanFrames long is looked at. Of
// longer ones runs of ScanRun frames are, spread evenly, ScanFrames in all: they tell the slip.
// Frame faults and cuts between them are found when every frame is compared. The project's own
// choice: a minute of 25 frames a second in full, and a bounded price for what is longer; see
// the benchmark of the scan beside that of a plain decode.
const (
	ScanFrames = 1500
	ScanRun    = 250
)

// ScannedRuns returns which of n frames a scan reads.
func ScannedRuns(n int) [][2]int {
	if n <= ScanFrames {
		return [][2]int{{0, n}}
	}
	const runs = ScanFrames / ScanRun
	var list [][2]int
	for i := range runs {
		from := i * (n - ScanRun) / (runs - 1)
		list = append(list, [2]int{from, from + ScanRun})
	}
	return list
}

// Looked reports whether all frames of the left eye from one to another were
// looked at for cuts.
func (r Record) Looked(from, to int) bool {
	if s := r.Header.Sync; s.Scanned == 0 || r.Header.Left.Variable || r.Header.Right.Variable {
		return false
	} else if s.Runs == nil {
		return true
	}
	return slices.ContainsFunc(r.Header.Sync.Runs, func(run timing.Stretch) bool { return from >= run.From && to < run.To })
}
