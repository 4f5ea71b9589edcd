// Package timing measures by how much the right eye is late.
//
// Throughout, a delay is positive where the right eye is late: where its pictures show what
// the left eye's showed before. It is counted in frames.
//
// # Whole frames
//
// A frame is reduced to a signature, 64 × 36 mean values (picture.Signature). [FindSlip]
// compares how the signatures of both eyes change over 1 to 16 frames, at all slips: their
// brightness, the energy of the change, and the optical flow, summed over bands of the
// picture's whole width so that parallax does not shift anything in time. A slip counts
// when parts of the clip, kinds of change and two strides agree on it. Because the eyes
// look from two places, motion may seem to come sooner to one of them; so the standard
// error is at least a share of the time over which the motion changes.
//
// FindSlip looks some frames either way. Files that begin at any time are first compared by
// their motion maps, where in the picture how much changes: [FindLags] finds the lags at which
// these correlate, [SlipAmong] takes the one that frames confirm, and [Elsewhere] tells files in
// which things move, but nowhere alike.
//
// [SoundDelay] compares the cameras' sound instead (GCC-PHAT).
//
// # Parts of a frame
//
// A [Burst] is three consecutive frames of both eyes, in which matched places are followed
// (Lucas–Kanade) to get their speeds. A place that moves down at v shows, in an eye that is
// late by δ frames, higher by v·δ than the rig's geometry says (C. Albl, Z. Kukelova,
// A. Fitzgibbon, J. Heller, M. Smid, T. Pajdla, "On the two-view geometry of unsynchronized
// cameras", CVPR 2017). [FitTiming] fits to all bursts of a clip together the terms of the
// rig's geometry, their slow drift, and the delay with its change from top to bottom
// (rolling shutter) and over the clip (clock drift): the geometry stays while speeds change
// from place to place and from moment to moment. Noise in the speeds would make the delay
// too small; regression calibration takes that out (W. Fuller, Measurement Error Models,
// 1987; from memory), and where most of what the speeds tell is noise, the delay is missing.
//
// Where the delay is certain and large enough to disturb, [Synchronised] moves the matches
// of a moment to one instant, and package metrics fits the rig's geometry to those. Without
// that, half a frame would pass for a vertical offset, and opposite readout directions for
// zoom.
//
// # Frame faults
//
// [FrameFaults] finds frames that one eye repeats, drops or shows black while the other eye
// goes on, and by how many frames the slip changes there. [PairedFrameFaults] finds repeated and
// black frames where frames are paired by time stamps (variable frame rate). [Cuts] finds
// where both eyes cut to another shot. [Align] looks at the first and the last frames by
// themselves, cell by cell, where a step of the slip has too few frames on one side for
// FindSlip; where they do not tell their slip, it says so. [Watch] does all that as frames come,
// of a clip of any length, and looks as at the ends wherever single cells show a step of the
// slip that sums over the picture do not.
//
// # Limits
//
// A delay shows in vertical motion only: a level pan, or a shot at rest, does not show it,
// and a steady tilt hardly tells it from a vertical offset. Where the camera climbs steadily
// past a still scene, delay and camera height do the same; the delay is then missing. Beyond
// timingReach frames places cannot be followed; whole frames are found by FindSlip first. In a
// still picture no frame fault can be seen.
//
// The search for the slip and for frame faults is the project's own method.
package timing
