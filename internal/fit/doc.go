// Package fit finds the surface behind touched points: a plane, a cylinder, a
// cone, a sphere, a smooth surface through scattered points, or the grid that
// was probed, read by bilinear or bicubic interpolation. Which of them serves
// best, and how far it is off, cross-validation tells. Before, touches that
// the ones around them contradict are found.
//
// What comes out is a surface.Surface: a fitted form is written as a grid so
// fine that reading it adds a small, stated part to the error (Choice.Write), so
// that all other rooms know grids only. Load reads a surface, and fits a file of
// points on the way where it is asked to. Align places a surface that was measured
// elsewhere. The package knows nothing of G-code; logs of touches are read by
// package touch. Lengths are in mm, up positive.
//
// Linear algebra is gonum's. Sources stand at the functions.
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
