package file

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
	"sagitta/internal/table"
)

// pointList collects the points form.
type pointList struct {
	points []surface.Point
	first  diag.Place
}

// read reads the current row and all after it as points.
func (p *pointList) read(r *reader) (*grid, error) {
	err := r.Rest(func() error {
		if len(p.points) == maxNodes {
			return r.tooMany()
		}
		return p.add(r, &r.Row)
	})
	if err != nil {
		return nil, err
	}
	return p.grid()
}

// add takes a row as a point.
func (p *pointList) add(r *reader, row *table.Row) error {
	if n := row.Len(); n != 3 {
		return withCommas(row, row.Fail(3, "point has %d fields, x, y and z are needed", n))
	}
	x, badX := r.coordinate(row, 0, "x")
	y, badY := r.coordinate(row, 1, "y")
	z, badZ := r.height(row, 2)
	if err := cmp.Or(badX, badY, badZ); err != nil {
		return err
	}
	if len(p.points) == 0 {
		p.first = row.Place(-1)
	}
	p.points = append(p.points, surface.Point{X: x, Y: y, Z: z, Line: row.Line()})
	return nil
}

// fail makes an error of the list at its first line.
func (p *pointList) fail(format string, args ...any) error {
	return &diag.Error{Place: p.first, What: fmt.Sprintf(format, args...)}
}

// grid sorts the points into a grid, or says why that cannot be.
func (p *pointList) grid() (*grid, error) {
	x := distinct(p.points, func(q surface.Point) float64 { return q.X })
	y := distinct(p.points, func(q surface.Point) float64 { return q.Y })
	switch {
	case len(x) < 2:
		return nil, p.fail("all points have the same x; at least two are needed")
	case len(y) < 2:
		return nil, p.fail("all points have the same y; at least two are needed")
	case len(x) > 2*len(p.points)/len(y):
		return nil, p.scattered(len(p.points), x, y)
	}
	for _, node := range [][]float64{x, y} {
		for i := 1; i < len(node); i++ {
			if node[i]-node[i-1] < surface.MinSpacingMM {
				return nil, p.fail("nodes %v and %v mm are all but the same", node[i-1], node[i])
			}
		}
	}
	z := slices.Repeat([]float64{math.NaN()}, len(x)*len(y))
	line := make([]int, len(z)) // of the point there, 0 without one
	count := 0
	for _, q := range p.points {
		i, _ := slices.BinarySearch(x, q.X)
		j, _ := slices.BinarySearch(y, q.Y)
		c := j*len(x) + i
		if line[c] != 0 {
			if z[c] != q.Z && (z[c] == z[c] || q.Z == q.Z) {
				return nil, &diag.Error{Place: diag.Place{File: p.first.File, Line: q.Line, Col: 1},
					What: fmt.Sprintf("point was given another height in line %d (%v, now %v mm)", line[c], z[c], q.Z)}
			}
			continue
		}
		line[c], z[c] = q.Line, q.Z
		count++
	}
	if 2*count < len(z) {
		return nil, p.scattered(count, x, y)
	}
	return &grid{x: x, y: y, z: z, first: p.first}, nil
}

func (p *pointList) scattered(count int, x, y []float64) error {
	return &ScatteredError{
		Points: p.points,
		unsupported: &diag.Error{Kind: diag.Unsupported, Place: p.first, What: fmt.Sprintf(
			"scattered points are not supported without a fit: %d points do not fill the grid of their %d x and %d y values; use the method auto",
			count, len(x), len(y))},
	}
}

// distinct returns the sorted values of an axis, each once.
func distinct(points []surface.Point, axis func(surface.Point) float64) []float64 {
	v := make([]float64, len(points))
	for k, p := range points {
		v[k] = axis(p)
	}
	slices.Sort(v)
	return slices.Compact(v)
}
