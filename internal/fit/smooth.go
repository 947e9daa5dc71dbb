package fit

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

// Smooth is a surface of cubic B-splines on even knots, through scattered
// points as near as a penalty on its bending lets it: the discrete form of a
// thin-plate smoothing spline (J. Duchon 1977; P. Eilers and B. Marx,
// Statistical Science 11 (1996) 89, for splines with a penalty).
type Smooth struct {
	x0, y0 float64 // where the first cell begins
	step   float64 // width of a cell, mm
	wider  float64 // than the width for these points, by this factor
	nx, ny int     // cells
	c      []float64
	turned bool    // x and y change places, so that rows are short
	mean   float64 // height that the splines count from
}

const (
	// smoothCells is the greatest number of cells along the narrower side,
	// and smoothMost of all: what 100,000 points are fitted with in a
	// quarter of a second.
	smoothCells = 56
	smoothMost  = 4000
	// smoothLeast cells let a sheet touched at a few places bend freely.
	smoothLeast = 6
	// cellsPerPoint is how many cells there are along for each point along:
	// a bend between two points needs knots between them.
	cellsPerPoint = 2
)

// splines gives the four cubic B-splines over a cell at t, 0 to 1, or their first or
// second derivatives.
func splines(t float64, derivative int) [4]float64 {
	u := 1 - t
	switch derivative {
	case 1:
		return [4]float64{-u * u / 2, (3*t*t - 4*t) / 2, -(3*u*u - 4*u) / 2, t * t / 2}
	case 2:
		return [4]float64{u, 3*t - 2, 3*u - 2, t}
	}
	return [4]float64{u * u * u / 6, (3*t*t*t - 6*t*t + 4) / 6, (3*u*u*u - 6*u*u + 4) / 6, t * t * t / 6}
}

// newSmooth lays cells over points.
func newSmooth(points []surface.Point, finer float64) *Smooth {
	lo, hi := layout.Box(points)
	w, h := hi[0]-lo[0], hi[1]-lo[1]
	s := &Smooth{x0: lo[0], y0: lo[1], turned: w > h}
	if s.turned {
		s.x0, s.y0, w, h = s.y0, s.x0, h, w
	}
	// Cells are square; along a strip the narrow side takes what is left.
	along := cellsPerPoint * math.Sqrt(float64(len(points))*h/max(w, h/50))
	along = min(max(along, smoothLeast), math.Sqrt(smoothMost*h/max(w, h/50)))
	if w > 0 {
		along = min(along, smoothCells*h/w)
	}
	full := max(math.Round(along), smoothLeast)
	along = max(math.Round(along*finer), smoothLeast)
	s.step, s.wider = cmp.Or(h/along, 1), full/along
	s.ny = int(along)
	s.nx = max(int(math.Ceil(w/s.step-1e-9)), 1)
	s.x0 -= (float64(s.nx)*s.step - w) / 2
	for _, p := range points {
		s.mean += p.Z / float64(len(points))
	}
	return s
}

// place finds the cell of x, y and where in it; places outside belong to the
// nearest cell.
func (s *Smooth) place(x, y float64) (i, j int, u, v float64) {
	if s.turned {
		x, y = y, x
	}
	u, v = (x-s.x0)/s.step, (y-s.y0)/s.step
	i = min(max(int(u), 0), s.nx-1)
	j = min(max(int(v), 0), s.ny-1)
	return i, j, u - float64(i), v - float64(j)
}

// At returns the height at x, y.
func (s *Smooth) At(x, y float64) float64 {
	i, j, u, v := s.place(x, y)
	bu, bv := splines(u, 0), splines(v, 0)
	sum := s.mean
	w := s.nx + 3
	for b := range 4 {
		row := s.c[(j+b)*w+i : (j+b)*w+i+4 : (j+b)*w+i+4]
		sum += bv[b] * (bu[0]*row[0] + bu[1]*row[1] + bu[2]*row[2] + bu[3]*row[3])
	}
	return sum
}

// system holds the normal equations of the points, as a band.
type system struct {
	s      *Smooth
	n, k   int // unknowns, and diagonals above the main one
	band   *mat.SymBandDense
	right  []float64
	bend   *mat.SymBandDense // of the penalty
	scaleB float64           // makes a penalty of 1 weigh as much as all points
}

