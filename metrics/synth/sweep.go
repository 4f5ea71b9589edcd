package synth

import "os"

// LongSweeps reports whether tests go over all scenes and sizes, which takes hours, instead
// of a few of each; see make accuracy.
func LongSweeps() bool { return os.Getenv("NIGHTPAIR_ACCURACY") != "" }
