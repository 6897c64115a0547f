package oscillator

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// lowerTriangle is a lower triangular matrix by rows, n in each. The fit factors some fifty small ones for each answer;
// plain loops do that in a tenth of the time that a general library needs to set up for it.
type lowerTriangle struct {
	n int
	a []float64
}

func (l lowerTriangle) row(i int) []float64 { return l.a[i*l.n : i*l.n+i+1] }

// cholesky overwrites the lower half of a symmetric matrix by its Cholesky factor; ok is false where it is not
// positive definite.
func (l lowerTriangle) cholesky() (ok bool) {
	for i := range l.n {
		ri := l.row(i)
		for j := range i + 1 {
			rj := l.row(j)
			s := ri[j]
			for k, x := range rj[:j] {
				s -= ri[k] * x
			}
			if i == j {
				if !(s > 0) {
					return false
				}
				ri[i] = math.Sqrt(s)
				continue
			}
			ri[j] = s / rj[j]
		}
	}
	return true
}

// forward overwrites b by the solution of l·x = b.
func (l lowerTriangle) forward(b []float64) {
	for i := range l.n {
		ri := l.row(i)
		s := b[i]
		for k, x := range ri[:i] {
			s -= x * b[k]
		}
		b[i] = s / ri[i]
	}
}

// backward overwrites the first m of b by the solution of the transpose of the leading m by m of l times x = b.
func (l lowerTriangle) backward(b []float64, m int) {
	for i := m - 1; i >= 0; i-- {
		ri := l.row(i)
		b[i] /= ri[i]
		for k, x := range ri[:i] {
			b[k] -= x * b[i]
		}
	}
}

// inverse returns the inverse of the leading m by m of l.
func (l lowerTriangle) inverse(m int) lowerTriangle {
	out := lowerTriangle{m, make([]float64, m*m)}
	for i := range m {
		ri, oi := l.row(i), out.row(i)
		oi[i] = 1 / ri[i]
		for k, x := range ri[:i] {
			for c, y := range out.row(k) {
				oi[c] -= x * y * oi[i]
			}
		}
	}
	return out
}

// covariance returns the inverse of the matrix whose Cholesky factor is l.
func (l lowerTriangle) covariance() *mat.SymDense {
	inverse, n := l.inverse(l.n), l.n
	out := make([]float64, n*n)
	for k := range n {
		rk := inverse.row(k)
		for a, x := range rk {
			into := out[a*n : a*n+n]
			for b, y := range rk[a:] {
				into[a+b] += x * y
			}
		}
	}
	return mat.NewSymDense(n, out) // which reads the upper half
}
