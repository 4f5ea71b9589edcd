package record

// A scan reads every frame of clips up to ScanFrames long. Of longer ones it
// reads runs of ScanRun frames spread evenly, ScanFrames in all: then a single
// repeated frame between two runs is not found, while a missing frame is
// still seen by the step in sync from one run to the next. The project's own
// choice: a minute of 25 frames a second in full, and a bounded price for what is
// longer; see the benchmark of the scan beside that of a plain decode.
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
	n := min(r.Header.Left.Frames, r.Header.Right.Frames)
	if r.Header.Sync.Scanned == 0 || r.Header.Left.Variable || r.Header.Right.Variable || n <= 0 {
		return false
	}
	for _, run := range ScannedRuns(n) {
		if from >= run[0] && to < run[1] {
			return true
		}
	}
	return false
}
