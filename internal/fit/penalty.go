package fit

import (
	"math"

	"sagitta/internal/least"
	"sagitta/internal/surface"
)

// penalties are tried in this order: from a surface through every point to
// one that is all but a plane.
var penalties = []float64{1e-10, 1e-9, 1e-8, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1}

// largeN is where choosing the penalty takes to a part of the points and to
// wider cells: what serves there serves all.
const (
	largeN     = 300
	largeTried = 2000
	coarser    = 0.5
)

// FitSmooth fits a smooth surface through scattered points, three or more
// that are not on a line, with the penalty that cross-validation finds best.
func FitSmooth(points []surface.Point) (*Smooth, error) {
	if len(points) < 3 || onLine(points) {
		return nil, least.ErrOpen
	}
	return fitSmooth(points, choosePenalty(points))
}

func fitSmooth(points []surface.Point, penalty float64) (*Smooth, error) {
	s := newSmooth(points, 1)
	q := s.system(points)
	for ; penalty < 1e3; penalty *= 10 {
		if q.solve(penalty) {
			return s, nil
		}
	}
	return nil, least.ErrOpen
}

// choosePenalty leaves out parts of the points in turn and takes the penalty
// by which the rest predict them best.
func choosePenalty(points []surface.Point) float64 {
	finer, folds := 1.0, 5
	if len(points) > largeN {
		points = thinOut(points, largeTried)
		finer, folds = coarser, 3
	}
	if len(points) <= 40 {
		folds = len(points)
	}
	s := newSmooth(points, finer)
	q := s.system(points)
	missed := make([]misses, len(penalties))
	for f := range folds {
		_, out := parted(points, func(k int) bool { return foldOf(k, folds) != f })
		q.add(out, -1)
		for m, penalty := range penalties {
			if q.solve(penalty) {
				missed[m].add(s.At, out)
			} else {
				missed[m].squares = math.Inf(1)
			}
		}
		q.add(out, 1)
	}
	best := 0
	for m := range missed {
		if missed[m].squares < missed[best].squares {
			best = m
		}
	}
	return penalties[best]
}
