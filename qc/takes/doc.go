// Package takes finds which takes of two cameras belong together, by when they were recorded
// and by what they show, where names say nothing.
//
// # The model
//
// Both cameras recorded the same day in the same order. The day is a sequence of takes that
// both cameras have and of takes that only one has, as a false start or a camera that did not
// roll. That is a sequence alignment with gaps, and the pair hidden Markov model for it (R.
// Durbin et al., Biological Sequence Analysis, Cambridge University Press 1998, chapter 4)
// gives by its forward and backward sums how probable each pair is over all alignments. What
// is at least [Sure] probable is a pair; everything else is open.
//
// A pair is weighed by the ratio of two likelihoods, of being recorded together and of being
// any two takes of the day:
//
//   - Clocks. Two clocks are read, timecode and creation time, of which the first that both
//     takes have counts. They differ between the cameras by an offset that is found from the
//     whole day: the differences of all takes that could be pairs heap up around it. It drifts
//     evenly, and may step, as when a battery is changed: the hidden state of the model is
//     which of the offsets holds, or that none does. Around the offset the two record buttons
//     are pressed apart by seconds, less at a signal or where they are linked ([pressed],
//     [closer]; Laplace), and both are released likewise. Takes that do not overlap are no
//     pair, and takes that do overlap are hardly anything else. An offset that nobody expects
//     has to be borne out by several takes: of one pair alone any offset fits. How much a
//     coincidence of times is worth depends on how irregular the pace of the day is. Timecode
//     that runs only while recording, or begins anew in each file, is no clock and is left out.
//   - Length. The lengths of a pair differ as the presses of the buttons do. It is held
//     against the lengths of all takes, so that it says nothing where all are alike.
//   - What is seen and heard ([Compare]): the correlation of light, motion and sound at the
//     best of all lags.
//
// # What degenerates
//
// Takes of equal length without clocks, pictures and sound: every shift of the one day against
// the other fits as well, apart from the takes that it leaves over at the ends, and gaps are
// held so cheap that this alone never makes a pair sure. Takes of equal length at an even pace
// with clocks that were never set to one another are the same case: the offset is known but
// for a multiple of the pace. One camera that has a take more than the other within a row of
// equal ones leaves the row open from there to the next take that is known. All of it comes
// out as probabilities that are shared by several candidates.
//
// The widths and rates below are the project's own choice; no published figures are known.
package takes
