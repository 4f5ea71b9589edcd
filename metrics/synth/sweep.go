package synth

import "os"

// LongSweeps reports whether tests shall go over all scenes and sizes, which takes hours,
// and not over a few of each; see make accuracy.
func LongSweeps() bool { return os.Getenv("NIGHTPAIR_ACCURACY") != "" }
