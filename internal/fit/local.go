package fit

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/quadtree"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"sagitta/internal/least"
	"sagitta/internal/surface"
)

const (
	// localCount is how many neighbours a height is predicted from: about two
	// rings of a grid, enough for a quadric and something to spare.
	localCount = 16
	// localQuadric is the least number of neighbours that a quadric is laid
	// through; fewer give a plane, and fewer than localLeast nothing.
	localQuadric = 8
	localLeast   = 4
	// localRidge keeps terms out that the neighbours do not settle, such as
	// slopes across a single line of touches.
	localRidge = 1e-7
)

// local predicts heights from the points around.
type local struct {
	points []surface.Point
	gone   []bool // points that are left out
	tree   *quadtree.Quadtree
}

// site is a point in the tree, by its index.
type site struct {
	at orb.Point
	k  int
}

// Point is where the site is.
func (s *site) Point() orb.Point { return s.at }

func newLocal(points []surface.Point) *local {
	lo, hi := box(points)
	l := &local{points: points, gone: make([]bool, len(points)), tree: quadtree.New(orb.Bound{Min: lo, Max: hi})}
	for k, p := range points {
		if err := l.tree.Add(&site{orb.Point{p.X, p.Y}, k}); err != nil {
			panic("fit: " + err.Error()) // the box holds all points
		}
	}
	return l
}

// around returns the count points nearest to point k, nearest first, but for k
// itself, those that are gone and the point other (-1 for none).
func (l *local) around(k, other, count int) []int {
	p := &l.points[k]
	nearest := l.tree.KNearestMatching(nil, orb.Point{p.X, p.Y}, count, func(q orb.Pointer) bool {
		m := q.(*site).k
		return m != k && m != other && !l.gone[m]
	})
	found := make([]int, len(nearest))
	for m, q := range nearest {
		found[m] = q.(*site).k
	}
	return found
}

// predict returns the height that the points around point k lead to, but for
// those that around leaves out, and how much wider than one height's a residual
// scatters there: the square root of one and the prediction's variance factor. ok
// is false with too few points.
func (l *local) predict(k, other int) (z, wide float64, ok bool) {
	p := &l.points[k]
	found := l.around(k, other, localCount)
	n, terms := len(found), 3
	if n >= localQuadric {
		terms = 6
	}
	if n < localLeast {
		return 0, 0, false
	}
	furthest := &l.points[found[n-1]]
	scale := math.Hypot(furthest.X-p.X, furthest.Y-p.Y)
	if scale == 0 {
		return 0, 0, false
	}
	x, h := mat.NewDense(n, terms, nil), make([]float64, n)
	w, d := make([]float64, n), make([]float64, n)
	for m, f := range found {
		q := &l.points[f]
		row := quadratic((q.X-p.X)/scale, (q.Y-p.Y)/scale)
		x.SetRow(m, row[:terms])
		h[m], w[m] = q.Z-p.Z, 1
	}
	normal, right := mat.NewSymDense(terms, nil), mat.NewVecDense(terms, nil)
	c := mat.NewVecDense(terms, nil)
	fitted := mat.NewVecDense(n, nil)
	var chol mat.Cholesky
	// Twice, neighbours that are far off the others count less.
	for round := 0; ; round++ {
		normal.Zero()
		right.Zero()
		for m := range n {
			normal.SymRankOne(normal, w[m], x.RowView(m))
			right.AddScaledVec(right, w[m]*h[m], x.RowView(m))
		}
		for i := range terms {
			normal.SetSym(i, i, normal.At(i, i)+localRidge*float64(n))
		}
		if !chol.Factorize(normal) || chol.SolveVecTo(c, right) != nil {
			return 0, 0, false
		}
		if round == 2 {
			break
		}
		fitted.MulVec(x, c)
		floats.SubTo(d, h, fitted.RawVector().Data)
		// Some of the scatter of heights went into the terms.
		sd := max(least.Scatter(d), 1e-12) * math.Sqrt(float64(n)/float64(n-terms))
		least.Tukey(w, d, sd)
	}
	z = p.Z + c.AtVec(0)
	// The prediction is g·b with A g = e0; its variance factor for
	// equal scatter of all heights is the sum of its weights squared.
	right.Zero()
	right.SetVec(0, 1)
	if chol.SolveVecTo(c, right) != nil {
		return 0, 0, false
	}
	fitted.MulVec(x, c)
	sum := 1.0
	for m := range n {
		e := w[m] * fitted.AtVec(m)
		sum += e * e
	}
	return z, math.Sqrt(sum), true
}

// rimPart is how deep in the hull of its neighbours a point is that has some on
// every side, as a part of each side's length.
const rimPart = 1e-3 / 4

// rim reports whether all neighbours of point k are on one side of it.
func (l *local) rim(k int, around []int) bool {
	var neighbours []surface.Point
	for _, m := range around {
		neighbours = append(neighbours, l.points[m])
	}
	h := newHull(neighbours)
	return len(h) < 3 || !h.inside(l.points[k].X, l.points[k].Y, rimPart)
}
