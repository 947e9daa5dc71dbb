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

// foldOf spreads points over folds: evenly, but out of step with rows, by
// multiplying with the golden ratio (D. Knuth, TAOCP 3, 6.4).
func foldOf(k, folds int) int {
	if folds <= 1 {
		return 0
	}
	return int((uint64(k) * 11400714819323198485 >> 33) % uint64(folds))
}

// thinOut takes about n of the points, from all over.
func thinOut(points []surface.Point, n int) []surface.Point {
	parts := (len(points) + n - 1) / n
	thin, _ := parted(points, func(k int) bool { return foldOf(k, parts) == 0 })
	return thin
}

// parted parts points into those that are kept and the others.
func parted(points []surface.Point, kept func(k int) bool) (in, out []surface.Point) {
	for k, p := range points {
		if kept(k) {
			in = append(in, p)
		} else {
			out = append(out, p)
		}
	}
	return in, out
}

// misses sums up how far heights that were predicted are off points.
type misses struct {
	squares float64
	n       int
}

func (m *misses) add(height func(x, y float64) float64, points []surface.Point) {
	for _, p := range points {
		d := p.Z - height(p.X, p.Y)
		m.squares += d * d
	}
	m.n += len(points)
}

// rms is the root mean square.
func (m *misses) rms() float64 { return math.Sqrt(m.squares / float64(m.n)) }

// linePart is the part of its length that a line is wide at most: a surface
// of 300 mm by 0.15 mm says nothing of the slope across.
const linePart = 5e-4

// onLine reports whether points are on one line.
func onLine(points []surface.Point) bool {
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
