package file

import (
	"bufio"
	"fmt"
	"io"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
	"sagitta/internal/table"
)

// grid reads the grid form; its x nodes are the fields of the current row but
// for the first.
func (r *reader) grid() (*grid, error) {
	x, err := r.nodes(&r.Row, 1)
	if err != nil {
		return nil, err
	}
	if err := r.Need("a grid needs at least two rows of heights after the x nodes"); err != nil {
		return nil, err
	}
	return r.gridRows(x)
}

// nodes reads x nodes from a row, from the given field on.
func (r *reader) nodes(row *table.Row, from int) ([]float64, error) {
	x := make([]float64, 0, row.Len()-from)
	for k := from; k < row.Len(); k++ {
		v, err := r.coordinate(row, k, "x node")
		if err != nil {
			return nil, err
		}
		x = append(x, v)
		if err := ordered(row, x, "x", k); err != nil {
			return nil, err
		}
	}
	if len(x) < 2 {
		return nil, row.Fail(row.Len()-1, "a grid needs at least two x nodes")
	}
	return x, nil
}

// ordered checks the last of the nodes read so far, field k of the row, against
// the others.
func ordered(row *table.Row, node []float64, axis string, k int) error {
	n := len(node)
	if n < 2 {
		return nil
	}
	step := node[n-1] - node[n-2]
	if step > -surface.MinSpacingMM && step < surface.MinSpacingMM {
		return row.Fail(k, "%s node %s repeats the one before it", axis, row.Text(k))
	}
	if n > 2 && (step > 0) != (node[1] > node[0]) {
		return row.Fail(k, "%s node %s is out of order", axis, row.Text(k))
	}
	return nil
}

// gridRows reads the current row and all after it as rows of heights.
func (r *reader) gridRows(x []float64) (*grid, error) {
	var y, z []float64
	var rows []int
	first := r.Place(-1)
	err := r.Rest(func() error {
		if n := r.Len(); n != len(x)+1 {
			return withCommas(&r.Row, r.Fail(len(x)+1, "row has %d heights, the first row has %d x nodes", n-1, len(x)))
		}
		v, err := r.coordinate(&r.Row, 0, "y node")
		if err != nil {
			return err
		}
		y = append(y, v)
		rows = append(rows, r.Line())
		if err := ordered(&r.Row, y, "y", 0); err != nil {
			return err
		}
		if len(z)+len(x) > maxNodes {
			return r.tooMany()
		}
		for k := 1; k < r.Len(); k++ {
			h, err := r.height(&r.Row, k)
			if err != nil {
				return err
			}
			z = append(z, h)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if len(y) < 2 {
		return nil, r.Fail(-1, "a grid needs at least two rows of heights, this is the only one")
	}
	g := &grid{x: x, y: y, z: z, rows: rows, first: first}
	g.ascend()
	return g, nil
}

func (r *reader) tooMany() error {
	return &diag.Error{Kind: diag.Unsupported, Place: r.Place(-1), What: fmt.Sprintf("more than %d nodes are not supported", maxNodes)}
}

// ascend turns descending axes, and the heights with them.
func (g *grid) ascend() {
	xFalls, yFalls := g.x[0] > g.x[1], g.y[0] > g.y[1]
	g.xFalls = xFalls
	if xFalls {
		slices.Reverse(g.x)
	}
	if yFalls {
		slices.Reverse(g.y)
		slices.Reverse(g.rows)
		slices.Reverse(g.z) // which turns both axes
	}
	if xFalls != yFalls {
		for row := range slices.Chunk(g.z, len(g.x)) {
			slices.Reverse(row)
		}
	}
}

// Write writes a surface in the grid form, with header lines for what
// its header says. Numbers keep every bit: Read gives the same surface back.
func Write(w io.Writer, s *surface.Surface) error {
	h := s.Header()
	b := bufio.NewWriter(w)
	line := func(key string, v float64) {
		if v != 0 {
			fmt.Fprintf(b, "# %s: %g\n", key, v)
		}
	}
	pair := func(key string, v *[2]float64) {
		if v != nil {
			fmt.Fprintf(b, "# %s: %g,%g\n", key, v[0], v[1])
		}
	}
	b.WriteString("# units: mm\n# heights: up\n")
	if h.Method != "" {
		b.WriteString("# method: " + h.Method + "\n")
	}
	if h.ErrorSaid || h.ErrorMM != 0 {
		fmt.Fprintf(b, "# error_mm: %g\n", h.ErrorMM)
	}
	if s.ErrorsVary() {
		writeErrors(b, s)
	}
	line("noise_mm", h.NoiseMM)
	pair("datum", h.Datum)
	line("wraps_y_mm", h.WrapsYMM)
	pair("shift_mm", h.Shift)
	line("rotate_deg", h.RotateDeg)
	if h.MadeOf != "" {
		b.WriteString("# made_of: " + h.MadeOf + "\n")
	}

	b.WriteString(`y\x`)
	for _, x := range s.X() {
		fmt.Fprintf(b, ",%g", x)
	}
	b.WriteByte('\n')
	for j, y := range s.Y() {
		fmt.Fprintf(b, "%g", y)
		for i := range s.X() {
			if h := s.Height(i, j); h != h {
				b.WriteByte(',')
			} else {
				fmt.Fprintf(b, ",%g", h)
			}
		}
		b.WriteByte('\n')
	}
	return b.Flush()
}
