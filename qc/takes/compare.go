package takes

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"nightpair/metrics/stat"
)

// Compared is what the comparison of two takes came to.
type Compared struct {
	// Evidence is the logarithm of how much likelier what is shown is of one take than of
	// two; 0 where there is too little to tell.
	Evidence float64
	// Correlation is at its best lag, and Apart by how many seconds the right take begins
	// later there; both 0 where there is too little to tell.
	Correlation, Apart float64
	By                 string // "pictures" or "sounds", whichever correlates more surely
}

// Compare compares what two takes show, at every lag that leaves [leastOverlap] in common.
// Slow changes are taken out, and what remains is replaced by normal scores of its ranks, so
// that one clap, which every take begins with, counts no more than one quiet moment.
//
// The largest correlation is held against three explanations. By chance: a correlation of so
// many samples that follow one another smoothly is worth that of fewer independent ones (M.
// Bartlett, "Some aspects of the time-correlation problem in regard to tests of
// significance", Journal of the Royal Statistical Society 98(3), 1935); Fisher's transform
// gives its probability, times the number of independent lags that were tried; the power
// calibrator κ·p^(κ−1) makes of it a ratio of likelihoods which is not overstated on average
// (T. Sellke, M. Bayarri, J. Berger, "Calibration of p values for testing precise null
// hypotheses", The American Statistician 55(1), 2001). By repetition: the same action and the
// same words in another take correlate, though less than two eyes of one take. And by a pair
// that shows nothing of it, as when hardly anything moves or little is in common. Of light
// and motion the better counts, and is charged for both.
func Compare(left, right Comparable) Compared {
	light := correlate(left.light, right.light)
	motion := correlate(left.motion, right.motion)
	sound := correlate(left.sound, right.sound)
	pictures := light
	if !light.told || motion.told && motion.chance < light.chance {
		pictures = motion
	}
	pictures.chance += math.Ln2
	var c Compared
	best := math.Inf(1)
	for k, found := range []correlation{pictures, sound} {
		if !found.told {
			continue
		}
		c.Evidence += found.evidence()
		if found.chance < best {
			best, c.Correlation, c.Apart = found.chance, found.at, found.apart
			c.By = [...]string{"pictures", "sounds"}[k]
		}
	}
	return c
}

// evidence returns the logarithm of the ratio of likelihoods.
func (c correlation) evidence() float64 {
	byChance := -(math.Log(calibrator) + (calibrator-1)*min(c.chance, 0))
	// Normal distributions with the same width: their ratio.
	variance := correlationSpread * correlationSpread
	byRepetition := math.Log(repetition) - (onePair*c.at-onePair*onePair/2)/variance
	seen := -logSum(byChance, byRepetition)
	// How probable it is that a pair has enough in common, and shows it.
	q := visible * (1 - math.Exp(-max(c.shorter-1.5*leastOverlap, 0)/pressed))
	return logSum(math.Log(1-q), math.Log(q)+seen)
}

const (
	// leastOverlap is how many seconds two takes must have in common to be compared.
	leastOverlap = 4
	// smooth is within how many seconds either way slow changes are taken out.
	smooth = 2.0
	// calibrator is κ.
	calibrator = 0.1
	// onePair is the mean correlation of the eyes of one take, and correlationSpread its
	// standard deviation, and that of the correlation, 0 in the mean, of takes that repeat
	// the same. Repetition is the share of takes that do.
	onePair, correlationSpread, repetition = 0.8, 0.2, 0.2
	// visible is the probability that a pair with enough in common shows it.
	visible = 0.9
	// doubt divides the standard score of a correlation: takes are no stationary noise.
	doubt = 1.3
)

// correlation is the best of all lags.
type correlation struct {
	told      bool
	at, apart float64
	shorter   float64 // seconds of the shorter of both
	chance    float64 // logarithm of the probability that the best is as good by chance
}

// Comparable is what a take shows, made ready to be compared with many others.
type Comparable struct{ light, motion, sound series }

// series is normal scores over time; empty where there is too little to compare.
type series struct {
	rate            float64 // samples per second
	scores          []float64
	powers          []float64 // sums of squares up to each sample
	autocorrelation []float64
}

// Comparable makes ready what a take shows.
func (s Shown) Comparable() Comparable {
	return Comparable{prepared(s.Light, PictureRate), prepared(s.Motion, PictureRate), prepared(s.Sound, SoundRate)}
}

