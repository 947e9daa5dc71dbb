package fit

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
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
	turned bool // x and y change places, so that rows are short
	mean   float64
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

// basis writes the four cubic B-splines over a cell at t, 0 to 1.
func basis(t float64) [4]float64 {
	u := 1 - t
	return [4]float64{u * u * u / 6, (3*t*t*t - 6*t*t + 4) / 6, (3*u*u*u - 6*u*u + 4) / 6, t * t * t / 6}
}

// newSmooth lays cells over points.
func newSmooth(points []Point, finer float64) *Smooth {
	lo, hi := box(points)
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
	s.step, s.wider = h/along, full/along
	if s.step == 0 {
		s.step = 1
	}
	s.ny = int(along)
	s.nx = max(int(math.Ceil(w/s.step-1e-9)), 1)
	s.x0 -= (float64(s.nx)*s.step - w) / 2
	return s
}

// place finds the cell of x, y, already turned, and where in it; places
// outside belong to the nearest cell.
func (s *Smooth) place(x, y float64) (i, j int, u, v float64) {
	u, v = (x-s.x0)/s.step, (y-s.y0)/s.step
	i = min(max(int(u), 0), s.nx-1)
	j = min(max(int(v), 0), s.ny-1)
	return i, j, u - float64(i), v - float64(j)
}

// At returns the height at x, y.
func (s *Smooth) At(x, y float64) float64 {
	if s.turned {
		x, y = y, x
	}
	i, j, u, v := s.place(x, y)
	bu, bv := basis(u), basis(v)
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
	band   []float64
	right  []float64
	bend   []float64 // of the penalty
	scaleB float64   // makes a penalty of 1 weigh as much as all points
}

func (s *Smooth) system() *system {
	w := s.nx + 3
	q := &system{s: s, n: w * (s.ny + 3), k: 3*w + 3}
	q.band = make([]float64, q.n*(q.k+1))
	q.right = make([]float64, q.n)
	q.bend = make([]float64, q.n*(q.k+1))
	q.bending()
	return q
}

// add takes a point in with a weight; below zero takes it out again.
func (q *system) add(p *Point, weight float64) {
	s := q.s
	x, y := p.X, p.Y
	if s.turned {
		x, y = y, x
	}
	i, j, u, v := s.place(x, y)
	bu, bv := basis(u), basis(v)
	w := s.nx + 3
	var val [16]float64
	var at [16]int
	for b := range 4 {
		for a := range 4 {
			val[4*b+a] = bu[a] * bv[b]
			at[4*b+a] = (j+b)*w + i + a
		}
	}
	z := (p.Z - s.mean) * weight
	for m := range 16 {
		vm := val[m] * weight
		q.right[at[m]] += val[m] * z
		row := q.band[at[m]*(q.k+1):]
		for n := m; n < 16; n++ {
			row[at[n]-at[m]] += vm * val[n]
		}
	}
}

// bending adds the integral of zxx² + 2 zxy² + zyy² as products of integrals
// along the axes, for cells of unit width.
func (q *system) bending() {
	s := q.s
	var gx, gy [3][][4]float64
	for d := range 3 {
		gx[d], gy[d] = gram(s.nx, d), gram(s.ny, d)
	}
	w, h := s.nx+3, s.ny+3
	get := func(g [][4]float64, a, b int) float64 {
		if a > b {
			a, b = b, a
		}
		if b-a > 3 {
			return 0
		}
		return g[a][b-a]
	}
	trace := 0.0
	for j := range h {
		for i := range w {
			row := q.bend[(j*w+i)*(q.k+1):]
			for b := j; b <= min(j+3, h-1); b++ {
				for a := max(i-3, 0); a <= min(i+3, w-1); a++ {
					off := (b-j)*w + a - i
					if off < 0 {
						continue
					}
					row[off] = get(gx[2], i, a)*get(gy[0], j, b) + 2*get(gx[1], i, a)*get(gy[1], j, b) + get(gx[0], i, a)*get(gy[2], j, b)
				}
			}
			trace += row[0]
		}
	}
	q.scaleB = 1 / trace
}

// gram returns the integrals of products of the d-th derivatives of the
// B-splines over n cells: of spline a with a to a+3.
func gram(n, d int) [][4]float64 {
	// Gauss's rule with four places is exact to degree seven.
	at := [4]float64{-0.8611363115940526, -0.3399810435848563, 0.3399810435848563, 0.8611363115940526}
	wt := [4]float64{0.3478548451374538, 0.6521451548625461, 0.6521451548625461, 0.3478548451374538}
	var cell [4][4]float64
	for m := range 4 {
		b := derivative((at[m]+1)/2, d)
		for i := range 4 {
			for j := range 4 {
				cell[i][j] += wt[m] / 2 * b[i] * b[j]
			}
		}
	}
	g := make([][4]float64, n+3)
	for c := range n {
		for i := range 4 {
			for j := i; j < 4; j++ {
				g[c+i][j-i] += cell[i][j]
			}
		}
	}
	return g
}

func derivative(t float64, d int) [4]float64 {
	u := 1 - t
	switch d {
	case 1:
		return [4]float64{-u * u / 2, (3*t*t - 4*t) / 2, -(3*u*u - 4*u) / 2, t * t / 2}
	case 2:
		return [4]float64{u, 3*t - 2, 3*u - 2, t}
	}
	return basis(t)
}

// solve fits with a penalty, given as a part of what all points weigh, and reports
// whether there is a solution.
func (q *system) solve(penalty float64) bool {
	trace := 0.0
	for i := range q.n {
		trace += q.band[i*(q.k+1)]
	}
	// In cells of unit width the same bending weighs less by the square of
	// a cell's width, and so does the sum over all cells.
	p := penalty * trace * q.scaleB / math.Pow(q.s.wider, 4)
	data := make([]float64, len(q.band))
	for i := range data {
		data[i] = q.band[i] + p*q.bend[i]
	}
	// gonum's mat.BandCholesky would work out the condition number as well,
	// for three times the time.
	a := blas64.SymmetricBand{N: q.n, K: q.k, Stride: q.k + 1, Uplo: blas.Upper, Data: data}
	t, ok := lapack64.Pbtrf(a)
	if !ok {
		return false
	}
	c := append(q.s.c[:0], q.right...)
	lapack64.Pbtrs(t, blas64.General{Rows: q.n, Cols: 1, Stride: 1, Data: c})
	for _, v := range c {
		if v-v != 0 {
			return false
		}
	}
	q.s.c = c
	return true
}

func box(points []Point) (lo, hi [2]float64) {
	lo, hi = [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for k := range points {
		lo[0], hi[0] = min(lo[0], points[k].X), max(hi[0], points[k].X)
		lo[1], hi[1] = min(lo[1], points[k].Y), max(hi[1], points[k].Y)
	}
	return lo, hi
}
