// Package series tells what a metric comes to over a clip.
//
// Moments are measured finely but rarely. Their median has the standard error of the median of
// independent values, and of what scatter does not explain, since an error that is common to
// all moments does not average out. Percentiles join the uncertainty of their rank with that
// of the value found there. A drift is the change along a robust line (Theil–Sen), believed
// where the Mann–Kendall test calls it more than chance.
//
// Frames are compared coarsely but without a gap (package metrics/coarse). They are tied to the
// moments: by what both differ on the median over a shot, the coarse readings are shifted. How
// much that difference wanders from moment to moment, beyond what the errors of both explain,
// is the error that remains in all of them. A stretch is the median over some time, of frames or of neighbouring moments; the
// worst one and the largest change from one to another are told with an error that counts how
// many there were to choose from.
package series
