package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// localCount is how many neighbours a height is predicted from: about two
// rings of a grid, enough for a quadric and something to spare.
const localCount = 16

// localQuadric is the least number of neighbours that a quadric is laid
// through; fewer give a plane.
const localQuadric = 8

// localRidge keeps terms out that the neighbours do not settle, such as
// slopes across a single line of touches.
const localRidge = 1e-7

// local predicts heights from the points around.
type local struct {
	n     *neighbours
	gone  []bool
	found []found
}

// predict returns the height that the points around point k lead to, but for
// k itself, those that are gone and the point other (-1 for none), and how
// much wider than one height's a residual scatters there: the square root of
// one and the prediction's variance factor. ok is false with too few points.
func (l *local) predict(k, other int32) (z, wide float64, ok bool) {
	p := &l.n.points[k]
	l.found = l.n.around(l.found, p.X, p.Y, localCount, func(m int32) bool { return m == k || m == other || l.gone[m] })
	n := len(l.found)
	terms := 3
	if n >= localQuadric {
		terms = 6
	}
	if n < 4 {
		return 0, 0, false
	}
	scale := math.Sqrt(l.found[n-1].d2)
	if scale == 0 {
		return 0, 0, false
	}
	var rows [localCount][6]float64
	var h, w [localCount]float64
	for m, f := range l.found {
		q := &l.n.points[f.k]
		x, y := (q.X-p.X)/scale, (q.Y-p.Y)/scale
		rows[m] = [6]float64{1, x, y, x * x, x * y, y * y}
		h[m], w[m] = q.Z-p.Z, 1
	}
	normal, right := mat.NewSymDense(terms, nil), mat.NewVecDense(terms, nil)
	c, g := mat.NewVecDense(terms, nil), mat.NewVecDense(terms, nil)
	var chol mat.Cholesky
	// Twice, neighbours that are far off the others count less (Tukey's
	// weights, see robustForm).
	for round := 0; ; round++ {
		normal.Zero()
		right.Zero()
		for m := range n {
			row := mat.NewVecDense(terms, rows[m][:terms])
			normal.SymRankOne(normal, w[m], row)
			right.AddScaledVec(right, w[m]*h[m], row)
		}
		for i := range terms {
			normal.SetSym(i, i, normal.At(i, i)+localRidge*float64(n))
		}
		if !chol.Factorize(normal) || chol.SolveVecTo(c, right) != nil {
			return 0, 0, false
		}
		if round == 2 {
			// The prediction is g·b with A g = e0; its variance factor for
			// equal scatter of all heights is the sum of its weights squared.
			right.Zero()
			right.SetVec(0, 1)
			if chol.SolveVecTo(g, right) != nil {
				return 0, 0, false
			}
			sum := 1.0
			for m := range n {
				e := w[m] * mat.Dot(mat.NewVecDense(terms, rows[m][:terms]), g)
				sum += e * e
			}
			return p.Z + c.AtVec(0), math.Sqrt(sum), true
		}
		var d [localCount]float64
		for m := range n {
			d[m] = h[m]
			d[m] -= mat.Dot(mat.NewVecDense(terms, rows[m][:terms]), c)
		}
		sd := madFactor * medianFew(d[:n])
		if sd == 0 {
			sd = 1e-12
		}
		for m := range n {
			t := d[m] / (tukeyCut * sd * localSpare(n, terms))
			w[m] = 0
			if t > -1 && t < 1 {
				w[m] = (1 - t*t) * (1 - t*t)
			}
		}
	}
}

// localSpare widens the scatter about a local fit to that of heights: some
// of it went into the terms.
func localSpare(n, terms int) float64 { return math.Sqrt(float64(n) / float64(n-terms)) }

// medianFew returns the median of the absolute values of a few numbers.
func medianFew(d []float64) float64 {
	var a [localCount]float64
	n := len(d)
	for k, v := range d {
		a[k] = math.Abs(v)
	}
	slices.Sort(a[:n])
	return a[n/2]/2 + a[(n-1)/2]/2
}

// rim reports whether all neighbours of p are on one side of it: whether some
// gap between their directions is half a turn or more.
func (l *local) rim(p *Point, around []found) bool {
	var a [localCount]float64
	n := len(around)
	for k, f := range around {
		q := &l.n.points[f.k]
		a[k] = math.Atan2(q.Y-p.Y, q.X-p.X)
	}
	slices.Sort(a[:n])
	if n == 0 {
		return true
	}
	gap := a[0] + 2*math.Pi - a[n-1]
	for k := 1; k < n; k++ {
		gap = max(gap, a[k]-a[k-1])
	}
	return gap > math.Pi-1e-3
}
