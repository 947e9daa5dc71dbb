package fit

import (
	"fmt"
	"math"

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
	// raggedCells is the least where the points do not fill a rectangle:
	// the surface then ends within one cell of them.
	raggedCells = 64
	// heightStepMM is the last decimal of written heights.
	heightStepMM = 1e-6
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
	// Holes are the nodes left without a height.
	Holes int
}

// Write makes the surface. points are those that the choice was fitted to;
// the surface ends at their hull, but for the rest of the cells that the hull
// passes through. With wraps above zero the surface repeats after that
// distance in y.
func (c *Choice) Write(points []Point, header surface.Header) (*Written, error) {
	s := &Written{}
	h := newHull(points)
	var x, y, z []float64
	var err error
	if c.Grid != nil {
		x, y, z = c.Grid.X, c.Grid.Y, append([]float64(nil), c.Grid.Z...)
		header.Method = c.Name
		s.fill(c.Grid, z, points, h)
	} else {
		x, y, z, header.Method, err = s.lay(c, points, h, header.WrapsYMM)
		if err != nil {
			return nil, err
		}
	}
	for k := range z {
		if z[k] != z[k] {
			s.Holes++
		}
		z[k] = math.Round(z[k]/heightStepMM) * heightStepMM
		z[k] = math.Round(z[k]*1e6) / 1e6
	}
	header.ErrorMM = c.ErrorMM + s.ReadingMM
	// Three digits of an error are more than anybody knows of it.
	if header.ErrorMM > 0 {
		header.ErrorMM = ceilDigits(header.ErrorMM, 3)
	}
	header.NoiseMM = ceilDigits(header.NoiseMM, 3)
	made, err := surface.New(x, y, z)
	if err != nil {
		return nil, err
	}
	s.Surface, err = made.WithHeader(header)
	return s, err
}

func ceilDigits(v float64, digits int) float64 {
	if v == 0 {
		return 0
	}
	e := math.Pow(10, float64(digits)-1-math.Floor(math.Log10(v)))
	return math.Ceil(v*e-1e-6) / e
}

// fill gives missing nodes inside the hull a height.
func (s *Written) fill(g *Grid, z []float64, points []Point, h *hull) {
	if g.missing() == 0 {
		return
	}
	smooth, err := FitSmooth(points)
	if err != nil {
		return
	}
	nx := len(g.X)
	for k := range z {
		if x, y := g.X[k%nx], g.Y[k/nx]; z[k] != z[k] && h.holds(x, y) {
			z[k] = smooth.At(x, y)
			s.Filled = append(s.Filled, [2]float64{x, y})
		}
	}
}

// lay writes a fitted shape as a grid, finer and finer until reading it is as
// good as wanted, first along the axis that needs it most.
func (s *Written) lay(c *Choice, points []Point, h *hull, wraps float64) (x, y, z []float64, method string, err error) {
	lo, hi := box(points)
	if wraps > 0 {
		hi[1] = lo[1] + wraps
	}
	whole := wraps > 0
	if !whole {
		whole = true
		for _, corner := range [][2]float64{lo, {hi[0], lo[1]}, hi, {lo[0], hi[1]}} {
			whole = whole && h.holds(corner[0], corner[1])
		}
	}
	n := [2]int{leastCells, leastCells}
	method = "bicubic"
	if c.Fitted != nil && c.Fitted.Name == "plane" {
		n, method = [2]int{1, 1}, "bilinear"
	}
	if !whole {
		n, method = [2]int{raggedCells, raggedCells}, "bilinear"
	}
	want := max(readingPart*c.ErrorMM, readingMM)
	for {
		x, y = even(lo[0], hi[0], n[0]), even(lo[1], hi[1], n[1])
		z = make([]float64, len(x)*len(y))
		for k := range z {
			z[k] = c.Shape.At(x[k%len(x)], y[k/len(x)])
		}
		holes := 0
		if !whole {
			cutOff(x, y, z, h)
		}
		for _, v := range z {
			if v != v {
				holes++
			}
		}
		if holes == len(z) {
			return nil, nil, nil, "", fmt.Errorf("the fitted %s has no height where the points are", c.Name)
		}
		if holes > 0 && method == "bicubic" {
			method = "bilinear" // beyond the edge of a round
			n = [2]int{raggedCells, raggedCells}
			continue
		}
		off, axis, err := readingError(x, y, z, method, c.Shape)
		if err != nil {
			return nil, nil, nil, "", err
		}
		s.ReadingMM = off
		if off <= want || n[axis] >= mostCells && n[1-axis] >= mostCells {
			break
		}
		if n[axis] >= mostCells {
			axis = 1 - axis
		}
		n[axis] *= 2
	}
	if wraps > 0 {
		// The last row is the first again.
		y, z = y[:len(y)-1], z[:len(z)-len(x)]
	}
	return x, y, z, method, nil
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
func cutOff(x, y, z []float64, h *hull) {
	nx := len(x)
	keep := make([]bool, len(z))
	for j := range len(y) - 1 {
		for i := range nx - 1 {
			if h.meets(x[i], y[j], x[i+1], y[j+1]) {
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

// readingError reads the grid in the middle of its cells and of their sides,
// and returns the most by which it differs from the shape, and the axis along
// which it does more.
func readingError(x, y, z []float64, method string, shape Shape) (off float64, axis int, err error) {
	g := &Grid{X: x, Y: y, Z: z}
	read, err := g.shape(method)
	if err != nil {
		return 0, 0, err
	}
	var most [3]float64
	look := func(k int, px, py float64) {
		if d := math.Abs(read.At(px, py) - shape.At(px, py)); d > most[k] {
			most[k] = d
		}
	}
	for j := range y {
		for i := range x {
			if i+1 < len(x) {
				look(0, (x[i]+x[i+1])/2, y[j])
			}
			if j+1 < len(y) {
				look(1, x[i], (y[j]+y[j+1])/2)
			}
			if i+1 < len(x) && j+1 < len(y) {
				look(2, (x[i]+x[i+1])/2, (y[j]+y[j+1])/2)
			}
		}
	}
	if most[1] > most[0] {
		axis = 1
	}
	return max(most[0], most[1], most[2]), axis, nil
}
