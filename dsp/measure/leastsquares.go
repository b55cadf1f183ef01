package measure

import (
	"math"
	"slices"
)

// leastSquares finds the parameters that make residuals small: Levenberg's
// and Marquardt's method, inside bounds, with a loss that is square for small
// residuals and grows evenly for large ones, so that a few bad points do not
// rule:
//
//	loss = Σ 2s²·(√(1 + (r/s)²) − 1) = Σ 2r²/(1 + √(1 + (r/s)²))
//
// Source: K. Levenberg, Quart. Appl. Math. 2 (1944); D. W. Marquardt, J. SIAM
// 11 (1963); the loss: P. J. Huber, Robust Statistics (1981), smoothed (all
// from memory).
type leastSquares struct {
	residuals func(r, p []float64) // fills r
	count     int                  // of residuals
	low, high []float64            // what each parameter may be
	soft      float64              // s
	enough    float64              // root of the mean square of r that needs no improvement
}

// best is the solution of the lowest loss from several starts.
func (l *leastSquares) best(starts [][]float64) (p []float64, loss float64) {
	loss = math.Inf(1)
	for _, start := range starts {
		if q, at := l.from(start); at < loss || p == nil {
			p, loss = q, at
		}
	}
	return p, loss
}

// from walks downhill until the loss is small enough, or a step changes it by
// less than a millionth, or nothing helps.
func (l *leastSquares) from(start []float64) (p []float64, loss float64) {
	p = slices.Clone(start)
	r, tried, jacobian := make([]float64, l.count), make([]float64, l.count), make([][]float64, len(p))
	loss = l.at(r, p)
	damping, enough := 1e-3, l.enough*l.enough*float64(l.count)
	for step := 0; step < 60 && loss > enough; step++ {
		l.slopes(jacobian, p, r)
		normal, downhill := l.normal(jacobian, r)
		before := loss
		for damping < 1e12 {
			q := l.step(p, normal, downhill, damping)
			if next := l.at(tried, q); next < loss {
				p, loss = q, next
				r, tried = tried, r
				damping = max(damping/10, 1e-12)
				break
			}
			damping *= 10
		}
		if !(before-loss > 1e-6*before) {
			break
		}
	}
	return p, loss
}

// at fills r and is the loss there.
func (l *leastSquares) at(r, p []float64) (loss float64) {
	l.residuals(r, p)
	s := l.soft * l.soft
	for _, v := range r {
		loss += 2 * v * v / (1 + math.Sqrt(1+v*v/s))
	}
	return loss
}

// slopes fills the derivative of every residual by every parameter, from
// differences to the residuals r at p that stay inside the bounds.
func (l *leastSquares) slopes(jacobian [][]float64, p, r []float64) {
	q := slices.Clone(p)
	for i := range p {
		if jacobian[i] == nil {
			jacobian[i] = make([]float64, l.count)
		}
		h := 1e-6 * max(1, math.Abs(p[i]))
		if p[i]+h > l.high[i] {
			h = -h
		}
		q[i] = p[i] + h
		l.residuals(jacobian[i], q)
		q[i] = p[i]
		for k := range r {
			jacobian[i][k] = (jacobian[i][k] - r[k]) / h
		}
	}
}

// normal is JᵀWJ and −JᵀWr, W the slope of the loss over that of a square.
func (l *leastSquares) normal(jacobian [][]float64, r []float64) (matrix [][]float64, downhill []float64) {
	matrix, downhill = make([][]float64, len(jacobian)), make([]float64, len(jacobian))
	for i := range matrix {
		matrix[i] = make([]float64, len(jacobian))
	}
	for k, v := range r {
		w := 1 / math.Sqrt(1+v*v/(l.soft*l.soft))
		for i := range jacobian {
			downhill[i] -= w * jacobian[i][k] * v
			for j := range i + 1 {
				matrix[i][j] += w * jacobian[i][k] * jacobian[j][k]
			}
		}
	}
	return matrix, downhill
}

// step is p moved by the solution of (normal + damping·diagonal)·d = downhill,
// inside the bounds: Cholesky's method.
func (l *leastSquares) step(p []float64, normal [][]float64, downhill []float64, damping float64) []float64 {
	n := len(p)
	q, root := slices.Clone(downhill), make([][]float64, n)
	for i := range root {
		root[i] = slices.Clone(normal[i])
		root[i][i] += damping*normal[i][i] + 1e-12
		for j := range i + 1 {
			for k := range j {
				root[i][j] -= root[i][k] * root[j][k]
			}
			if j < i {
				root[i][j] /= root[j][j]
			}
		}
		root[i][i] = math.Sqrt(max(root[i][i], 1e-300))
		for k := range i {
			q[i] -= root[i][k] * q[k]
		}
		q[i] /= root[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			q[i] -= root[k][i] * q[k]
		}
		q[i] /= root[i][i]
	}
	for i := range q {
		q[i] = min(max(p[i]+q[i], l.low[i]), l.high[i])
	}
	return q
}
