package fit

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

const (
	// readingPart is the part of the error that reading the written grid
	// may add.
	readingPart = 0.02
	// readingMM is what it may add in any case: a twentieth of what the
	// last decimal of a program rounds away.
	readingMM = 0.0005 / 10
	// leastCells and mostCells bound the grid along each axis. 256 by 256
	// heights are a file of half a megabyte.
	leastCells, mostCells = 8, 256
	// planeCells are enough for a plane, which is known less at its corners.
	planeCells = 4
	// raggedCells is the least where the points do not fill a rectangle:
	// the surface then ends within one cell of them.
	raggedCells = 64
	// heightSteps of written heights are a millimetre.
	heightSteps = 1e6
)

// Written is a choice as a surface: a grid so fine that reading it adds little.
type Written struct {
	Surface *surface.Surface
	// ReadingMM is the most by which reading the grid was seen to differ
	// from what was fitted, and is part of the surface's error.
	ReadingMM float64
	// Filled are nodes of a probed grid that had no height and got one from
	// the smooth surface through the others, being inside their hull.
	Filled [][2]float64
	// MostErrorMM is the greatest uncertainty of a height within the hull of the points,
	// and MostAt where that is.
	MostErrorMM float64
	MostAt      [2]float64
}

// Write makes the surface of a choice that was fitted to points: it ends with the
// cells that their hull passes through. An error that the header has is not
// lessened.
func (c *Choice) Write(points []surface.Point, header surface.Header) (*Written, error) {
	s, said := &Written{}, header.ErrorMM
	var x, y, z []float64
	var err error
	if c.Grid != nil {
		x, y, header.Method = c.Grid.X(), c.Grid.Y(), c.Name
		z, s.Filled = filled(c.Grid, points)
	} else {
		x, y, z, header.Method, err = s.lay(c, points, header.WrapsYMM)
		if err != nil {
			return nil, err
		}
	}
	for k := range z {
		z[k] = math.Round(z[k]*heightSteps) / heightSteps
	}
	// Three digits of an error are more than anybody knows of it.
	header.ErrorMM = max(header.ErrorMM, s.read(c.ErrorMM))
	header.ErrorSaid = c.ErrorKnown || header.ErrorSaid
	header.NoiseMM = ceilDigits(header.NoiseMM, 3)
	made, err := surface.New(x, y, z)
	if err != nil {
		return nil, err
	}
	if made, err = made.WithHeader(header); err != nil {
		return nil, err
	}
	if s.Surface, err = s.known(c, made, said); err == nil {
		s.seek(layout.NewHull(points))
	}
	return s, err
}

// ceilDigits rounds up to so many digits.
func ceilDigits(v float64, digits int) float64 {
	if v == 0 {
		return 0
	}
	e := math.Pow(10, float64(digits)-1-math.Floor(math.Log10(v)))
	return math.Ceil(v*e-1e-6) / e
}

// lay writes a fitted shape as a grid, finer and finer until reading it is as
// good as wanted, first along the axis that needs it most.
func (s *Written) lay(c *Choice, points []surface.Point, wraps float64) (x, y, z []float64, method string, err error) {
	lo, hi := layout.Box(points)
	h := layout.NewHull(points)
	whole := wraps > 0 || h.Holds(lo[0], lo[1]) && h.Holds(hi[0], lo[1]) && h.Holds(hi[0], hi[1]) && h.Holds(lo[0], hi[1])
	if wraps > 0 {
		hi[1] = lo[1] + wraps
	}
	n := [2]int{leastCells, leastCells}
	method = "bicubic"
	if c.Name == "plane" {
		n, method = [2]int{planeCells, planeCells}, "bilinear"
	}
	ragged := func() { n, method = [2]int{raggedCells, raggedCells}, "bilinear" }
	if !whole {
		ragged()
	}
	want := max(readingPart*c.ErrorMM, readingMM)
	for {
		x, y = even(lo[0], hi[0], n[0]), even(lo[1], hi[1], n[1])
		z = make([]float64, len(x)*len(y))
		for k := range z {
			z[k] = c.Shape.At(x[k%len(x)], y[k/len(x)])
		}
		if !whole {
			cutOff(x, y, z, h)
		}
		if !slices.ContainsFunc(z, func(v float64) bool { return v == v }) {
			return nil, nil, nil, "", fmt.Errorf("the fitted %s has no height where the points are", c.Name)
		}
		g, err := surface.New(x, y, z)
		if err != nil {
			return nil, nil, nil, "", err
		}
		if g.Missing() > 0 && method == "bicubic" {
			ragged() // beyond the edge of a round
			continue
		}
		off, axis, err := readingError(g, method, c.Shape)
		if err != nil {
			return nil, nil, nil, "", err
		}
		s.ReadingMM = off
		if n[axis] >= mostCells {
			axis = 1 - axis
		}
		if off <= want || n[axis] >= mostCells {
			break
		}
		n[axis] = min(n[axis]*moreCells(off/want, method), mostCells)
	}
	if wraps > 0 {
		// The last row is the first again.
		y, z = y[:len(y)-1], z[:len(z)-len(x)]
	}
	return x, y, z, method, nil
}

// moreCells is by which power of two cells are to be narrower to be read better by a
// factor, if reading falls as it does at most.
func moreCells(better float64, method string) int {
	order := linearOrder
	if method == "bicubic" {
		order = cubicOrder
	}
	return 1 << max(1, int(math.Log2(min(better, 1e9))/order))
}

func even(a, b float64, n int) []float64 {
	v := make([]float64, n+1)
	for k := range v {
		v[k] = math.Round((a+(b-a)*float64(k)/float64(n))*1e6) / 1e6
	}
	v[0], v[n] = a, b
	return v
}

// cutOff takes out the heights of nodes that belong to no cell that touches
// the hull.
func cutOff(x, y, z []float64, h layout.Hull) {
	nx := len(x)
	keep := make([]bool, len(z))
	for j := range len(y) - 1 {
		for i := range nx - 1 {
			if h.Meets(x[i], y[j], x[i+1], y[j+1]) {
				k := j*nx + i
				keep[k], keep[k+1], keep[k+nx], keep[k+nx+1] = true, true, true, true
			}
		}
	}
	for k := range z {
		if !keep[k] {
			z[k] = math.NaN()
		}
	}
}

// readingError returns the most by which the grid differs from the shape in the
// middle of its cells and of their sides, and the axis along which it does more.
func readingError(g *surface.Surface, method string, shape Shape) (off float64, axis int, err error) {
	read, err := interpolated(g, method)
	if err != nil {
		return 0, 0, err
	}
	most := func(x, y []float64) (most float64) {
		for _, py := range y {
			for _, px := range x {
				if d := math.Abs(read.At(px, py) - shape.At(px, py)); d > most {
					most = d
				}
			}
		}
		return most
	}
	x, y := middles(g.X()), middles(g.Y())
	alongX, alongY := most(x, g.Y()), most(g.X(), y)
	if alongY > alongX {
		axis = 1
	}
	return max(alongX, alongY, most(x, y)), axis, nil
}

// middles are half way between nodes.
func middles(node []float64) []float64 {
	var m []float64
	for k := range len(node) - 1 {
		m = append(m, (node[k]+node[k+1])/2)
	}
	return m
}
