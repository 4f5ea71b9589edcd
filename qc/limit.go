package qc

// Limit is a row of a limits file: a range that a statistic of a metric has to
// keep, in the unit of the metric.
type Limit struct {
	Metric    string
	Statistic Statistic
	Low, High float64  // −Inf and +Inf where a side is open
	Severity  Severity // what it means to leave the range
	Source    string   // who says so
}

// Statistic says what is judged of a metric's values over a clip.
type Statistic string

const (
	Median Statistic = "median"
	Lowest Statistic = "lowest"  // 5th percentile over the moments
	Top    Statistic = "highest" // 95th percentile over the moments
	Drift  Statistic = "drift"   // change from the first to the last frame along a robust line
	Day    Statistic = "day"     // change of the clips' medians over the day
	Fact   Statistic = "fact"    // a whole-clip fact, see Facts
)

// Severity is what a limit means when it is exceeded.
type Severity string

const (
	Warn Severity = "warn"
	Fail Severity = "fail"
)
