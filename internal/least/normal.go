package least

import "math"

// pivotSmall is a part of its diagonal that a pivot may not fall below: the rows
// settle nothing then.
const pivotSmall = 1e-11

// Normal gathers the normal equations of a linear model, row by row, and solves them
// by A. Cholesky's way. They lose half of the digits: they are for models of few
// parameters of like size that are fitted over and over. Linear is for what is to be
// exact.
type Normal struct {
	p    int
	a, b []float64 // the lower triangle, and the right side
	rows int
}

// NewNormal makes equations of p parameters.
func NewNormal(p int) *Normal { return &Normal{p: p, a: make([]float64, p*p), b: make([]float64, p)} }

// Clear forgets all rows.
func (n *Normal) Clear() {
	clear(n.a)
	clear(n.b)
	n.rows = 0
}

// Add adds a row, of which it takes the first p values, with a weight and what was
// measured.
func (n *Normal) Add(weight, y float64, row []float64) {
	row = row[:n.p]
	for i, v := range row {
		v *= weight
		n.b[i] += v * y
		a := n.a[i*n.p : i*n.p+i+1]
		for j := range a {
			a[j] += v * row[j]
		}
	}
	n.rows++
}

// Keep adds to the diagonal what keeps terms near zero that the rows do not settle, for
// each row.
func (n *Normal) Keep(each float64) {
	for i := range n.p {
		n.a[i*n.p+i] += each * float64(n.rows)
	}
}

// Solve sets beta to the solution, and reports whether there is one. Until the next
// Clear only Back may be called.
func (n *Normal) Solve(beta []float64) bool {
	p, a := n.p, n.a
	for i := range p {
		whole := a[i*p+i]
		for j := range i + 1 {
			s := a[i*p+j]
			for m := range j {
				s -= a[i*p+m] * a[j*p+m]
			}
			if j < i {
				a[i*p+j] = s / a[j*p+j]
				continue
			}
			if !(s > pivotSmall*whole) {
				return false
			}
			a[i*p+i] = math.Sqrt(s)
		}
	}
	copy(beta, n.b)
	n.Back(beta)
	return true
}

// Back solves for another right side, in its place, once there is a solution.
func (n *Normal) Back(v []float64) {
	p, a := n.p, n.a
	for i := range p {
		for m := range i {
			v[i] -= a[i*p+m] * v[m]
		}
		v[i] /= a[i*p+i]
	}
	for i := p - 1; i >= 0; i-- {
		for m := i + 1; m < p; m++ {
			v[i] -= a[m*p+i] * v[m]
		}
		v[i] /= a[i*p+i]
	}
}
