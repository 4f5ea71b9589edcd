package light

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// dimness is how dark and noisy a place may be to be looked at.
type dimness struct {
	dark float64 // signal
	sag  float64 // the largest share of a signal that noise takes from its mean
}

// dimnesses are tried in turn, until one leaves enough places: pictures of the night
// are measured by what there is.
var dimnesses = [...]struct {
	dimness
	places int // how many are looked at
}{
	{dimness{Darkest, 0.02}, MaxSpots},
	{dimness{Darkest, 0.02}, math.MaxInt},
	{dimness{Darkest / 2, 0.05}, math.MaxInt},
}

// Balance is the fitted relation of the right eye's light to the left's: for
// each of red, green and blue the light times 2^stops, and then the lift added
// to the signal.
type Balance struct {
	Stops, lift [3]float64
	// cov is that of the stops of red, green, blue and then of their lifts.
	cov [BalanceCount][BalanceCount]float64
	// scale is the robust standard deviation of what is left, against what is
	// expected of a place.
	scale [3]float64
	// Few says of which channels too few places were seen to tell anything.
	Few      [3]bool
	Transfer picture.Transfer
}

const BalanceCount = 6

const (
	// MinSpots is how many places a fit must rest on.
	MinSpots = 60
	// MaxSpots is how many are enough.
	MaxSpots = 2000

	Darkest   = 0.08 // signal below which noise and lift outweigh the light
	Brightest = 0.93 // signal above which cameras clip

	// stopsApart is how far the gain of a channel may be from that of green before
	// anything was seen of it, in stops: so wide that it counts only where nothing is.
	stopsApart = 2.0

	// LiftSE is how far apart the eyes' blacks may well be before anything was
	// seen, and tintSE how far those of red, green and blue: a picture without
	// dark places can't tell a lift from a gain. The project's own choice; a range
	// flag missed on one eye is a lift of 0.063.
	LiftSE = 0.05
	tintSE = 0.01

	// sagDoubt is how much of what noise takes from the mean of a signal may be wrong
	// when it is made good, for both eyes alike, and sagApart for each. Measured on drawn
	// scenes.
	sagDoubt = 0.25
	sagApart = 0.1

	// evenError is the error of a signal where nothing changes around it.
	evenError = 0.002
)

// SpotLight is a place as both eyes show it.
type SpotLight struct {
	Left, Right [3]float64 // signals
	blur        float64    // what misplacing may change
	Clipped     bool
	Tile        int
}

// tiles is how many parts of its own the picture has per height: the errors of
// neighbouring places are of one make, and count once.
const tilesPerHeight = 6

// Spots lists places, not more than wanted and spread evenly.
func (l *Overlap) Spots(most int) []SpotLight { return l.spotsAt(l.settledPlaces(), most) }

// flatSpots lists places for fitting, spread evenly over those that are neither clipped
// nor far darker than given, and about which little changes. Which are too dark is for
// the fit to choose: by one eye, it would be those that noise makes dark.
func (l *Overlap) flatSpots(dark float64, most int) []SpotLight {
	return l.spotsAt(l.flattest(l.settledPlaces(), float32(dark/2)), most)
}

func (l *Overlap) settledPlaces() (at []int) {
	for y := range l.Height {
		for x := range l.Width {
			if l.onSurface(x, y) {
				at = append(at, y*l.Width+x)
			}
		}
	}
	return at
}

const (
	// flatShare is the share of the places of one brightness that is looked at, the
	// flattest: a blur of one eye spreads light between what is bright and dark, which
	// looks like a lifted black where there is much texture.
	flatShare = 0.33
	// flatLevels is how many brightnesses are told apart, so that the range of light
	// stays as it is.
	flatLevels = 16
	// flatRanked is how many places of a brightness are enough to rank them all by.
	flatRanked = 300
)

