package light

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// darkLimit is how dark and noisy a place may be to be used.
type darkLimit struct {
	minSignal float64 // share of full scale
	maxBias   float64 // the largest share of a signal that noise takes from its mean
}

// darkLimits are tried in turn, by channel, until one leaves enough places: dark pictures are
// measured by what there is.
var darkLimits = [...]struct {
	darkLimit
	places int // at most
}{
	{darkLimit{Darkest, 0.02}, MaxSamples},
	{darkLimit{Darkest, 0.02}, math.MaxInt},
	{darkLimit{Darkest / 2, 0.05}, math.MaxInt},
}

// FitBalance fits the balance of the right eye's light to places that both eyes show, or
// returns the reason why there is none. Noise is that of the left and of the right eye, and
// pixels is how many of the frame's pixels a place averages.
func FitBalance(l *Overlap, t picture.Transfer, noise *[2]*raster.NoiseModel, pixels float64) (b *Balance, reason string) {
	var tried [3]int // by channel, the index into darkLimits
	for {
		last := darkLimits[slices.Max(tried[:])]
		f := balancer{samples: l.flatSamples(last.minSignal, last.places), balance: &Balance{Transfer: t}, pixels: pixels}
		for i, g := range noise {
			f.noise[i] = g.Curve()
			f.drowned[i] = g.ClippedBelow
		}
		for c, k := range tried {
			f.dim[c] = darkLimits[k].darkLimit
		}
		reason = f.fit()
		again := false
		for c, few := range f.balance.TooFew {
			if few && tried[c]+1 < len(darkLimits) {
				tried[c]++
				again = true
			}
		}
		if !again {
			if reason != "" {
				return nil, reason
			}
			return f.balance, ""
		}
	}
}

// TooFewPlaces is the reason why there is no balance where too little can be compared.
const TooFewPlaces = "too few matched places that are neither black nor clipped"

// balancer fits by iteratively reweighted least squares with errors in both variables
// (W. E. Deming, Statistical Adjustment of Data, 1943; from memory): each place has
// an error variance in either eye.
type balancer struct {
	samples []Sample
	balance *Balance
	noise   [2]*raster.NoiseCurve
	drowned [2]float64 // by eye: see raster.NoiseModel
	pixels  float64
	dim     [3]darkLimit // by channel
	rows    [3][]balanceRow
	chol    mat.Cholesky
}

// balanceRow is one channel of one place: its residual and how that depends on the stops; on
// the lift it depends by 1.
type balanceRow struct {
	residual float64
	sigma    float64
	stops    float64 // change of the right signal per stop
	w        float64 // weight: the inverse of the variance, times the robust one
	tile     int
	part     int // see partsAcross
	// doubt is the systematic error of the residual, shared by all places, because the
	// noise's effect on the mean is not well known: of both eyes, the left, the right.
	doubt [3]float64
}

// fit starts from medians and iterates. Red and blue may be seen at too few places, green
// may not.
func (f *balancer) fit() (reason string) {
	b := f.balance
	for _, c := range [3]int{1, 0, 2} { // green first
		var left, right []float64
		for i := range f.samples {
			if s := &f.samples[i]; !s.Clipped && min(s.Left[c], s.Right[c]) > f.dim[c].minSignal {
				left = append(left, s.Left[c])
				right = append(right, s.Right[c])
			}
		}
		b.scale[c] = 1
		if b.TooFew[c] = len(left) < MinSamples; b.TooFew[c] {
			b.Stops[c] = b.Stops[1]
			continue
		}
		b.Stops[c] = math.Log2(b.Transfer.Light(stat.Median(right)) / b.Transfer.Light(stat.Median(left)))
	}
	const rounds = 24
	for round := range rounds {
		f.weigh(round < 10)
		if b.TooFew[1] {
			return TooFewPlaces
		}
		change, ok := f.step()
		if !ok {
			return "the matched places do not fix the balance of light"
		}
		if round > 12 && change < 1e-5 {
			break
		}
	}
	b.cov, b.partCov = f.covariance(), f.partCovariance()
	return ""
}

