// Package pull tells convergence from focus where the focus is pulled within a shot.
//
// On a rig, focus and convergence are driven by motors, and each lens has a focus motor of
// its own. All of that can be read only while the scene and the cameras rest and the focus
// moves. [Range] finds such a stretch in the moments of a record; package measure then looks
// at [MaxFrames] frames over it and keeps them in the record's trailer.
//
// # Convergence and focus
//
// Each eye's picture is followed to the frame in the middle of the stretch
// (geometry.MeasureShift). With the rig at rest, a picture moves as a whole only when its own
// axis turns. So the two axes are told apart, and the difference of the two movements is the
// convergence, to a hundredth of a percent of the picture width.
//
// Where the focus is follows from how sharp everything is at each depth throughout the pull:
// the texture is the same at all times and drops out (focusPath). The lag of the convergence
// is the shift in time under which focus lies on a straight line over convergence ([Focus]).
// Its error comes from the jackknife over parts of the pull, since neighbouring frames share
// their errors (B. Efron, "The jackknife", 1982; from memory).
//
// # The two lenses
//
// A lens blurs what is seen at parallax P by σ = k·|P − P₀|, where P₀ is in focus. So σ² of
// what is far less σ² of what is near is linear in P₀ (the metrics focus_left and
// focus_right, package focus). The scene's texture adds the same to both eyes. Over a pull
// the right eye's figure is therefore the left one's, delayed by the lag of its motor and
// scaled by its travel; the line is fitted with errors in both ([FindLenses]). A way that the
// difference of near and far sharpness between the eyes does not bear out is not told.
//
// # Limits
//
// A lag needs a beginning or an end of the pull: at constant speed it looks like lenses that
// are focused apart. Constants that come from drawn scenes say so. The method is the
// project's own.
package pull
