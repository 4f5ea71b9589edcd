package decode

import (
	"math"
	"time"
)

// fraction is a number of frames per second, 0/0 when unknown.
type fraction struct{ num, den int }

func (f fraction) known() bool { return f.num > 0 && f.den > 0 }

// ticker turns ticks of a time base of num/den seconds into durations.
type ticker struct{ num, den int64 }

func (t ticker) duration(ticks int64) time.Duration {
	if t.den == 0 {
		return 0
	}
	seconds := float64(ticks) * float64(t.num) / float64(t.den)
	return time.Duration(math.Round(seconds * float64(time.Second)))
}

// rateOf gives the frame rate of a file whose frames are shown at pts. A rate
// is constant if every frame lies within one tick of its place, which leaves
// room for the rounding of coarse time bases; the first candidate that fits is
// taken. Otherwise the rate is variable and the mean is given.
func rateOf(pts []int64, base ticker, candidates ...fraction) (rate fraction, variable bool) {
	var guess fraction
	for _, c := range candidates {
		if !c.known() {
			continue
		}
		if !guess.known() {
			guess = c
		}
		if steady(pts, float64(base.den)*float64(c.den)/(float64(base.num)*float64(c.num))) {
			return c, false
		}
	}
	n := int64(len(pts))
	if n < 2 || base.num <= 0 || pts[n-1] <= pts[0] {
		return guess, false
	}
	span := pts[n-1] - pts[0]
	num, den := (n-1)*base.den, span*base.num
	d := gcd(num, den)
	num, den = num/d, den/d
	for num > math.MaxInt32 || den > math.MaxInt32 {
		num, den = num/2, den/2
	}
	if num == 0 || den == 0 {
		return guess, true
	}
	mean := fraction{int(num), int(den)}
	return mean, !steady(pts, float64(span)/float64(n-1))
}

func steady(pts []int64, ticksPerFrame float64) bool {
	for i, p := range pts {
		if math.Abs(float64(p-pts[0])-float64(i)*ticksPerFrame) > 1.001 {
			return false
		}
	}
	return true
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return max(a, 1)
}