// weigh works out the residual of each place and its weight: at first by a kernel with a
// convex loss (least absolute deviations), then by Tukey's biweight. A channel that keeps
// too few places has none from then on.
func (f *balancer) weigh(convex bool) {
	const h = 1e-3 // stops
	for c := range 3 {
		b, dim := f.balance, f.dim[c]
		if b.TooFew[c] {
			continue
		}
		now, more, back := NewExposureCurve(b.Transfer, b.Stops[c]), NewExposureCurve(b.Transfer, b.Stops[c]+h), NewExposureCurve(b.Transfer, -b.Stops[c])
		rows := f.rows[c][:0]
		sizes := make([]float64, 0, len(f.samples))
		for i := range f.samples {
			s := &f.samples[i]
			if s.Clipped {
				continue
			}
			left, right := s.Left[c], s.Right[c]-b.lift[c]
			own := stat.Sq(flatError) + stat.Sq(s.placeError)
			v, _ := f.noise[0].At(left)
			w, _ := f.noise[1].At(right)
			v, w = own+v/f.pixels, own+w/f.pixels/stat.Sq(now.slope)
			// The best estimate of the left signal is the mean of what both eyes say,
			// weighted by their errors. Its error does not correlate with the residual:
			// so it does not attenuate the slope, and selecting by it does not bias.
			guess := (left*w + back.Apply(right)*v) / (v + w)
			partner := now.Apply(guess)
			_, bias := f.noise[0].At(guess)
			_, partnerBias := f.noise[1].At(partner)
			if guess < max(dim.minSignal, f.drowned[0]) || partner < max(dim.minSignal, f.drowned[1]) || bias > dim.maxBias*guess || partnerBias > dim.maxBias*partner {
				continue
			}
			r := balanceRow{
				residual: right + partnerBias - now.Apply(left+bias),
				sigma:    now.slope * math.Sqrt(v+w),
				stops:    (more.Apply(guess) - partner) / h,
				tile:     s.Tile,
				part:     s.part,
				doubt:    [3]float64{biasDoubt * (partnerBias - now.slope*bias), biasDoubtEach * now.slope * bias, biasDoubtEach * partnerBias},
			}
			sizes = append(sizes, math.Abs(r.residual)/r.sigma)
			rows = append(rows, r)
		}
		if len(rows) < MinSamples {
			b.TooFew[c], f.rows[c] = true, nil
			b.Stops[c] = b.Stops[1]
			continue
		}
		b.scale[c] = max(stat.MADToSigma*stat.Median(sizes), 0.1)
		for i := range rows {
			r := &rows[i]
			size := math.Abs(r.residual) / (r.sigma * b.scale[c])
			if convex {
				r.w = 1 / max(size, 0.5)
			} else {
				r.w = stat.Sq(max(1-stat.Sq(size/stat.BiweightCutoff), 0))
			}
			r.w /= stat.Sq(r.sigma * b.scale[c])
		}
		f.rows[c] = rows
	}
}

// step moves the balance to the weighted least-squares solution (one Gauss–Newton step) and
// returns the largest change, in stops or shares of full scale. It reports false where the
// places do not determine the balance.
func (f *balancer) step() (change float64, ok bool) {
	a := mat.NewSymDense(BalanceCount, nil)
	v := mat.NewVecDense(BalanceCount, nil)
	for c, rows := range f.rows {
		var ss, sl, ll, sv, lv float64
		for i := range rows {
			r := &rows[i]
			ss += r.w * r.stops * r.stops
			sl += r.w * r.stops
			ll += r.w
			sv += r.w * r.stops * r.residual
			lv += r.w * r.residual
		}
		if f.balance.TooFew[c] {
			ss = 1 / stat.Sq(tintPriorSE)
			sv = ss * (f.balance.Stops[1] - f.balance.Stops[c])
		}
		a.SetSym(c, c, ss)
		a.SetSym(c, 3+c, sl)
		a.SetSym(3+c, 3+c, ll)
		v.SetVec(c, sv)
		v.SetVec(3+c, lv)
	}
	// The prior of the lifts: the inverse of LiftPriorSE²·11ᵀ + liftTintPriorSE²·I.
	const own = 1 / (liftTintPriorSE * liftTintPriorSE)
	const shared = own * LiftPriorSE * LiftPriorSE / (liftTintPriorSE*liftTintPriorSE + 3*LiftPriorSE*LiftPriorSE)
	for i := range 3 {
		for j := range 3 {
			p := -shared
			if i == j {
				p += own
			}
			if i <= j {
				a.SetSym(3+i, 3+j, a.At(3+i, 3+j)+p)
			}
			v.SetVec(3+i, v.AtVec(3+i)-p*f.balance.lift[j])
		}
	}
	if !f.chol.Factorize(a) || f.chol.Cond() > 1e14 {
		return 0, false
	}
	var d mat.VecDense
	if err := f.chol.SolveVecTo(&d, v); err != nil {
		return 0, false
	}
	for c := range 3 {
		f.balance.Stops[c] += min(max(d.AtVec(c), -1), 1)
		f.balance.lift[c] += d.AtVec(3 + c)
		change = max(change, math.Abs(d.AtVec(c)), math.Abs(d.AtVec(3+c)))
	}
	return change, true
}

