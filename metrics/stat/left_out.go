package stat

import "gonum.org/v1/gonum/mat"

// LeftOut tells the covariance of a weighted least-squares solution from what becomes of it when
// one part of the evidence after another is left out: the jackknife over groups (see Jackknife),
// each by one Newton step. Errors that all values of a part share count in full, whatever their
// cause, where a formula that supposes independent values would average them out.
type LeftOut struct {
	columns int
	normal  []*mat.SymDense // of each part, its share of the matrix of the normal equations
	score   []*mat.VecDense // of each part, the sum of weight·residual·row
}

// NewLeftOut returns one for so many columns and parts.
func NewLeftOut(columns, parts int) *LeftOut {
	l := &LeftOut{columns: columns}
	for range parts {
		l.normal = append(l.normal, mat.NewSymDense(columns, nil))
		l.score = append(l.score, mat.NewVecDense(columns, nil))
	}
	return l
}

// Add notes a value of a part: its row, weight and residual.
func (l *LeftOut) Add(part int, row []float64, weight, residual float64) {
	if weight == 0 {
		return
	}
	v := mat.NewVecDense(l.columns, row)
	l.normal[part].SymRankOne(l.normal[part], weight, v)
	l.score[part].AddScaledVec(l.score[part], weight*residual, v)
}

// Covariance returns the covariance of the coefficients. Normal is the matrix of the normal
// equations of all parts and the priors. Parts without which the others do not determine the
// coefficients are left out as if they were small.
func (l *LeftOut) Covariance(normal mat.Symmetric) *mat.SymDense {
	var change []*mat.VecDense
	mean := mat.NewVecDense(l.columns, nil)
	for g, own := range l.normal {
		if mat.Trace(own) == 0 {
			continue
		}
		rest := mat.NewSymDense(l.columns, nil)
		for i := range l.columns {
			for j := i; j < l.columns; j++ {
				rest.SetSym(i, j, normal.At(i, j)-own.At(i, j))
			}
		}
		var c mat.Cholesky
		if !c.Factorize(rest) {
			c.Factorize(normal)
		}
		d := mat.NewVecDense(l.columns, nil)
		if c.SolveVecTo(d, l.score[g]) != nil {
			continue
		}
		change = append(change, d)
		mean.AddVec(mean, d)
	}
	cov := mat.NewSymDense(l.columns, nil)
	n := float64(len(change))
	for _, d := range change {
		d.AddScaledVec(d, -1/n, mean)
		cov.SymRankOne(cov, (n-1)/n, d)
	}
	return cov
}
