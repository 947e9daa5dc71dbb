package fit

import (
	"cmp"
	"math"
	"slices"

	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

const (
	// knownCells is about how many cells along an axis the uncertainty is worked out at:
	// it changes slowly, and is read between them.
	knownCells = 24
	// evenPart is by how much it must be greater in one place than in another to be
	// written by place: half of that either way is finer than it is known.
	evenPart = 1.1
)

// read adds to a standard uncertainty what reading the grid does, which may be anything
// up to the most that was seen (JCGM 100, 4.3.7).
func (s *Written) read(mm float64) float64 {
	return ceilDigits(math.Hypot(mm, s.ReadingMM/math.Sqrt(3)), 3)
}

// known is the surface with the uncertainty of each height as all accounts of the points
// have it there, and more where a height was filled in; nowhere less than least. What is
// read in a cell is taken to be as sure as the least sure of its corners: so each node
// has what the surest of the cells around it needs, and a cell less sure than all around
// it raises one of its corners.
func (s *Written) known(c *Choice, made *surface.Surface, least float64) (*surface.Surface, error) {
	h := made.Header()
	if c.spread == nil || !c.ErrorKnown {
		return made, nil
	}
	nx, ny := len(made.X()), len(made.Y())
	mm := corners(s.cells(c, made), nx-1, ny-1)
	for n := range mm {
		mm[n] = max(s.read(mm[n]), least)
	}
	for _, p := range s.Filled {
		i, j := layout.Nearest(made.X(), p[0]), layout.Nearest(made.Y(), p[1])
		if v := c.sureAt(p[0], p[1], made.Height(i, j)); v == v {
			mm[j*nx+i] = max(s.read(v), mm[j*nx+i])
		}
	}
	if slices.Max(mm) <= evenPart*slices.Min(mm) {
		squares := 0.0
		for _, v := range mm {
			squares += v * v
		}
		h.ErrorMM = ceilDigits(math.Sqrt(squares/float64(len(mm))), 3)
		return made.WithHeader(h)
	}
	return made.WithErrors(mm)
}

// corners gives nodes uncertainties of which the greatest at the corners of each of nx by
// ny cells is about what the cell has.
func corners(cells []float64, nx, ny int) []float64 {
	around := func(n int) (of []int) { // cells around a node
		i, j := n%(nx+1), n/(nx+1)
		for b := max(j-1, 0); b <= min(j, ny-1); b++ {
			for a := max(i-1, 0); a <= min(i, nx-1); a++ {
				of = append(of, b*nx+a)
			}
		}
		return of
	}
	mm, order := make([]float64, (nx+1)*(ny+1)), make([]int, nx*ny)
	for n := range mm {
		mm[n] = math.Inf(1)
		for _, c := range around(n) {
			mm[n] = min(mm[n], cells[c])
		}
	}
	for c := range order {
		order[c] = c
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(cells[b], cells[a]) })
	for _, c := range order {
		n := c/nx*(nx+1) + c%nx
		best, least, most := 0, math.Inf(1), 0.0
		for _, n := range []int{n, n + 1, n + nx + 1, n + nx + 2} {
			more := 0.0 // than the cells around the corner need, were it raised
			for _, other := range around(n) {
				more += max(cells[c]-cells[other], 0)
			}
			if most = max(most, mm[n]); more < least {
				best, least = n, more
			}
		}
		if most*evenPart < cells[c] {
			mm[best] = cells[c]
		}
	}
	return mm
}

// cells works the uncertainty out in some cells of a grid, row after row, and reads it
// in the others between them.
func (s *Written) cells(c *Choice, made *surface.Surface) []float64 {
	x, y := made.X(), made.Y()
	nx, ny := len(x)-1, len(y)-1
	i, j := some(nx), some(ny)
	at := make([]float64, len(i)*len(j))
	most := c.floor
	for n := range at {
		at[n] = c.inCell(x[i[n%len(i)]:][:2], y[j[n/len(i)]:][:2])
		if at[n] == at[n] {
			most = max(most, at[n])
		}
	}
	for n := range at {
		if at[n] != at[n] {
			at[n] = most // beyond the edge of a round, where there is no height
		}
	}
	cells := make([]float64, nx*ny)
	for n := range cells {
		a, u := between(i, n%nx)
		b, v := between(j, n/nx)
		lo, hi := at[b*len(i):], at[min(b+1, len(j)-1)*len(i):]
		next := min(a+1, len(i)-1)
		cells[n] = (1-v)*((1-u)*lo[a]+u*lo[next]) + v*((1-u)*hi[a]+u*hi[next])
	}
	return cells
}

// inCell is the uncertainty in a cell: the root mean square at four places a quarter of it
// from its sides, as a grid is off more in the middle than at its nodes, and waves on a form
// come and go.
func (c *Choice) inCell(x, y []float64) float64 {
	squares, n := 0.0, 0.0
	for k := range 4 {
		px, py := x[0]+(x[1]-x[0])*(0.25+0.5*float64(k%2)), y[0]+(y[1]-y[0])*(0.25+0.5*float64(k/2))
		if v := c.sureAt(px, py, c.Shape.At(px, py)); v == v {
			squares, n = squares+v*v, n+1
		}
	}
	return math.Sqrt(squares / n)
}

// some are the first, the last and some of n between, evenly.
func some(n int) (at []int) {
	step := max((n-1)/knownCells, 1)
	for k := 0; k < n-1; k += step {
		at = append(at, k)
	}
	return append(at, n-1)
}

// between is the place in at of the last that is not behind k, and how far k is from
// there on the way to the next.
func between(at []int, k int) (n int, part float64) {
	n, found := slices.BinarySearch(at, k)
	if found {
		return n, 0
	}
	return n - 1, float64(k-at[n-1]) / float64(at[n]-at[n-1])
}

// seek finds the greatest uncertainty within a hull.
func (s *Written) seek(h layout.Hull) {
	f := s.Surface
	for j, y := range f.Y() {
		for i, x := range f.X() {
			if z := f.Height(i, j); z == z && f.ErrorAt(i, j) > s.MostErrorMM && h.Holds(x, y) {
				s.MostErrorMM, s.MostAt = f.ErrorAt(i, j), [2]float64{x, y}
			}
		}
	}
}
