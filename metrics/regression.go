package metrics

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// tukey is the constant of the biweight that is 95 % efficient on Gaussian
// errors.
const tukey = 4.685

func sq(v float64) float64 { return v * v }

// regression explains values by a few columns, with Tukey's biweight against
// values that belong to something else.
type regression struct {
	columns int
	rows    []float64 // a row of columns for each value
	y       []float64
	base    []float64 // weight of each value before any robustness
	// prior is how large each coefficient may well be before anything was seen,
	// one standard deviation; infinite where nothing is known.
	prior []float64
	floor float64 // least scale of the residuals
	// trust is the share of its weight that each value has until it is clear which values
	// belong, 0 to 1: less where a wrong one would pull the fit to itself. All of it if nil.
	trust []float64

	coef  []float64
	w     []float64 // weight of each value in the end, 0 where it does not belong
	scale float64   // robust standard deviation of the residuals
	chol  mat.Cholesky
}

func (r *regression) row(i int) []float64 { return r.rows[i*r.columns:][:r.columns:r.columns] }

// left returns what of value i is not explained.
func (r *regression) left(i int) float64 {
	e := r.y[i]
	for j, v := range r.row(i) {
		e -= v * r.coef[j]
	}
	return e
}

// fit finds the coefficients. Near says that they are small and the weights of
// a fit before are good to start from; otherwise it finds its way with a kernel
// that is convex. It reports false when the values do not fix the coefficients.
func (r *regression) fit(near bool) bool {
	const rounds, convex = 20, 7
	r.coef = make([]float64, r.columns)
	if !near {
		r.w = append(r.w[:0], r.base...)
		r.scale = r.floor // no supposition stands in the way yet
	}
	n := len(r.y)
	scaled, sorted := make([]float64, n), make([]float64, n)
	before := make([]float64, r.columns)
	for round := range rounds {
		if near || round > 0 {
			for i := range n {
				scaled[i] = math.Abs(r.left(i)) * math.Sqrt(r.base[i])
			}
			copy(sorted, scaled)
			r.scale = max(1.4826*median(sorted), r.floor)
			for i, e := range scaled {
				if !near && round < convex {
					r.w[i] = r.base[i] * r.scale / max(e, r.scale)
					if r.trust != nil {
						r.w[i] *= r.trust[i]
					}
				} else {
					r.w[i] = r.base[i] * sq(max(1-sq(e/(tukey*r.scale)), 0))
				}
			}
		}
		copy(before, r.coef)
		if !r.solve() {
			return false
		}
		change := 0.0
		for i, v := range r.coef {
			change = max(change, math.Abs(v-before[i]))
		}
		if (near || round > convex+1) && change < 1e-9 {
			break
		}
	}
	return true
}

// solve finds the weighted least-squares solution. The priors enter as
// measurements of zero.
func (r *regression) solve() bool {
	k := r.columns
	m, v := make([]float64, k*k), make([]float64, k)
	for n, y := range r.y {
		w := r.w[n]
		if w == 0 {
			continue
		}
		row := r.row(n)
		for i, a := range row {
			if a == 0 {
				continue
			}
			wa := w * a
			v[i] += wa * y
			dst := m[i*k:][:k]
			for j := i; j < k; j++ {
				dst[j] += wa * row[j]
			}
		}
	}
	for i := range k {
		m[i*k+i] += sq(r.scale / r.prior[i])
	}
	if !r.chol.Factorize(mat.NewSymDense(k, m)) || r.chol.Cond() > 1e14 {
		return false
	}
	return r.chol.SolveVecTo(mat.NewVecDense(k, r.coef), mat.NewVecDense(k, v)) == nil
}

// inverse returns the inverse of the matrix of the normal equations: times the
// square of the scale it is the usual covariance of the coefficients.
func (r *regression) inverse() *mat.SymDense {
	var inverse mat.SymDense
	if err := r.chol.InverseTo(&inverse); err != nil {
		panic(err) // solve has seen to the condition
	}
	return &inverse
}

// sandwich returns the covariance of the coefficients by clusters: values of a
// cluster, numbered from 0, may share their errors (K.-Y. Liang, S. Zeger,
// Biometrika 73(1), 1986; from memory). It is an underestimate for few clusters.
func (r *regression) sandwich(inverse *mat.SymDense, cluster []int) *mat.SymDense {
	k := r.columns
	var scores []float64
	for n := range r.y {
		for len(scores) <= cluster[n]*k {
			scores = append(scores, make([]float64, k)...)
		}
		if r.w[n] == 0 {
			continue
		}
		e := r.w[n] * r.left(n)
		for j, v := range r.row(n) {
			scores[cluster[n]*k+j] += e * v
		}
	}
	meat := mat.NewSymDense(k, nil)
	for i := 0; i < len(scores); i += k {
		meat.SymRankOne(meat, 1, mat.NewVecDense(k, scores[i:][:k]))
	}
	var half, full mat.Dense
	half.Mul(inverse, meat)
	full.Mul(&half, inverse)
	out := mat.NewSymDense(k, nil)
	for i := range k {
		for j := i; j < k; j++ {
			out.SetSym(i, j, full.At(i, j))
		}
	}
	return out
}