// system makes the equations of points.
func (s *Smooth) system(points []surface.Point) *system {
	w := s.nx + 3
	q := &system{s: s, n: w * (s.ny + 3), k: 3*w + 3}
	q.band, q.bend = mat.NewSymBandDense(q.n, q.k, nil), mat.NewSymBandDense(q.n, q.k, nil)
	q.right = q.towards(points, func(p surface.Point) float64 { return p.Z - s.mean })
	cell, bend := bending(), q.bend.RawSymBand().Data
	for k := range s.nx * s.ny {
		at := q.unknowns(k%s.nx, k/s.nx)
		for m := range at {
			row := bend[at[m]*q.k:]
			for n := m; n < len(at); n++ {
				row[at[n]] += cell[m][n]
			}
		}
	}
	q.scaleB = 1 / q.bend.Trace()
	q.add(points)
	return q
}

// unknowns are the 16 splines over cell i, j. The product of unknowns a and b,
// not less than a, is at a*q.k + b of a band's data.
func (q *system) unknowns(i, j int) (at [16]int) {
	for m := range at {
		at[m] = (j+m/4)*(q.s.nx+3) + i + m%4
	}
	return at
}

// add takes points in.
func (q *system) add(points []surface.Point) {
	band := q.band.RawSymBand().Data
	for _, p := range points {
		i, j, u, v := q.s.place(p.X, p.Y)
		at, val := q.unknowns(i, j), tensor(splines(u, 0), splines(v, 0))
		for m := range at {
			row := band[at[m]*q.k:]
			for n := m; n < len(at); n++ {
				row[at[n]] += val[m] * val[n]
			}
		}
	}
}

// towards is the right side of the equations for heights of the points.
func (q *system) towards(points []surface.Point, height func(p surface.Point) float64) []float64 {
	right := make([]float64, q.n)
	for _, p := range points {
		i, j, u, v := q.s.place(p.X, p.Y)
		at, val, z := q.unknowns(i, j), tensor(splines(u, 0), splines(v, 0)), height(p)
		for m := range at {
			right[at[m]] += val[m] * z
		}
	}
	return right
}

// tensor multiplies splines along the two axes: those of x run first.
func tensor(x, y [4]float64) (xy [16]float64) {
	for m := range xy {
		xy[m] = x[m%4] * y[m/4]
	}
	return xy
}

// bending gives the integral over a cell of zxx² + 2 zxy² + zyy² as a quadratic
// form of the splines there, for cells of unit width.
func bending() (of [16][16]float64) {
	var at, weight [4]float64 // four places are exact to degree seven
	quad.Legendre{}.FixedLocations(at[:], weight[:], 0, 1)
	for k := range 16 {
		for _, d := range []struct{ alongX, alongY, times int }{{2, 0, 1}, {1, 1, 2}, {0, 2, 1}} {
			part := weight[k%4] * weight[k/4] * float64(d.times)
			val := tensor(splines(at[k%4], d.alongX), splines(at[k/4], d.alongY))
			for m := range val {
				for n := range val {
					of[m][n] += part * val[m] * val[n]
				}
			}
		}
	}
	return of
}

// factor is that of the equations with a penalty, given as a part of what all points
// weigh; it reports whether there is one.
func (q *system) factor(penalty float64) (blas64.TriangularBand, bool) {
	// In cells of unit width the same bending weighs less by the square of
	// a cell's width, and so does the sum over all cells.
	p := penalty * q.band.Trace() * q.scaleB / math.Pow(q.s.wider, 4)
	a := q.band.RawSymBand()
	a.Data = floats.AddScaledTo(make([]float64, len(a.Data)), a.Data, p, q.bend.RawSymBand().Data)
	// gonum's mat.BandCholesky would work out the condition number as well,
	// for three times the time.
	return lapack64.Pbtrf(a)
}

// solve fits with a penalty, and reports whether there is a solution.
func (q *system) solve(penalty float64) bool {
	t, ok := q.factor(penalty)
	if !ok {
		return false
	}
	q.s.c, ok = q.solveBy(t, q.right)
	return ok
}

// solveBy solves for a right side with a factor.
func (q *system) solveBy(t blas64.TriangularBand, right []float64) (c []float64, ok bool) {
	c = slices.Clone(right)
	lapack64.Pbtrs(t, blas64.General{Rows: q.n, Cols: 1, Stride: 1, Data: c})
	return c, !slices.ContainsFunc(c, func(v float64) bool { return v-v != 0 })
}

// by is the surface of a solution, over a mean height.
func (s *Smooth) by(c []float64, mean float64) *Smooth {
	of := *s
	of.c, of.mean = c, mean
	return &of
}
