package stat

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// BiweightCutoff is the residual, in standard deviations, from which on Tukey's biweight
// gives a value no weight. With 4.685 the fit is 95 % as efficient as least squares
// where errors are Gaussian (from memory).
const BiweightCutoff = 4.685

// Regression explains values by a linear function of a few columns. Set the fields down
// to Trust, call Fit, and read the others.
type Regression struct {
	Columns int
	Rows    []float64 // Columns numbers for each value, one row after the other
	Y       []float64 // the values
	Base    []float64 // weight of each value before any robustness: inverse variance times a constant
	// Prior is one standard deviation of each coefficient around zero as it is known
	// before the values are; +Inf where nothing is known.
	Prior []float64
	Floor float64 // smallest Scale, in the unit of Y
	// Trust is the share, 0 to 1, of its weight that each value has while the fit is
	// not yet close: less for a value that would pull the fit to itself if it is wrong.
	// Nil is 1 for all.
	Trust []float64

	Coef  []float64 // coefficient of each column
	W     []float64 // final weight of each value, 0 where it is an outlier
	Scale float64   // robust standard deviation of the residuals at weight 1, in the unit of Y
	chol  mat.Cholesky
}

// Row returns the columns of value i, sharing memory with Rows.
func (r *Regression) Row(i int) []float64 { return r.Rows[i*r.Columns:][:r.Columns:r.Columns] }

// Residual returns what the coefficients leave unexplained of value i, in the unit of Y.
func (r *Regression) Residual(i int) float64 {
	e := r.Y[i]
	for j, v := range r.Row(i) {
		e -= v * r.Coef[j]
	}
	return e
}

// Fit finds the coefficients. Near says that they are close to zero, as when the values
// are the residuals of an earlier fit: then the biweight is used from the first round on.
// It reports false when the values do not determine the coefficients.
func (r *Regression) Fit(near bool) bool {
	const rounds, convex = 20, 7 // at most, and of these the ones with Huber's weights
	r.Coef = make([]float64, r.Columns)
	if !near {
		r.W = append(r.W[:0], r.Base...)
		r.Scale = r.Floor // small, so that priors weigh little in the first round
	}
	n := len(r.Y)
	scaled, sorted := make([]float64, n), make([]float64, n)
	before := make([]float64, r.Columns)
	for round := range rounds {
		if near || round > 0 {
			for i := range n {
				scaled[i] = math.Abs(r.Residual(i)) * math.Sqrt(r.Base[i])
			}
			copy(sorted, scaled)
			r.Scale = max(MADToSigma*Median(sorted), r.Floor)
			for i, e := range scaled {
				if !near && round < convex {
					r.W[i] = r.Base[i] * r.Scale / max(e, r.Scale)
					if r.Trust != nil {
						r.W[i] *= r.Trust[i]
					}
				} else {
					r.W[i] = r.Base[i] * Sq(max(1-Sq(e/(BiweightCutoff*r.Scale)), 0))
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

// solve finds the weighted least-squares solution from the normal equations. The priors
// enter as measurements of zero.
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

// Inverse returns the inverse of the matrix of the normal equations after a Fit that
// reported true. Times Scale² it is the covariance of the coefficients if the errors of
// all values are independent.
func (r *Regression) Inverse() *mat.SymDense {
	var inverse mat.SymDense
	if err := r.chol.InverseTo(&inverse); err != nil {
		panic(err) // solve has checked the condition number
	}
	return &inverse
}

// Sandwich returns the cluster-robust covariance of the coefficients: values of one
// cluster, which are numbered from 0, may share their errors (K.-Y. Liang, S. L. Zeger,
// "Longitudinal data analysis using generalized linear models", Biometrika 73(1), 1986;
// from memory). It is too small where there are few clusters.
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
		e := r.W[n] * r.Residual(n)
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

// LeftOut returns the covariance of the coefficients from what becomes of them when one cluster
// after another is left out; clusters are numbered from 0. Unlike Sandwich it suits few of them.
func (r *Regression) LeftOut(cluster []int, count int) *mat.SymDense {
	l := NewLeftOut(r.Columns, count)
	for i := range r.Y {
		l.Add(cluster[i], r.Row(i), r.W[i], r.Residual(i))
	}
	var normal mat.SymDense
	r.chol.ToSym(&normal)
	return l.Covariance(&normal)
}
