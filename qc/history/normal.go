package history

import "math"

// normal holds the normal equations of the level of a term, its slope over parallax and its
// creep over time: the matrix by rows of its upper triangle (level·level, level·slope,
// level·creep, slope·slope, slope·creep, creep·creep), the right side, and the weighted sum of
// squares.
type normal struct {
	n   [6]float64
	r   [3]float64
	sum float64
}

// add adds what a clip tells, with its parallax and its time as counted for these equations.
func (e *normal) add(o observation, parallax, time float64) {
	// level as seen = level + parallax·slope + time·creep; slope as seen = slope.
	w := o.w
	levelSlope := w.level*parallax + w.both
	e.n[0] += w.level
	e.n[1] += levelSlope
	e.n[2] += w.level * time
	e.n[3] += w.level*parallax*parallax + 2*w.both*parallax + w.slope
	e.n[4] += levelSlope * time
	e.n[5] += w.level * time * time
	level, slope := w.level*o.level+w.both*o.slope, w.both*o.level+w.slope*o.slope
	e.r[0] += level
	e.r[1] += parallax*level + slope
	e.r[2] += time * level
	e.sum += o.level*level + o.slope*slope
}

// less returns the equations without those of e that came first.
func (e normal) less(first *normal) normal {
	for i := range e.n {
		e.n[i] -= first.n[i]
	}
	for i := range e.r {
		e.r[i] -= first.r[i]
	}
	e.sum -= first.sum
	return e
}

// vector is a number for level, slope and creep.
type vector [3]float64

// matrix is a symmetric matrix over them.
type matrix [3][3]float64

// solve returns the unknowns, of which the first two or all three are free, and their
// covariance, given the information that there is of the slope beforehand. It reports false
// where they are not determined.
func (e *normal) solve(prior float64, free int) (theta vector, cov matrix, ok bool) {
	a, b, d := e.n[0], e.n[1], e.n[3]+prior
	det := a*d - b*b
	if a <= 0 || det <= 1e-12*a*d {
		return theta, cov, false
	}
	ia, ib, id := d/det, -b/det, a/det
	if free == 2 {
		theta = vector{ia*e.r[0] + ib*e.r[1], ib*e.r[0] + id*e.r[1]}
		cov[0][0], cov[0][1], cov[1][0], cov[1][1] = ia, ib, ib, id
		return theta, cov, true
	}
	// By blocks: the creep is what is left when the other two are taken out.
	c, f := e.n[2], e.n[4]
	u, v := ia*c+ib*f, ib*c+id*f
	rest := e.n[5] - c*u - f*v
	if rest <= 1e-9*e.n[5] || e.n[5] == 0 {
		return theta, cov, false
	}
	creep := (e.r[2] - u*e.r[0] - v*e.r[1]) / rest
	theta = vector{ia*e.r[0] + ib*e.r[1] - u*creep, ib*e.r[0] + id*e.r[1] - v*creep, creep}
	cov = matrix{
		{ia + u*u/rest, ib + u*v/rest, -u / rest},
		{ib + u*v/rest, id + v*v/rest, -v / rest},
		{-u / rest, -v / rest, 1 / rest},
	}
	return theta, cov, true
}

// cost returns the sum of squares that remains; infinite where the unknowns are not determined.
func (e *normal) cost(prior float64, free int) float64 {
	a, b, d := e.n[0], e.n[1], e.n[3]+prior
	det := a*d - b*b
	if a <= 0 || det <= 1e-12*a*d {
		return math.Inf(1)
	}
	ia, ib, id := d/det, -b/det, a/det
	t0, t1 := ia*e.r[0]+ib*e.r[1], ib*e.r[0]+id*e.r[1]
	left := e.sum - e.r[0]*t0 - e.r[1]*t1
	if free == 3 {
		c, f := e.n[2], e.n[4]
		rest := e.n[5] - c*(ia*c+ib*f) - f*(ib*c+id*f)
		if rest <= 1e-9*e.n[5] || e.n[5] == 0 {
			return math.Inf(1)
		}
		g := e.r[2] - c*t0 - f*t1
		left -= g * g / rest
	}
	return max(left, 0)
}

// variance returns the variance of a linear function of the unknowns.
func (m *matrix) variance(by vector) (v float64) {
	for i := range by {
		for j := range by {
			v += by[i] * by[j] * m[i][j]
		}
	}
	return max(v, 0)
}

func (t vector) dot(by vector) float64 { return t[0]*by[0] + t[1]*by[1] + t[2]*by[2] }
