package surface

// splineSystem finds the derivatives of cubic splines with not-a-knot ends
// at one set of nodes. With two nodes the spline is a line, with three a
// parabola.
//
// The equations are those of C. de Boor, A Practical Guide to Splines
// (chapter IV, not-a-knot end condition). The outer derivatives are put in
// terms of their neighbours first: what is left is tridiagonal and
// diagonally dominant, so elimination needs no pivoting.
type splineSystem struct {
	d     []float64 // widths
	upper []float64 // eliminated upper diagonal, of inner nodes
	pivot []float64 // 1/pivot, of inner nodes
}

func newSplineSystem(node []float64) *splineSystem {
	n := len(node)
	s := &splineSystem{d: make([]float64, n-1)}
	for i := range s.d {
		s.d[i] = node[i+1] - node[i]
	}
	if n < 4 {
		return s
	}
	s.upper, s.pivot = make([]float64, n), make([]float64, n)
	for i := 1; i < n-1; i++ {
		diag, lower, upper := 2*(s.d[i-1]+s.d[i]), s.d[i], s.d[i-1]
		if i == 1 {
			diag, lower = s.d[0]+s.d[1], 0
		}
		if i == n-2 {
			diag, upper = s.d[n-3]+s.d[n-2], 0
		}
		s.pivot[i] = 1 / (diag - lower*s.upper[i-1])
		s.upper[i] = upper * s.pivot[i]
	}
	return s
}

// derive writes to m the derivatives at the nodes of many splines at once:
// value k of spline l is at f[k*step+l*stride], and so in m.
func (s *splineSystem) derive(m, f []float64, step, splines, stride int) {
	n := len(s.d) + 1
	d := s.d
	slope := func(k, at int) float64 { return (f[at+(k+1)*step] - f[at+k*step]) / d[k] }
	for l := range splines {
		at := l * stride
		switch n {
		case 2:
			m[at], m[at+step] = slope(0, at), slope(0, at)
			continue
		case 3:
			a, b := slope(0, at), slope(1, at)
			c := (b - a) / (d[0] + d[1])
			m[at], m[at+step], m[at+2*step] = a-c*d[0], a+c*d[0], b+c*d[1]
			continue
		}
		// head and tail are the end equations:
		// d1*m0 + (d0+d1)*m1 = head, and the same from the other end.
		a, b := slope(0, at), slope(1, at)
		w := d[0] + d[1]
		head := ((d[0]+2*w)*d[1]*a + d[0]*d[0]*b) / w
		y, z := slope(n-2, at), slope(n-3, at)
		v := d[n-2] + d[n-3]
		tail := ((d[n-2]+2*v)*d[n-3]*y + d[n-2]*d[n-2]*z) / v

		for i := 1; i < n-1; i++ {
			right := 3 * (d[i]*slope(i-1, at) + d[i-1]*slope(i, at))
			lower := d[i]
			if i == 1 {
				right, lower = right-head, 0
			}
			if i == n-2 {
				right -= tail
			}
			if lower != 0 {
				right -= lower * m[at+(i-1)*step]
			}
			m[at+i*step] = right * s.pivot[i]
		}
		for i := n - 3; i >= 1; i-- {
			m[at+i*step] -= s.upper[i] * m[at+(i+1)*step]
		}
		m[at] = (head - w*m[at+step]) / d[1]
		m[at+(n-1)*step] = (tail - v*m[at+(n-2)*step]) / d[n-3]
	}
}

// hermite is what a bicubic patch knows at a node: the height, its partial
// derivatives and the mixed one, per mm.
type hermite struct{ f, fx, fy, fxy float64 }

// newHermite fits the tensor product of cubic splines through all nodes.
func newHermite(x, y, z []float64) []hermite {
	nx, ny := len(x), len(y)
	fx, fy, fxy := make([]float64, len(z)), make([]float64, len(z)), make([]float64, len(z))
	along, across := newSplineSystem(x), newSplineSystem(y)
	along.derive(fx, z, 1, ny, nx)
	across.derive(fy, z, nx, nx, 1)
	along.derive(fxy, fy, 1, ny, nx)
	h := make([]hermite, len(z))
	for k := range h {
		h[k] = hermite{z[k], fx[k], fy[k], fxy[k]}
	}
	return h
}