// flattest returns the places of each brightness about which the light changes least in
// either eye, in their order.
func (l *Overlap) flattest(at []int, dark float32) (flat []int) {
	type place struct {
		at     int
		change float64
	}
	var levels [flatLevels][]place
	for _, i := range at {
		lit := float32(0)
		for c := range l.Left.Signal {
			lit = max(lit, min(l.Left.Signal[c][i], l.Right.Signal[c][i]))
		}
		if lit < dark || max(l.Left.Peak[i], l.Right.Peak[i]) > Brightest {
			continue
		}
		change := float32(0)
		for _, c := range [2]*Cells{l.Left, l.Right} {
			g := c.Signal[1]
			low, high := g[i], g[i]
			for _, j := range [...]int{i - 1, i + 1, i - l.Width, i + l.Width} {
				low, high = min(low, g[j]), max(high, g[j])
			}
			change = max(change, high-low)
		}
		k := min(int(lit*flatLevels), flatLevels-1)
		levels[k] = append(levels[k], place{i, float64(change)})
	}
	for _, level := range levels {
		limit := math.Inf(1)
		if len(level) > MinSpots {
			changes := make([]float64, min(len(level), flatRanked))
			for k := range changes {
				changes[k] = level[k*len(level)/len(changes)].change
			}
			limit = stat.Quantile(changes, max(flatShare, MinSpots/float64(len(level))))
		}
		for _, p := range level {
			if p.change <= limit {
				flat = append(flat, p.at)
			}
		}
	}
	slices.Sort(flat)
	return flat
}

// spotsAt lists some of the places given, spread evenly.
func (l *Overlap) spotsAt(at []int, most int) []SpotLight {
	side := max(1, l.Height/tilesPerHeight)
	across := l.Width/side + 1
	n := min(len(at), most)
	spots := make([]SpotLight, 0, n)
	for k := range n {
		i := at[k*len(at)/n]
		s := SpotLight{
			blur:    float64(l.blur[i]),
			Clipped: max(l.Left.Peak[i], l.Right.Peak[i]) > Brightest,
			Tile:    i/l.Width/side*across + i%l.Width/side,
		}
		for c := range 3 {
			s.Left[c], s.Right[c] = float64(l.Left.Signal[c][i]), float64(l.Right.Signal[c][i])
		}
		spots = append(spots, s)
	}
	return spots
}

// exposed is what a signal becomes when there is 2^k times the light.
type exposed struct {
	slope, offset float64 // where the curve is a power of the light
	bent          bool
	Gain          float64
	transfer      picture.Transfer
}

func ExposedBy(t picture.Transfer, stops float64) exposed {
	gain := math.Exp2(stops)
	e := exposed{Gain: gain, transfer: t, slope: gain}
	switch t {
	case picture.Linear, picture.LogCurve:
	case picture.SRGB:
		// Above its straight foot the curve is a power of the signal plus 0.055.
		e.slope = math.Pow(gain, 1/2.4)
		e.offset = 0.055 * (e.slope - 1)
	case picture.PQ, picture.HLG:
		e.bent = true
	default:
		e.slope = math.Pow(gain, 1/2.4)
	}
	return e
}

func (e exposed) Of(signal float64) float64 {
	if e.bent {
		return e.transfer.Encode(e.Gain * e.transfer.Light(signal))
	}
	return e.slope*signal + e.offset
}

