// Package fit finds the surface behind touched points: a plane, a cylinder, a
// cone, a sphere, a smooth surface through scattered points, or the grid that
// was probed, read by bilinear or bicubic interpolation. Which of them serves
// best, and how far it is off, cross-validation tells. Touches that the ones
// around them contradict are found before.
//
// A fitted form is written as a grid so fine that reading it adds a small, stated
// part to the error: all other rooms know grids only. Lengths are in mm, up
// positive. The package knows nothing of G-code.
package fit

import (
	"math"

	"sagitta/internal/surface"
)

// Shape gives heights.
type Shape interface {
	// At returns the height at x, y in mm, NaN where the shape has none.
	At(x, y float64) float64
}

// interpolation is a grid read by interpolation.
type interpolation struct{ *surface.Placed }

// At returns NaN off the grid and over its holes.
func (r interpolation) At(x, y float64) float64 {
	h, where := r.Placed.At(x, y)
	if where != surface.On {
		return math.NaN()
	}
	return h
}

// interpolated is a surface read by a method, "" for the one that it says.
func interpolated(s *surface.Surface, method string) (Shape, error) {
	p, err := surface.Place(s, surface.Placement{Method: method, Raw: true})
	if err != nil {
		return nil, err
	}
	return interpolation{p}, nil
}