// covariance returns the covariance of the balance by the sandwich estimator: scores are
// summed over tiles of the picture, whose places share their errors (see
// stat.Regression.Sandwich), and over the channels, which err together.
func (f *balancer) covariance() (cov [BalanceCount][BalanceCount]float64) {
	scores := map[int]*[BalanceCount]float64{}
	var order []int
	for c, rows := range f.rows {
		for i := range rows {
			r := &rows[i]
			if r.w == 0 {
				continue
			}
			s := scores[r.tile]
			if s == nil {
				s = new([BalanceCount]float64)
				scores[r.tile] = s
				order = append(order, r.tile)
			}
			s[c] += r.w * r.stops * r.residual
			s[3+c] += r.w * r.residual
		}
	}
	var doubts [3][BalanceCount]float64
	for c, rows := range f.rows {
		for i := range rows {
			r := &rows[i]
			for k, doubt := range r.doubt {
				doubts[k][c] += r.w * r.stops * doubt
				doubts[k][3+c] += r.w * doubt
			}
		}
	}
	slices.Sort(order)
	meat := mat.NewSymDense(BalanceCount, nil)
	for _, tile := range order {
		meat.SymRankOne(meat, 1, mat.NewVecDense(BalanceCount, scores[tile][:]))
	}
	if n := len(order); n > BalanceCount+1 {
		meat.ScaleSym(float64(n)/float64(n-BalanceCount), meat)
	} else {
		meat.ScaleSym(BalanceCount, meat)
	}
	var inverse mat.SymDense
	if err := f.chol.InverseTo(&inverse); err != nil {
		panic(err) // step has seen to the condition
	}
	var half, sandwich mat.Dense
	half.Mul(&inverse, meat)
	sandwich.Mul(&half, &inverse)
	var wrong [len(doubts)]mat.VecDense
	for k := range wrong {
		wrong[k].MulVec(&inverse, mat.NewVecDense(BalanceCount, doubts[k][:]))
	}
	for i := range BalanceCount {
		for j := range BalanceCount {
			// The inverse is the covariance without clusters, with the priors.
			cov[i][j] = sandwich.At(i, j) + inverse.At(i, j)
			for k := range wrong {
				cov[i][j] += wrong[k].AtVec(i) * wrong[k].AtVec(j)
			}
		}
	}
	return cov
}

// partsAcross and partsDown divide the picture into the large parts whose light may mislead as a
// whole.
const partsAcross, partsDown = 4, 3

// partCovariance returns the covariance of the balance from what becomes of it without one large
// part of the picture after another: what mirrors or shines does so over a large part, and at all
// moments alike.
func (f *balancer) partCovariance() (cov [BalanceCount][BalanceCount]float64) {
	parts := stat.NewLeftOut(BalanceCount, partsAcross*partsDown)
	var row [BalanceCount]float64
	for c, rows := range f.rows {
		for i := range rows {
			r := &rows[i]
			row = [BalanceCount]float64{}
			row[c], row[3+c] = r.stops, 1
			parts.Add(r.part, row[:], r.w, r.residual)
		}
	}
	var normal mat.SymDense
	f.chol.ToSym(&normal)
	without := parts.Covariance(&normal)
	for i := range BalanceCount {
		for j := range BalanceCount {
			cov[i][j] = without.At(i, j)
		}
	}
	return cov
}
