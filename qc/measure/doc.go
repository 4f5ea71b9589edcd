// Package measure turns the footage of one clip into its record.
//
// # Steps
//
// [Clip] writes the record line by line:
//
//  1. openFootage opens both files; the early header is written (footage.go).
//  2. setupAsTagged takes the packing and the orientation from what the files say of
//     themselves (as_tagged.go).
//  3. sync scans the frames and finds the slip and the frame faults (sync.go, scan.go,
//     frame_faults.go).
//  4. orient finds mirrored and exchanged eyes in the pictures of four moments (orient.go).
//  5. time measures what takes motion on up to twelve bursts of three frames, and corrects
//     the slip where these show that it is off by a frame (burst.go).
//  6. cuts finds the cuts within the file and the depth on both sides of them (cuts.go).
//     The header is written.
//  7. Moments of the [Plan] are decoded one frame ahead, in passes each of which is spread
//     evenly over the clip; every metric of metrics.All is worked out, and a line is written
//     (measure.go, plan.go).
//  8. If the moments show a focus pull, some two dozen frames over it are looked at as well
//     (pull.go).
//  9. Moments are added between neighbouring ones that disagree (refine.go).
//  10. Small pictures of every frame are compared about the geometry of the nearest moment,
//     and lines with what they tell are written (every_frame.go). The trailer is written.
//
// Whatever is wrong with footage goes into the record. An error is returned only if the
// context ended or the record could not be written.
//
// # Which frames go together
//
// The slip is asked of the pictures first (timing.FindSlip), then of the cameras' sound, then
// of the timecode. It is looked for around nothing, around where sound or timecode put it if
// that is far away, and then anywhere (any_start.go): where and when things move is compared at
// all lags that leave both files some frames in common (timing.FindLags), and what is likely is
// looked at in frames. Where enough moves in both files and nowhere alike, they do not show the
// same moment, and the clip is not measured. The scan is divided into pieces, since a frame missing within one may hide
// its slip; the slip that most pieces show counts (majority). If no piece shows one, the
// halves of pieces are tried, and then all frames together. An eye may still be turned at
// this point, so all four orientations are tried. What is known roughly only is made exact by the
// bursts.
//
// A dropped or a repeated frame changes the slip from there on. Where the step can be seen,
// later right frames are taken by the new slip (departures, record.Sync.SlipAt). No burst
// is taken beside a fault, which would pass for motion.
//
// Of clips longer than record.ScanFrames the scan reads runs only. Frame faults and cuts between
// them are found in the small pictures of every frame, which are read anyway (watch.go), and
// written with the trailer. Where the runs show that the slip changes, every frame is looked at
// before moments are measured, so that these are in step.
//
// # Variable frame rate
//
// Phones record frames at uneven distances. If either file does, the eyes are paired by time
// stamps instead of frame numbers: each left frame goes with the right one that is shown
// nearest to the same time (mate.go). The slip is then looked for on frames resampled to a
// constant rate (paced). A frame counts as dropped where one eye's stamps have a gap in which
// the other eye has more frames. Black and repeated frames are those that the eye shows while
// what the other eye shows at the same time goes on. What takes motion is measured only
// where the frames around come at the usual distance in both eyes, and with the usual offset
// between them (steady). The files' rates are not compared.
//
// # Eyes out of sync
//
// Where the delay between the eyes is certain and disturbs the geometry, every moment is read
// with the frame before and after it (motion.go), and package metrics fits the rig to matches
// moved to one instant. Otherwise half a frame would pass for a vertical offset, and opposite
// readout directions for zoom. A picture that moves steadily, as in a long tilt, shows the
// delay badly or not at all: then the record keeps by how much the eyes could be out of sync
// (record.MotionBounds), so that a finding which that could explain says so.
//
// # Done before?
//
// [Fingerprint] covers everything that a record depends on. Raise measureRevision if records
// come out differently for another reason than a metric's revision.
package measure
