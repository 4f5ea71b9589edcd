package stat

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Tukey is the constant of the biweight that is 95 % efficient on Gaussian
// errors.
const Tukey = 4.685

func Sq(v float64) float64 { return v * v }

// Regression explains values by a few columns, with Tukey's biweight against
// values that belong to something else.
type Regression struct {
	Columns int
	Rows    []float64 // a row of columns for each value
	Y       []float64
	Base    []float64 // weight of each value before any robustness
	// Prior is how large each coefficient may well be before anything was seen,
	// one standard deviation; infinite where nothing is known.
	Prior []float64
	Floor float64 // least scale of the residuals
	// Trust is the share of its weight that each value has until it is clear which values
	// belong, 0 to 1: less where a wrong one would pull the fit to itself. All of it if nil.
	Trust []float64

	Coef  []float64
	W     []float64 // weight of each value in the end, 0 where it does not belong
	Scale float64   // robust standard deviation of the residuals
	chol  mat.Cholesky
}

func (r *Regression) Row(i int) []float64 { return r.Rows[i*r.Columns:][:r.Columns:r.Columns] }

// Left returns what of value i is not explained.
func (r *Regression) Left(i int) float64 {
	e := r.Y[i]
	for j, v := range r.Row(i) {
		e -= v * r.Coef[j]
	}
	return e
}

// Fit finds the coefficients. Near says that they are small and the weights of
// a fit before are good to start from; otherwise it finds its way with a kernel
// that is convex. It reports false when the values do not fix the coefficients.
func (r *Regression) Fit(near bool) bool {
	const rounds, convex = 20, 7
	r.Coef = make([]float64, r.Columns)
	if !near {
		r.W = append(r.W[:0], r.Base...)
		r.Scale = r.Floor // no supposition stands in the way yet
	}
	n := len(r.Y)
	scaled, sorted := make([]float64, n), make([]float64, n)
	before := make([]float64, r.Columns)
	for round := range rounds {
		if near || round > 0 {
			for i := range n {
				scaled[i] = math.Abs(r.Left(i)) * math.Sqrt(r.Base[i])
			}
			copy(sorted, scaled)
			r.Scale = max(1.4826*Median(sorted), r.Floor)
			for i, e := range scaled {
				if !near && round < convex {
					r.W[i] = r.Base[i] * r.Scale / max(e, r.Scale)
					if r.Trust != nil {
						r.W[i] *= r.Trust[i]
					}
				} else {
					r.W[i] = r.Base[i] * Sq(max(1-Sq(e/(Tukey*r.Scale)), 0))
				}
			}
		}
		copy(before, r.Coef)
		if !r.solve() {
			return false
		}
		change := 0.0
		for i, v := range r.Coef {
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
func (r *Regression) solve() bool {
	k := r.Columns
	m, v := make([]float64, k*k), make([]float64, k)
	for n, y := range r.Y {
		w := r.W[n]
		if w == 0 {
			continue
		}
		row := r.Row(n)
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
		m[i*k+i] += Sq(r.Scale / r.Prior[i])
	}
	if !r.chol.Factorize(mat.NewSymDense(k, m)) || r.chol.Cond() > 1e14 {
		return false
	}
	return r.chol.SolveVecTo(mat.NewVecDense(k, r.Coef), mat.NewVecDense(k, v)) == nil
}

// Inverse returns the inverse of the matrix of the normal equations: times the
// square of the scale it is the usual covariance of the coefficients.
func (r *Regression) Inverse() *mat.SymDense {
	var inverse mat.SymDense
	if err := r.chol.InverseTo(&inverse); err != nil {
		panic(err) // solve has seen to the condition
	}
	return &inverse
}

// Sandwich returns the covariance of the coefficients by clusters: values of a
// cluster, numbered from 0, may share their errors (K.-Y. Liang, S. Zeger,
// Biometrika 73(1), 1986; from memory). It is an underestimate for few clusters.
func (r *Regression) Sandwich(inverse *mat.SymDense, cluster []int) *mat.SymDense {
	k := r.Columns
	var scores []float64
	for n := range r.Y {
		for len(scores) <= cluster[n]*k {
			scores = append(scores, make([]float64, k)...)
		}
		if r.W[n] == 0 {
			continue
		}
		e := r.W[n] * r.Left(n)
		for j, v := range r.Row(n) {
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
