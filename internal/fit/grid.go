package fit

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/surface"
)

// Grid is a grid of heights; NaN where none was measured.
type Grid struct {
	X, Y []float64 // ascending
	Z    []float64 // row after row
}

// gridPart is the part of a grid that points must fill to be on it.
const gridPart = 0.5

// GridOf finds the grid that points lie on, nil where they lie on none: their
// x and y values, joined where they differ by no more than tol, must make a
// grid of which half the nodes were touched.
func GridOf(points []Point, tol float64) *Grid {
	g := &Grid{}
	xs, ys := make([]float64, len(points)), make([]float64, len(points))
	for k := range points {
		xs[k], ys[k] = points[k].X, points[k].Y
	}
	g.X, g.Y = nodes(xs, tol), nodes(ys, tol)
	nx, ny := len(g.X), len(g.Y)
	if nx < 2 || ny < 2 || float64(nx)*float64(ny)*gridPart > float64(len(points)) {
		return nil
	}
	g.Z = make([]float64, nx*ny)
	for c := range g.Z {
		g.Z[c] = math.NaN()
	}
	for k := range points {
		i, j := nearest(g.X, points[k].X), nearest(g.Y, points[k].Y)
		if g.Z[j*nx+i] == g.Z[j*nx+i] {
			return nil // two places at one node: no grid
		}
		g.Z[j*nx+i] = points[k].Z
	}
	return g
}

// nodes joins sorted values that differ by no more than tol to their mean.
func nodes(v []float64, tol float64) []float64 {
	slices.Sort(v)
	var out []float64
	for a := 0; a < len(v); {
		b, sum := a, 0.0
		for b < len(v) && v[b]-v[a] <= tol {
			sum += v[b] - v[a]
			b++
		}
		out = append(out, v[a]+sum/float64(b-a))
		a = b
	}
	return out
}

func nearest(node []float64, v float64) int {
	i, _ := slices.BinarySearch(node, v)
	if i == len(node) || i > 0 && v-node[i-1] < node[i]-v {
		i--
	}
	return i
}

// placed is a grid read by interpolation.
type placed struct{ p *surface.Placed }

// At returns NaN off the grid and over its holes.
func (p placed) At(x, y float64) float64 {
	h, where := p.p.At(x, y)
	if where != surface.On {
		return math.NaN()
	}
	return h
}

func (g *Grid) missing() int {
	n := 0
	for _, z := range g.Z {
		if z != z {
			n++
		}
	}
	return n
}

func (g *Grid) shape(method string) (Shape, error) {
	s, err := surface.New(g.X, g.Y, g.Z)
	if err != nil {
		return nil, err
	}
	p, err := surface.Place(s, surface.Placement{Method: method, Raw: true})
	if err != nil {
		return nil, err
	}
	return placed{p}, nil
}

// closed returns the grid with its holes filled from the smooth surface
// through the points, where all of them are inside the points' hull; else the
// grid as it is.
func (g *Grid) closed(points []Point) *Grid {
	if g.missing() == 0 {
		return g
	}
	c := &Grid{X: g.X, Y: g.Y, Z: append([]float64(nil), g.Z...)}
	(&Written{}).fill(g, c.Z, points, newHull(points))
	if c.missing() > 0 {
		return g
	}
	return c
}

// every takes every step-th node along both axes, from i0, j0 on.
func (g *Grid) every(step, i0, j0 int) *Grid {
	s := &Grid{}
	for i := i0; i < len(g.X); i += step {
		s.X = append(s.X, g.X[i])
	}
	for j := j0; j < len(g.Y); j += step {
		s.Y = append(s.Y, g.Y[j])
		for i := i0; i < len(g.X); i += step {
			s.Z = append(s.Z, g.Z[j*len(g.X)+i])
		}
	}
	return s
}

// halfWay reports whether an offset is a node, or half way to the next.
func halfWay(o, step int) bool { return o == 0 || o == step/2 || o == (step+1)/2 }

// leaveOut reads the grid from every step-th node of it and returns the mean
// square by which it misses the nodes half way between, and how many there
// are.
func (g *Grid) leaveOut(step int, method string) (square float64, n int, err error) {
	offsets := []int{0}
	if len(g.Z) < manyNodes {
		for o := 1; o < step; o++ {
			offsets = append(offsets, o)
		}
	}
	for _, j0 := range offsets {
		for _, i0 := range offsets {
			sub := g.every(step, i0, j0)
			if len(sub.X) < 2 || len(sub.Y) < 2 {
				continue
			}
			shape, serr := sub.shape(method)
			if serr != nil {
				err = serr
				continue
			}
			for j := range g.Y {
				for i := range g.X {
					z := g.Z[j*len(g.X)+i]
					// Only as near to half way between nodes as can be, so
					// that all steps are judged at like places.
					oi, oj := (i-i0+step)%step, (j-j0+step)%step
					if oi == 0 && oj == 0 || !halfWay(oi, step) || !halfWay(oj, step) || z != z {
						continue
					}
					if d := shape.At(g.X[i], g.Y[j]) - z; d == d {
						square += d * d
						n++
					}
				}
			}
		}
	}
	if n == 0 {
		if err == nil {
			err = fmt.Errorf("too few nodes to leave some out")
		}
		return 0, 0, err
	}
	return square / float64(n), n, nil
}

// manyNodes is from where one way to leave nodes out tells as much as all.
const manyNodes = 20000
