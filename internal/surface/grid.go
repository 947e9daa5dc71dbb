package surface

import (
	"errors"
	"fmt"
	"io"
	"slices"

	"sagitta/internal/diag"
)

// grid reads the grid form; its x nodes are the fields of the current row
// from the given one on.
func (r *lineReader) grid(from int) (*Surface, error) {
	x, err := r.nodes(from)
	if err != nil {
		return nil, err
	}
	if err := r.next(); err != nil {
		if errors.Is(err, io.EOF) {
			return nil, r.fail(0, "a grid needs at least two rows of heights after the x nodes")
		}
		return nil, err
	}
	return r.gridRows(x)
}

// nodes reads x nodes from the current row.
func (r *lineReader) nodes(from int) ([]float64, error) {
	x := make([]float64, 0, len(r.fields)-from)
	for k := from; k < len(r.fields); k++ {
		v, err := r.coordinate(k, "x node")
		if err != nil {
			return nil, err
		}
		x = append(x, v)
		if err := r.ordered(x, "x", k); err != nil {
			return nil, err
		}
	}
	if len(x) < 2 {
		return nil, r.fail(r.fields[len(r.fields)-1].start, "a grid needs at least two x nodes")
	}
	return x, nil
}

// ordered checks the last of the nodes read so far against the others.
func (r *lineReader) ordered(node []float64, axis string, k int) error {
	n := len(node)
	if n < 2 {
		return nil
	}
	step := node[n-1] - node[n-2]
	at := r.fields[k].start
	if step > -minSpacingMM && step < minSpacingMM {
		return r.fail(at, fmt.Sprintf("%s node %s repeats the one before it", axis, r.text(k)))
	}
	if n > 2 && (step > 0) != (node[1] > node[0]) {
		return r.fail(at, fmt.Sprintf("%s node %s is out of order", axis, r.text(k)))
	}
	return nil
}

// gridRows reads the current row and all after it as rows of heights.
func (r *lineReader) gridRows(x []float64) (*Surface, error) {
	var y, z []float64
	var rows []int
	firstRow := r.here(0)
	some := false
	for err := error(nil); !errors.Is(err, io.EOF); err = r.next() {
		if err != nil {
			return nil, err
		}
		if err := r.rowLength(len(x)); err != nil {
			return nil, err
		}
		v, err := r.coordinate(0, "y node")
		if err != nil {
			return nil, err
		}
		y = append(y, v)
		rows = append(rows, r.number)
		if err := r.ordered(y, "y", 0); err != nil {
			return nil, err
		}
		if len(z)+len(x) > maxNodes {
			return nil, r.tooMany()
		}
		for k := 1; k < len(r.fields); k++ {
			h, err := r.height(k)
			if err != nil {
				return nil, err
			}
			some = some || h == h
			z = append(z, h)
		}
	}
	switch {
	case len(y) < 2:
		return nil, r.fail(0, "a grid needs at least two rows of heights, this is the only one")
	case !some:
		return nil, &diag.Error{Kind: diag.Malformed, Place: firstRow, What: "every height is missing"}
	}
	if y[0] > y[1] {
		slices.Reverse(rows)
	}
	flip(x, y, z)
	return &Surface{x: x, y: y, z: z, rows: rows}, nil
}

// rowLength refuses a row that does not hold a y node and nx heights.
func (r *lineReader) rowLength(nx int) error {
	n := len(r.fields)
	if n == nx+1 {
		return nil
	}
	at := len(r.line)
	if n > nx+1 {
		at = r.fields[nx+1].start
	}
	return r.fail(at, fmt.Sprintf("row has %d heights, the first row has %d x nodes", n-1, nx))
}

func (r *lineReader) tooMany() error {
	return &diag.Error{Kind: diag.Unsupported, Place: r.here(0), What: fmt.Sprintf("more than %d nodes are not supported", maxNodes)}
}

// flip turns descending axes, and the heights with them.
func flip(x, y, z []float64) {
	nx := len(x)
	if x[0] > x[1] {
		slices.Reverse(x)
		for j := range y {
			slices.Reverse(z[j*nx : (j+1)*nx])
		}
	}
	if y[0] > y[1] {
		slices.Reverse(y)
		for a, b := 0, len(y)-1; a < b; a, b = a+1, b-1 {
			for i := range nx {
				z[a*nx+i], z[b*nx+i] = z[b*nx+i], z[a*nx+i]
			}
		}
	}
}
