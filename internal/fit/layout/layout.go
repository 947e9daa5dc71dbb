// Package layout tells how touched points lie: on a line, on a lattice, within which
// hull. Lengths are in mm.
package layout

import (
	"math"

	"sagitta/internal/surface"
)

// Fold spreads points over folds: evenly, but out of step with rows, by
// multiplying with the golden ratio (D. Knuth, TAOCP 3, 6.4).
func Fold(k, folds int) int {
	if folds <= 1 {
		return 0
	}
	return int((uint64(k) * 11400714819323198485 >> 33) % uint64(folds))
}

// Thin takes about n of the points, from all over.
func Thin(points []surface.Point, n int) []surface.Point {
	parts := (len(points) + n - 1) / n
	thin, _ := Part(points, func(k int) bool { return Fold(k, parts) == 0 })
	return thin
}

// Part parts points, or what was left out of them, into those that are kept and the
// others.
func Part[T any](points []T, kept func(k int) bool) (in, out []T) {
	for k, p := range points {
		if kept(k) {
			in = append(in, p)
		} else {
			out = append(out, p)
		}
	}
	return in, out
}

// linePart is the part of its length that a line is wide at most: a surface
// of 300 mm by 0.15 mm says nothing of the slope across.
const linePart = 5e-4

// OnLine reports whether points are on one line.
func OnLine(points []surface.Point) bool {
	if len(points) < 3 {
		return true
	}
	from := func(k int) (x, y float64) { return points[k].X - points[0].X, points[k].Y - points[0].Y }
	var ux, uy float64 // to the point furthest from the first
	for k := range points {
		if x, y := from(k); x*x+y*y > ux*ux+uy*uy {
			ux, uy = x, y
		}
	}
	for k := range points {
		if x, y := from(k); math.Abs(ux*y-uy*x) > linePart*(ux*ux+uy*uy) {
			return false
		}
	}
	return true
}

// Box gives the corners of the rectangle around points.
func Box(points []surface.Point) (lo, hi [2]float64) {
	lo, hi = [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for k := range points {
		lo[0], hi[0] = min(lo[0], points[k].X), max(hi[0], points[k].X)
		lo[1], hi[1] = min(lo[1], points[k].Y), max(hi[1], points[k].Y)
	}
	return lo, hi
}
