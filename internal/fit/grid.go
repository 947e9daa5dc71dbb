package fit

import (
	"errors"
	"math"
	"slices"

	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

// closed returns a grid with its holes filled, where all of them can be; else the
// grid as it is.
func closed(g *surface.Surface, points []surface.Point) *surface.Surface {
	z, _ := filled(g, points)
	if c, err := surface.New(g.X(), g.Y(), z); err == nil && c.Missing() == 0 {
		return c
	}
	return g
}

// holdsAll reports whether a grid has a height at each point when it is read: a touch that
// is alone in its row has a hole around.
func holdsAll(g *surface.Surface, points []surface.Point) bool {
	read, err := interpolated(g, "bilinear")
	return err == nil && !slices.ContainsFunc(points, func(p surface.Point) bool { z := read.At(p.X, p.Y); return z != z })
}

// filled returns the heights of a grid, row after row, with those that are missing
// inside the hull of the points taken from the smooth surface through them, and
// where those are.
func filled(g *surface.Surface, points []surface.Point) (z []float64, places [][2]float64) {
	var smooth *Smooth
	if g.Missing() > 0 {
		smooth, _ = FitSmooth(points) // nil where the points settle none
	}
	h := layout.NewHull(points)
	for j, y := range g.Y() {
		for i, x := range g.X() {
			height := g.Height(i, j)
			if height != height && smooth != nil && h.Holds(x, y) {
				height = smooth.At(x, y)
				places = append(places, [2]float64{x, y})
			}
			z = append(z, height)
		}
	}
	return z, places
}

// every takes every step-th node along both axes, from i0, j0 on.
func every(g *surface.Surface, step, i0, j0 int) (*surface.Surface, error) {
	var x, y, z []float64
	for i := i0; i < len(g.X()); i += step {
		x = append(x, g.X()[i])
	}
	for j := j0; j < len(g.Y()); j += step {
		y = append(y, g.Y()[j])
		for i := i0; i < len(g.X()); i += step {
			z = append(z, g.Height(i, j))
		}
	}
	return surface.New(x, y, z)
}

// halfWay reports whether an offset is a node, or half way to the next.
func halfWay(o, step int) bool { return o == 0 || o == step/2 || o == (step+1)/2 }

// manyNodes is from where one way to leave nodes out tells as much as all.
const manyNodes = 20000

// leaveOut reads a grid from every step-th node of it, and sums up by how much it
// misses the nodes half way between.
func leaveOut(g *surface.Surface, step int, method string) (m misses, err error) {
	if step > 2 && (len(g.X()) <= 2*step || len(g.Y()) <= 2*step) {
		return m, errors.New("less than two cells along an axis: a plane by another name")
	}
	offsets := step
	if len(g.X())*len(g.Y()) >= manyNodes {
		offsets = 1
	}
	for k := range offsets * offsets {
		i0, j0 := k%offsets, k/offsets
		if len(g.X()) <= i0+step || len(g.Y()) <= j0+step {
			continue // fewer than two nodes are left
		}
		var shape Shape
		part, perr := every(g, step, i0, j0)
		if perr == nil {
			shape, perr = interpolated(part, method)
		}
		if perr != nil {
			err = perr
			continue
		}
		for j, y := range g.Y() {
			for i, x := range g.X() {
				// Only as near to half way between nodes as can be, so
				// that all steps are judged at like places.
				oi, oj := (i-i0+step)%step, (j-j0+step)%step
				if oi == 0 && oj == 0 || !halfWay(oi, step) || !halfWay(oj, step) {
					continue
				}
				if d := shape.At(x, y) - g.Height(i, j); d == d {
					m.squares, m.most = m.squares+d*d, max(m.most, math.Abs(d))
					m.n++
				}
			}
		}
	}
	switch {
	case m.n > 0:
		return m, nil
	case err == nil:
		err = errors.New("too few nodes to leave some out")
	}
	return m, err
}
