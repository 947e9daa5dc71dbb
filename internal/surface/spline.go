package surface

import "gonum.org/v1/gonum/mat"

// derivatives gives the derivatives at the nodes of cubic splines with
// not-a-knot ends, one through each column of f, per mm. With two nodes a
// spline is a line, with three a parabola.
//
// The equations are those of C. de Boor, A Practical Guide to Splines (chapter
// IV, not-a-knot end condition). gonum's interp takes cubic time.
func derivatives(node []float64, f mat.Matrix) *mat.Dense {
	n, splines := f.Dims()
	d := make([]float64, n-1)
	for i := range d {
		d[i] = node[i+1] - node[i]
	}
	lower, diag, upper := make([]float64, n-1), make([]float64, n), make([]float64, n-1)
	right := mat.NewDense(n, splines, nil)
	// row sets the equation of node i: the coefficients of the derivatives
	// around, and those of the slopes of the two cells that make its right
	// side, cells k and k+1.
	row := func(i int, low, at, up float64, k int, first, second float64) {
		diag[i] = at
		if i > 0 {
			lower[i-1] = low
		}
		if i < n-1 {
			upper[i] = up
		}
		for l := range splines {
			v := first * (f.At(k+1, l) - f.At(k, l)) / d[k]
			if second != 0 {
				v += second * (f.At(k+2, l) - f.At(k+1, l)) / d[k+1]
			}
			right.Set(i, l, v)
		}
	}
	for i := 1; i < n-1; i++ {
		row(i, d[i], 2*(d[i-1]+d[i]), d[i-1], i-1, 3*d[i], 3*d[i-1])
	}
	switch n {
	case 2:
		row(0, 0, 1, 0, 0, 1, 0)
		row(1, 0, 1, 0, 0, 1, 0)
	case 3:
		// In the middle it is the slopes' mean, the far one counting more.
		w := d[0] + d[1]
		row(0, 0, 1, 1, 0, 2, 0)
		row(1, 0, 1, 0, 0, d[1]/w, d[0]/w)
		row(2, 1, 1, 0, 1, 2, 0)
	default:
		w, v := d[0]+d[1], d[n-2]+d[n-3]
		row(0, 0, d[1], w, 0, (d[0]+2*w)*d[1]/w, d[0]*d[0]/w)
		row(n-1, v, d[n-3], 0, n-3, d[n-2]*d[n-2]/v, (d[n-2]+2*v)*d[n-3]/v)
	}
	var m mat.Dense
	if err := mat.NewTridiag(n, lower, diag, upper).SolveTo(&m, false, right); err != nil {
		panic("surface: " + err.Error()) // nodes ascend, so that there is one spline
	}
	return &m
}

// hermite is what a bicubic patch knows at a node: the height, its partial
// derivatives and the mixed one, per mm.
type hermite struct{ f, fx, fy, fxy float64 }

// newHermite fits the tensor product of cubic splines through all nodes.
func newHermite(x, y, z []float64) []hermite {
	nx, ny := len(x), len(y)
	f := mat.NewDense(ny, nx, z)
	fx, fy := derivatives(x, f.T()), derivatives(y, f)
	fxy := derivatives(x, fy.T())
	h := make([]hermite, len(z))
	for k := range h {
		i, j := k%nx, k/nx
		h[k] = hermite{z[k], fx.At(i, j), fy.At(j, i), fxy.At(i, j)}
	}
	return h
}