// Empty reports whether there is nothing to compare.
func (c Comparable) Empty() bool {
	return c.light.scores == nil && c.motion.scores == nil && c.sound.scores == nil
}

func prepared(v []float64, rate float64) series {
	if len(v) < int(leastOverlap*rate) {
		return series{}
	}
	s := series{rate: rate, scores: scores(v, rate)}
	if s.scores != nil {
		s.powers = powers(s.scores)
		s.autocorrelation = autocorrelation(s.scores, int(2*smooth*rate))
	}
	return s
}

func correlate(left, right series) correlation {
	l, r, rate := left.scores, right.scores, left.rate
	if l == nil || r == nil {
		return correlation{}
	}
	least := int(leastOverlap * rate)
	stretch := dependence(left.autocorrelation, right.autocorrelation)
	transform := stat.NewLags(len(l) + len(r))
	sum := transform.Correlation(transform.AddProduct(nil, transform.Spectrum(nil, r), transform.Spectrum(nil, l)))
	lp, rp := left.powers, right.powers
	best, bestScore, lags := correlation{}, math.Inf(-1), 0
	// Right sample i is seen with left sample i+lag.
	for lag := least - len(r); lag <= len(l)-least; lag++ {
		from, to := max(0, lag), min(len(l), len(r)+lag)
		independent := float64(to-from) / stretch
		if to-from < least || independent < 5 {
			continue
		}
		lags++
		power := (lp[to] - lp[from]) * (rp[to-lag] - rp[from-lag])
		if power <= 0 {
			continue
		}
		at := sum(lag) / math.Sqrt(power)
		score := math.Atanh(min(max(at, -0.999), 0.999)) * math.Sqrt(independent-3) / doubt
		if score > bestScore {
			bestScore = score
			best = correlation{told: true, at: at, apart: float64(lag) / rate}
		}
	}
	if !best.told {
		return best
	}
	tail := logTail(bestScore)
	best.shorter = float64(min(len(l), len(r))) / rate
	best.chance = tail + math.Log(max(float64(lags)/stretch, 1))
	return best
}

// logTail returns the logarithm of the probability that a standard normal value is larger.
func logTail(x float64) float64 {
	if x > 30 {
		return -x*x/2 - math.Log(x*math.Sqrt(2*math.Pi))
	}
	return math.Log(distuv.UnitNormal.Survival(x))
}

// powers returns the sums of squares up to each sample.
func powers(v []float64) []float64 {
	out := make([]float64, len(v)+1)
	for i, x := range v {
		out[i+1] = out[i] + x*x
	}
	return out
}

// scores takes slow changes out and replaces what remains by the normal scores of its ranks;
// nil where nothing changes.
func scores(v []float64, rate float64) []float64 {
	half := int(smooth * rate)
	sums := make([]float64, len(v)+1)
	for i, x := range v {
		sums[i+1] = sums[i] + x
	}
	out := make([]float64, len(v))
	order := make([]int, len(v))
	for i, x := range v {
		from, to := max(0, i-half), min(len(v), i+half+1)
		out[i] = x - (sums[to]-sums[from])/float64(to-from)
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(out[a], out[b]) })
	// What is equal, as digital silence, has one rank.
	ranks := make([]float64, len(v))
	same := 0
	for at := 0; at < len(order); {
		to := at
		for to < len(order) && out[order[to]]-out[order[at]] < 1e-9 {
			to++
		}
		for _, i := range order[at:to] {
			ranks[i] = distuv.UnitNormal.Quantile(float64(at+to) / 2 / float64(len(v)))
		}
		same = max(same, to-at)
		at = to
	}
	if 2*same > len(v) {
		return nil
	}
	return ranks
}

// dependence returns how many samples are worth one independent one in the correlation of two
// series.
func dependence(left, right []float64) float64 {
	sum := 1.0
	for k := 1; k < min(len(left), len(right)); k++ {
		sum += 2 * left[k] * right[k]
	}
	return max(sum, 1)
}

func autocorrelation(v []float64, reach int) []float64 {
	out := make([]float64, min(reach, len(v)-1)+1)
	for k := range out {
		for i := k; i < len(v); i++ {
			out[k] += v[i] * v[i-k]
		}
	}
	for k := len(out) - 1; k >= 0; k-- {
		out[k] /= max(out[0], 1e-12)
	}
	return out
}
