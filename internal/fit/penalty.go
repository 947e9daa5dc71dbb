package fit

import (
	"math"

	"sagitta/internal/least"
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
func FitSmooth(points []Point) (*Smooth, error) {
	if len(points) < 3 || onLine(points) {
		return nil, least.ErrOpen
	}
	return fitSmooth(points, choosePenalty(points))
}

func fitSmooth(points []Point, penalty float64) (*Smooth, error) {
	s := newSmooth(points, 1)
	s.mean = meanZ(points)
	q := s.system()
	for k := range points {
		q.add(&points[k], 1)
	}
	for ; penalty < 1e3; penalty *= 10 {
		if q.solve(penalty) {
			return s, nil
		}
	}
	return nil, least.ErrOpen
}

func meanZ(points []Point) float64 {
	sum := 0.0
	for k := range points {
		sum += points[k].Z / float64(len(points))
	}
	return sum
}

// choosePenalty leaves out parts of the points in turn and takes the penalty
// by which the rest predict them best.
func choosePenalty(points []Point) float64 {
	finer := 1.0
	if len(points) > largeN {
		points = thinOut(points, largeTried)
		finer = coarser
	}
	folds := 5
	if len(points) <= 40 {
		folds = len(points)
	} else if finer < 1 {
		folds = 3
	}
	s := newSmooth(points, finer)
	s.mean = meanZ(points)
	q := s.system()
	for k := range points {
		q.add(&points[k], 1)
	}
	sum := make([]float64, len(penalties))
	for f := range folds {
		for k := range points {
			if foldOf(k, folds) == f {
				q.add(&points[k], -1)
			}
		}
		for m, penalty := range penalties {
			if !q.solve(penalty) {
				sum[m] = math.Inf(1)
				continue
			}
			for k := range points {
				if foldOf(k, folds) == f {
					d := points[k].Z - s.At(points[k].X, points[k].Y)
					sum[m] += d * d
				}
			}
		}
		for k := range points {
			if foldOf(k, folds) == f {
				q.add(&points[k], 1)
			}
		}
	}
	best := 0
	for m := range sum {
		if sum[m] < sum[best] {
			best = m
		}
	}
	return penalties[best]
}

// foldOf spreads points over folds: evenly, but out of step with rows, by
// multiplying with the golden ratio (D. Knuth, TAOCP 3, 6.4).
func foldOf(k, folds int) int {
	if folds <= 1 {
		return 0
	}
	return int((uint64(k) * 11400714819323198485 >> 33) % uint64(folds))
}

// thinOut takes about n of the points, from all over.
func thinOut(points []Point, n int) []Point {
	if len(points) <= n {
		return points
	}
	parts := (len(points) + n - 1) / n
	out := make([]Point, 0, n+n/4)
	for k := range points {
		if foldOf(k, parts) == 0 {
			out = append(out, points[k])
		}
	}
	return out
}

// linePart is the part of its length that a line is wide at most: a surface
// of 300 mm by 0.15 mm says nothing of the slope across.
const linePart = 5e-4

// onLine reports whether points are on one line.
func onLine(points []Point) bool {
	if len(points) < 3 {
		return true
	}
	var far int
	d2 := 0.0
	for k := range points {
		dx, dy := points[k].X-points[0].X, points[k].Y-points[0].Y
		if d := dx*dx + dy*dy; d > d2 {
			d2, far = d, k
		}
	}
	if d2 == 0 {
		return true
	}
	ux, uy := points[far].X-points[0].X, points[far].Y-points[0].Y
	for k := range points {
		dx, dy := points[k].X-points[0].X, points[k].Y-points[0].Y
		if math.Abs(ux*dy-uy*dx) > linePart*d2 {
			return false
		}
	}
	return true
}
