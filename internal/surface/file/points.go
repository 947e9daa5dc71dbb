package file

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
	"sagitta/internal/table"
)

// pointList collects the points form.
type pointList struct {
	x, y, z []float64
	line    []int
	first   diag.Place
}

// points reads the current row and all after it as points.
func (r *reader) points() (*grid, error) {
	p := &pointList{}
	if err := p.add(r, &r.Row); err != nil {
		return nil, err
	}
	return r.morePoints(p)
}

func (r *reader) morePoints(p *pointList) (*grid, error) {
	for {
		if err := r.Next(); err != nil {
			if errors.Is(err, io.EOF) {
				return p.grid()
			}
			return nil, err
		}
		if len(p.x) == maxNodes {
			return nil, r.tooMany()
		}
		if err := p.add(r, &r.Row); err != nil {
			return nil, err
		}
	}
}

// add takes a row as a point.
func (p *pointList) add(r *reader, row *table.Row) error {
	if n := row.Len(); n != 3 {
		return row.Fail(3, "point has %d fields, x, y and z are needed", n)
	}
	x, err := r.coordinate(row, 0, "x")
	if err != nil {
		return err
	}
	y, err := r.coordinate(row, 1, "y")
	if err != nil {
		return err
	}
	z, err := r.height(row, 2)
	if err != nil {
		return err
	}
	if p.line == nil {
		p.first = row.Place(-1)
	}
	p.x, p.y, p.z = append(p.x, x), append(p.y, y), append(p.z, z)
	p.line = append(p.line, row.Line())
	return nil
}

// fail makes an error of the list at a line; only the first is kept.
func (p *pointList) fail(line int, format string, args ...any) error {
	at := diag.Place{File: p.first.File, Line: line, Col: 1}
	if line == p.first.Line {
		at = p.first
	}
	return &diag.Error{Place: at, What: fmt.Sprintf(format, args...)}
}

// grid sorts the points into a grid, or says why that cannot be.
func (p *pointList) grid() (*grid, error) {
	x, y := distinct(p.x), distinct(p.y)
	if len(x) < 2 {
		return nil, p.fail(p.first.Line, "all points have the same x; at least two are needed")
	}
	if len(y) < 2 {
		return nil, p.fail(p.first.Line, "all points have the same y; at least two are needed")
	}
	if len(x) > 2*len(p.x)/len(y) {
		return nil, p.scattered(len(p.x), x, y)
	}
	for _, node := range [][]float64{x, y} {
		for i := 1; i < len(node); i++ {
			if node[i]-node[i-1] < surface.MinSpacingMM {
				return nil, p.fail(p.first.Line, "nodes %v and %v mm are all but the same", node[i-1], node[i])
			}
		}
	}
	z := make([]float64, len(x)*len(y))
	from := make([]int32, len(z)) // 1 + index of the point there
	count, some := 0, false
	for k := range p.x {
		i, _ := slices.BinarySearch(x, p.x[k])
		j, _ := slices.BinarySearch(y, p.y[k])
		c := j*len(x) + i
		if from[c] != 0 {
			if z[c] != p.z[k] && (z[c] == z[c] || p.z[k] == p.z[k]) {
				return nil, p.fail(p.line[k], "point was given another height in line %d (%v, now %v mm)",
					p.line[from[c]-1], z[c], p.z[k])
			}
			continue
		}
		from[c] = int32(k + 1)
		z[c] = p.z[k]
		count++
		some = some || p.z[k] == p.z[k]
	}
	if 2*count < len(z) {
		return nil, p.scattered(count, x, y)
	}
	if !some {
		return nil, p.fail(p.first.Line, "every height is missing")
	}
	for c := range z {
		if from[c] == 0 {
			z[c] = math.NaN()
		}
	}
	return &grid{x: x, y: y, z: z}, nil
}

func (p *pointList) scattered(count int, x, y []float64) error {
	return &ScatteredError{
		X: p.x, Y: p.y, Z: p.z, Line: p.line,
		unsupported: &diag.Error{Kind: diag.Unsupported, Place: p.first, What: fmt.Sprintf(
			"scattered points are not supported without a fit: %d points do not fill the grid of their %d x and %d y values; use the method auto",
			count, len(x), len(y))},
	}
}

// distinct returns the sorted values of v, each once.
func distinct(v []float64) []float64 {
	return slices.Compact(slices.Sorted(slices.Values(v)))
}
