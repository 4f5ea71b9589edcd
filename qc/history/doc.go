// Package history follows each rig over its clips, from their records alone.
//
// [Rigs] parts the clips by rig and puts them into the order of shooting. [Follow] finds of
// each term (how the right eye's picture lies, its light, its timing) the stretches of clips
// over which it stayed the same or crept, the steps between them, and the events that steps of
// several terms make up: a knock, a re-alignment, a change of lens.
//
// # What several clips tell that one cannot
//
// A flat scene shows camera height as tilt and forward offset as focal length: package geometry
// tells offset, zoom and keystone at the scene's own parallax, where their errors hardly depend
// on that. Over clips of different depth the parts come apart. With the own parallax p_i of
// clip i,
//
//	offset_i   = offset₀   + height·p_i
//	zoom_i     = zoom₀     + forward·p_i
//	keystone_i = keystone₀ + distortion·2p_i
//
// Each line is a pair of unknowns that hold for a whole stretch. A clip adds to their normal
// equations what it tells of both, as a matrix of information (the Schur complement of that of
// its moments, with the priors of geometry.PriorSE on the other terms): a flat clip tells the
// left side alone, one with depth the slope as well. So clips that change in depth are no
// change of the rig. What a stretch tells is read at the parallax where it is best known.
//
// What degenerates: clips that all lie at one parallax tell the left side there, and the slope
// no better than its prior; it counts as told only when its error is below half of that. A step
// of height at the very cut where the depth changes for good is told as height.
//
// The cameras' convergence moves all parallaxes of a clip, but not what height does at infinity.
// So where convergence follows the subject, height shows in the offset without showing in p_i;
// an axis of the convergence that is out of square shows in roll or offset likewise. Both go
// with the toe-in, which the keystone tells. Where many changes of toe-in agree on it
// (withToeIn), that is taken out and told; otherwise it is scatter between the clips, which
// widens all errors. Which of the two it is the pictures alone do not tell. Toe-in is the
// director's: steps of keystone are told but are no fault of themselves.
//
// # Errors
//
// Of one clip they are those of its moments as series.Median has them: s²/n of their scatter
// plus what the scatter does not explain of their own errors, which is common to all of them.
// Between clips something is added that is estimated robustly from second differences, which
// neither a creep nor a few steps disturb. Takes that show the same depth one after the other
// show the same things, and share some of their errors: by how much less they differ from each
// other than their errors say, what is common is told. What scenes differ by beyond that, as
// light and focus of each set-up do, is estimated from the differences of scenes in a row. Both
// widen the clips' variances, so that a scene of many takes tells no more than one scene can.
//
// # Steps and creep
//
// Stretches are found by dynamic programming over all divisions (B. Jackson et al., "An
// algorithm for optimal partitioning of data on an interval", IEEE Signal Processing Letters
// 12(2), 2005; the pruned version is R. Killick, P. Fearnhead, I. A. Eckley, "Optimal detection
// of changepoints with a linear computational cost", Journal of the American Statistical
// Association 107, 2012; both from memory): the sum of squared residuals over the clips' own
// variances, and a penalty for each step and each creep. Each stretch is constant or a straight
// line in time, whichever costs less with its penalty: so creep is told from steps. The penalty
// is a quantile of the F distribution at the chance of a false alarm over a whole day, divided
// by how many clips and terms there are (Bonferroni), so that clean days stay silent. Without
// pruning the work grows with the square of the clips; two thousand take a second or two.
//
// A clip or two that agree with neither those before nor those after are odd: they are left
// out, and are their own clips' findings.
package history
