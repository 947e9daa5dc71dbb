package surface

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"sagitta/internal/diag"
)

// pointList collects the points form.
type pointList struct {
	x, y, z []float64
	line    []int
	first   diag.Place
}

// points reads the current row and all after it as points.
func (r *lineReader) points() (*Surface, error) {
	p := &pointList{}
	if err := p.add(r); err != nil {
		return nil, err
	}
	return r.morePoints(p)
}

func (r *lineReader) morePoints(p *pointList) (*Surface, error) {
	for {
		if err := r.next(); err != nil {
			if errors.Is(err, io.EOF) {
				return p.surface(r.name)
			}
			return nil, err
		}
		if len(p.x) == maxNodes {
			return nil, r.tooMany()
		}
		if err := p.add(r); err != nil {
			return nil, err
		}
	}
}

// add takes the current row of r as a point.
func (p *pointList) add(r *lineReader) error {
	if n := len(r.fields); n != 3 {
		at := len(r.line)
		if n > 3 {
			at = r.fields[3].start
		}
		return r.fail(at, fmt.Sprintf("point has %d fields, x, y and z are needed", n))
	}
	x, err := r.coordinate(0, "x")
	if err != nil {
		return err
	}
	y, err := r.coordinate(1, "y")
	if err != nil {
		return err
	}
	z, err := r.height(2)
	if err != nil {
		return err
	}
	if p.line == nil {
		p.first = r.here(0)
	}
	p.x, p.y, p.z = append(p.x, x), append(p.y, y), append(p.z, z)
	p.line = append(p.line, r.number)
	return nil
}

// surface sorts the points into a grid, or tells why that cannot be.
func (p *pointList) surface(name string) (*Surface, error) {
	fail := func(line int, what string) error {
		at := diag.Place{File: name, Line: line, Col: 1}
		if line == p.first.Line {
			at = p.first
		}
		return &diag.Error{Kind: diag.Malformed, Place: at, What: what}
	}
	x, y := distinct(p.x), distinct(p.y)
	if len(x) < 2 {
		return nil, fail(p.first.Line, "all points have the same x; at least two are needed")
	}
	if len(y) < 2 {
		return nil, fail(p.first.Line, "all points have the same y; at least two are needed")
	}
	if len(x) > 2*len(p.x)/len(y) {
		return nil, p.scattered(name, len(p.x), x, y)
	}
	for _, node := range [][]float64{x, y} {
		for i := 1; i < len(node); i++ {
			if node[i]-node[i-1] < minSpacingMM {
				return nil, fail(p.first.Line, fmt.Sprintf("nodes %v and %v mm are all but the same", node[i-1], node[i]))
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
				return nil, fail(p.line[k], fmt.Sprintf("point was given another height in line %d (%v, now %v mm)",
					p.line[from[c]-1], z[c], p.z[k]))
			}
			continue
		}
		from[c] = int32(k + 1)
		z[c] = p.z[k]
		count++
		some = some || p.z[k] == p.z[k]
	}
	if 2*count < len(z) {
		return nil, p.scattered(name, count, x, y)
	}
	if !some {
		return nil, fail(p.first.Line, "every height is missing")
	}
	for c := range z {
		if from[c] == 0 {
			z[c] = math.NaN()
		}
	}
	return &Surface{x: x, y: y, z: z}, nil
}

func (p *pointList) scattered(name string, count int, x, y []float64) error {
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
