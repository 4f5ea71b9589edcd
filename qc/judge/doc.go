// Package judge holds records against limits.
//
// It is pure: no files, no video, no clock. The same records and limits give the same
// findings, so footage is decoded once and judged as often as wanted.
//
// # How a clip fails
//
// [Clips] judges each record in three steps, in three places.
//
//  1. Judge (judge.go): every [Statistic] that a [Limit] names is worked out, with its
//     standard error, and held against the limits on it (worstOf). A limit is exceeded when
//     the value is beyond it by more than two standard errors (record.Sure). Nearer to a
//     limit that fails, on either side, nobody can tell: that is a warning. If the error is
//     as wide as the whole range to keep, or the metric has no value, the limit counts as
//     unmeasured, never as passed, unless the metric is one that clean clips often do not
//     show (metrics.Metric.Conditional). What had to be undone in the set-up (a mirrored eye,
//     exchanged eyes, a slip) is a finding as well (setup.go).
//  2. Fold (fold.go and fold_*.go): pure functions leave out findings that another finding
//     already says, such as a vertical disparity whose causes are known. Each has its reason
//     beside it in the list folds.
//  3. Word (word.go, phrase.go, remedy.go): the statistic, or else the phrase of the metric,
//     says what is wrong and what to do. Who mends it depends on the clip where it has to: a
//     correction that crops too much means shooting again.
//
// The worst status of a clip's findings is its [Verdict]: fail, unmeasured, warn, pass, in
// this order. cmd turns the verdicts into the exit code.
//
// # The day
//
// What is said of no single clip is a statistic of another [Scope]: steps and creep of a rig
// over the day (package qc/history), depth from one clip to the next of its setup, test targets at known distances
// (day.go, follow.go, target_readings.go; package qc/target). [OverDay] judges these.
//
// # Limits
//
// Limits files are CSV with a source for each row; two sets are built in (limits/*.csv).
// Parallax may be limited in arcmin or millimetres, which takes a screen (package qc/screen) to become a share
// of the picture ([Limits.On]).
//
// # Corrections
//
// [Correct] works out from the medians what brings the right eye onto the left one: slip,
// keystone, roll, scale, shift, exposure, a colour decision, and the crop that this costs.
// The picture is moved sideways only if parallax is out of limits, and no further than needed
// (sideways.go).
//
// # What to add where
//
// A metric or fact that is to be judged needs its phrase in phrase.go and rows in
// limits/*.csv; a test holds that each judged name has one. A new statistic is one value in
// statistic.go, a new fact one value in facts.go. Limits files, tables and pages follow from
// these lists.
//
// Trends use the Mann–Kendall test and the Theil–Sen slope (package stat). All other rules
// of judgement name their source where they stand, or say that they are the project's own
// choice.
package judge
