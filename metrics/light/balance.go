package light

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// Balance is the fitted relation of the right eye's light to the left's. For each of red,
// green and blue, the right eye shows the left eye's light times 2^Stops, and then a lift
// added to its signal.
type Balance struct {
	Stops [3]float64 // positive: the right eye is brighter
	lift  [3]float64 // share of full scale; positive: the right eye's blacks are higher
	// cov is the covariance of the stops of red, green and blue and then of their lifts.
	// partCov is the same from what large parts of the picture say of each other.
	cov, partCov [BalanceCount][BalanceCount]float64
	// scale is the robust standard deviation of the residuals by channel, as a multiple
	// of the expected one.
	scale [3]float64
	// TooFew says which channels were seen at too few places; their stops are those of
	// green.
	TooFew   [3]bool
	Transfer picture.Transfer
}

// BalanceCount is the number of a balance's parameters: the stops of red, green and blue
// and then their lifts. Linear functions of a balance are given by so many coefficients.
const BalanceCount = 6

const (
	// MinSamples is how many places a fit takes.
	MinSamples = 60
	// MaxSamples is how many places are enough.
	MaxSamples = 2000

	Darkest   = 0.08 // signal below which noise and lift outweigh the light
	Brightest = 0.93 // signal above which cameras clip

	// tintPriorSE is the prior standard error, in stops, of a channel's gain against that
	// of green: so wide that it counts only for a channel of which nothing was seen.
	tintPriorSE = 2.0

	// LiftPriorSE is the prior standard error of the lift that all channels share, and
	// liftTintPriorSE that of each channel's own besides, as shares of full scale: a
	// picture without dark places cannot tell a lift from a gain. The project's own
	// choice; a range flag missed on one eye is a lift of 0.063.
	LiftPriorSE     = 0.05
	liftTintPriorSE = 0.01

	// biasDoubt is the relative standard error of the correction for what noise takes
	// from the mean of a signal, as far as both eyes share it, and biasDoubtEach that of
	// each eye alone. Measured on drawn scenes.
	biasDoubt     = 0.25
	biasDoubtEach = 0.1

	// flatError is the standard error of a signal, besides noise, where nothing changes
	// around it.
	flatError = 0.002
)

// maxStopsSE is the largest standard error, in stops, worth reporting.
const maxStopsSE = 0.3

// Measured returns a number of stops with its standard error, d being its coefficients in
// the balance. It is missing where gain and lift cannot be told apart.
func (b *Balance) Measured(stops float64, d [BalanceCount]float64) stat.Measurement {
	se := b.SE(d)
	if se > maxStopsSE {
		return stat.Missing("the picture's range of light is too small to tell a gain from a lifted black")
	}
	return stat.Measured(stops, math.Hypot(se, balanceFloor))
}

// balanceFloor is the least standard error of a number of stops: what rounding to code
// values and subsampled chroma leave.
const balanceFloor = 0.001

// SE returns the standard error of the linear function of the balance with the
// coefficients d.
func (b *Balance) SE(d [BalanceCount]float64) float64 {
	var v, parts float64
	for i := range d {
		for j := range d {
			v += d[i] * d[j] * b.cov[i][j]
			parts += d[i] * d[j] * b.partCov[i][j]
		}
	}
	return math.Sqrt(max(v, parts, 0))
}

// LiftShares are the weights by which the lifts of red, green and blue make one number: the
// luma coefficients of Rec. ITU-R BT.709.
var LiftShares = [3]float64{0.2126, 0.7152, 0.0722}

// BlackLift returns the lift as a share of full scale of the lifted eye, positive for the
// right one, and by what the fitted lift was divided to get it. Only s′ = slope·s + lift
// can be seen, so the eye whose blacks come out higher is taken for the lifted one; a lift
// of the left eye arrives in the right eye's signals multiplied by the slope.
func (b *Balance) BlackLift() (lift, unit float64) {
	for c, share := range LiftShares {
		lift += share * b.lift[c]
	}
	if lift >= 0 {
		return lift, 1
	}
	e := NewExposureCurve(b.Transfer, b.Stops[1])
	unit = e.slope
	if e.bent {
		const h = 0.01
		unit = (e.Apply(Darkest+h) - e.Apply(Darkest)) / h
	}
	return lift / unit, unit
}