// FitBalance fits the balance of the right eye to places that both eyes show.
// Grains holds the noise of the left and the right eye, and pixels is how many of
// the frame's pixels a place averages.
func FitBalance(l *Overlap, t picture.Transfer, grains *[2]*raster.NoiseModel, pixels float64) (b *Balance, reason string) {
	var tried [3]int // by channel, of dimnesses
	for {
		last := dimnesses[slices.Max(tried[:])]
		f := balancer{spots: l.flatSpots(last.dark, last.places), balance: &Balance{Transfer: t}, pixels: pixels}
		for i, g := range grains {
			f.noise[i] = g.Curve()
			f.drowned[i] = g.ClippedBelow
		}
		for c, k := range tried {
			f.dim[c] = dimnesses[k].dimness
		}
		reason = f.fit()
		again := false
		for c, few := range f.balance.Few {
			if few && tried[c]+1 < len(dimnesses) {
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

// fit fits to places that are bright enough. Red and blue may be seen at too few of
// them, green may not.
func (f *balancer) fit() (reason string) {
	b := f.balance
	for _, c := range [3]int{1, 0, 2} { // green first
		var left, right []float64
		for i := range f.spots {
			if s := &f.spots[i]; !s.Clipped && min(s.Left[c], s.Right[c]) > f.dim[c].dark {
				left = append(left, s.Left[c])
				right = append(right, s.Right[c])
			}
		}
		b.scale[c] = 1
		if b.Few[c] = len(left) < MinSpots; b.Few[c] {
			b.Stops[c] = b.Stops[1]
			continue
		}
		b.Stops[c] = math.Log2(b.Transfer.Light(stat.Median(right)) / b.Transfer.Light(stat.Median(left)))
	}
	const rounds = 24
	for round := range rounds {
		f.weigh(round < 10)
		if b.Few[1] {
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
	b.cov = f.covariance()
	return ""
}

const TooFewPlaces = "too few matched places that are neither black nor clipped"

// balancer does iteratively reweighted least squares, the errors being in both
// eyes alike.
type balancer struct {
	spots   []SpotLight
	balance *Balance
	noise   [2]*raster.NoiseCurve
	drowned [2]float64 // by eye: see grain
	pixels  float64
	dim     [3]dimness // by channel
	rows    [3][]balanceRow
	chol    mat.Cholesky
}

// balanceRow is one channel of one place: what is left and how it depends on
// the stops and the lift.
type balanceRow struct {
	left  float64 // what is left
	sigma float64
	stops float64 // change of the right signal per stop
	w     float64 // weight, of a variance of 1
	tile  int
	// doubt is what may be wrong with the place as with all others like it, as the noise
	// is not well known: of both eyes, of the left, and of the right.
	doubt [3]float64
}

// weigh works out what is left at each place, and its weight: by a kernel that
// is convex to begin with, then by Tukey's biweight. A channel of which too few places
// are left has none from then on.
func (f *balancer) weigh(begin bool) {
	const h = 1e-3 // stops
	for c := range 3 {
		b, dim := f.balance, f.dim[c]
		if b.Few[c] {
			continue
		}
		now, more, back := ExposedBy(b.Transfer, b.Stops[c]), ExposedBy(b.Transfer, b.Stops[c]+h), ExposedBy(b.Transfer, -b.Stops[c])
		rows := f.rows[c][:0]
		sizes := make([]float64, 0, len(f.spots))
		for i := range f.spots {
			s := &f.spots[i]
			if s.Clipped {
				continue
			}
			left, right := s.Left[c], s.Right[c]-b.lift[c]
			own := stat.Sq(evenError) + stat.Sq(s.blur)
			v, _ := f.noise[0].At(left)
			w, _ := f.noise[1].At(right)
			v, w = own+v/f.pixels, own+w/f.pixels/stat.Sq(now.slope)
			// The best guess of the left signal is what both eyes say of it, by their
			// errors. Its own error has nothing to do with what is left between them:
			// taken there, the dependence is not thinned, and choosing by it chooses
			// fairly.
			guess := (left*w + back.Of(right)*v) / (v + w)
			partner := now.Of(guess)
			_, sag := f.noise[0].At(guess)
			_, partnerSag := f.noise[1].At(partner)
			if guess < max(dim.dark, f.drowned[0]) || partner < max(dim.dark, f.drowned[1]) || sag > dim.sag*guess || partnerSag > dim.sag*partner {
				continue
			}
			r := balanceRow{
				left:  right + partnerSag - now.Of(left+sag),
				sigma: now.slope * math.Sqrt(v+w),
				stops: (more.Of(guess) - partner) / h,
				tile:  s.Tile,
				doubt: [3]float64{sagDoubt * (partnerSag - now.slope*sag), sagApart * now.slope * sag, sagApart * partnerSag},
			}
			sizes = append(sizes, math.Abs(r.left)/r.sigma)
			rows = append(rows, r)
		}
		if len(rows) < MinSpots {
			b.Few[c], f.rows[c] = true, nil
			b.Stops[c] = b.Stops[1]
			continue
		}
		b.scale[c] = max(stat.MADToSigma*stat.Median(sizes), 0.1)
		for i := range rows {
			r := &rows[i]
			size := math.Abs(r.left) / (r.sigma * b.scale[c])
			if begin {
				r.w = 1 / max(size, 0.5)
			} else {
				r.w = stat.Sq(max(1-stat.Sq(size/stat.BiweightCutoff), 0))
			}
			r.w /= stat.Sq(r.sigma * b.scale[c])
		}
		f.rows[c] = rows
	}
}

// step moves the balance to the weighted least-squares solution and returns by
// how much, in stops and signal.
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
			sv += r.w * r.stops * r.left
			lv += r.w * r.left
		}
		if f.balance.Few[c] {
			ss = 1 / stat.Sq(stopsApart)
			sv = ss * (f.balance.Stops[1] - f.balance.Stops[c])
		}
		a.SetSym(c, c, ss)
		a.SetSym(c, 3+c, sl)
		a.SetSym(3+c, 3+c, ll)
		v.SetVec(c, sv)
		v.SetVec(3+c, lv)
	}
	// The lifts are one for all with a little of their own each: the inverse of
	// LiftSE²·11ᵀ + tintSE²·I.
	const own = 1 / (tintSE * tintSE)
	const shared = own * LiftSE * LiftSE / (tintSE*tintSE + 3*LiftSE*LiftSE)
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

// covariance returns how well the balance is known. Scores are summed over
// tiles of the picture first, as in fitting the geometry, and over the three
// channels, which err together.
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
			s[c] += r.w * r.stops * r.left
			s[3+c] += r.w * r.left
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
			// The inverse is the usual estimate, prior and all.
			cov[i][j] = sandwich.At(i, j) + inverse.At(i, j)
			for k := range wrong {
				cov[i][j] += wrong[k].AtVec(i) * wrong[k].AtVec(j)
			}
		}
	}
	return cov
}

// stopsKnown is the largest standard error in stops of a brightness that means
// anything.
const stopsKnown = 0.3

// Measured returns a number of stops that is a linear function of the balance.
func (b *Balance) Measured(stops float64, d [BalanceCount]float64) stat.Measurement {
	se := b.Se(d)
	if se > stopsKnown {
		return stat.Missing("the picture's range of light is too small to tell a gain from a lifted black")
	}
	return stat.Measured(stops, math.Hypot(se, balanceFloor))
}

// balanceFloor is the least standard error of a number of stops: rounding to
// code values and the chroma of half size leave as much.
const balanceFloor = 0.001

// Se returns the standard error of a linear function of the balance.
func (b *Balance) Se(d [BalanceCount]float64) float64 {
	var v float64
	for i := range d {
		for j := range d {
			v += d[i] * d[j] * b.cov[i][j]
		}
	}
	return math.Sqrt(max(v, 0))
}

// LiftShares is how the lifts of red, green and blue make up one number: by
// what they do to the brightness (Rec. ITU-R BT.709).
var LiftShares = [3]float64{0.2126, 0.7152, 0.0722}

// BlackLift returns the lift, and the unit in which it is counted. Only the sum
// over both eyes can be seen, s′ = slope·s + lift; the eye whose blacks come
// out higher is taken for the lifted one, and a lift of the left eye arrives
// in the right eye's signals enlarged by the slope.
func (b *Balance) BlackLift() (lift, unit float64) {
	for c, share := range LiftShares {
		lift += share * b.lift[c]
	}
	if lift >= 0 {
		return lift, 1
	}
	e := ExposedBy(b.Transfer, b.Stops[1])
	unit = e.slope
	if e.bent {
		const h = 0.01
		unit = (e.Of(Darkest+h) - e.Of(Darkest)) / h
	}
	return lift / unit, unit
}
