package file

import (
	"bufio"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
	"sagitta/internal/table"
)

// errorsOf gives the grid the errors of its heights by place, where lines say them.
func (r *reader) errorsOf(g *grid) error {
	if len(r.errorRows) == 0 {
		return nil
	}
	if g.rows == nil {
		return r.errorRows[0].Fail(-1, "error_row is for the rows of a grid, and these are points; say one error_mm for all of them")
	}
	g.errors = make([]float64, len(g.z))
	given := make([]int, len(g.y)) // the line of the errors of each row
	for k := range r.errorRows {
		row := &r.errorRows[k]
		j, err := r.rowOf(row, g.y)
		if err != nil {
			return err
		}
		if given[j] > 0 {
			return row.Fail(0, "error_row of y %s was already given in line %d", row.Text(0), given[j])
		}
		given[j] = row.Line()
		if err := g.takeErrors(row, j); err != nil {
			return err
		}
	}
	if j := slices.Index(given, 0); j >= 0 {
		return &diag.Error{Place: diag.Place{File: g.first.File, Line: g.rows[j], Col: 1},
			What: "this row has no error_row, and others have: give one for each row"}
	}
	return nil
}

// rowOf finds the row of the grid that the line of errors is of.
func (r *reader) rowOf(row *table.Row, node []float64) (int, error) {
	y, err := r.coordinate(row, 0, "y node")
	if err != nil {
		return 0, err
	}
	for j, v := range node {
		if math.Abs(v-y) < surface.MinSpacingMM/2 {
			return j, nil
		}
	}
	return 0, row.Fail(0, "error_row of y %s is of no row of the grid", row.Text(0))
}

// takeErrors takes those of row j.
func (g *grid) takeErrors(row *table.Row, j int) error {
	nx := len(g.x)
	if n := row.Len() - 1; n != nx {
		return withCommas(row, row.Fail(nx+1, "error_row has %d errors, the grid has %d x nodes", n, nx))
	}
	for k := range nx {
		i := k
		if g.xFalls {
			i = nx - 1 - k
		}
		at, text := j*nx+i, row.Text(1+k)
		if (len(text) == 0 || isNaN(text)) && g.z[at] != g.z[at] {
			g.errors[at] = math.NaN()
			continue
		}
		v, err := row.Number(1+k, "error")
		if err != nil {
			return err
		}
		if v < 0 || v > surface.MaxCoordMM {
			return row.Fail(1+k, "error %s is not a length in mm", table.Quote(text))
		}
		g.errors[at] = v
	}
	return nil
}

// writeErrors writes the errors of each row of a surface.
func writeErrors(b *bufio.Writer, s *surface.Surface) {
	for j, y := range s.Y() {
		fmt.Fprintf(b, "# error_row: %g", y)
		for i := range s.X() {
			if e := s.ErrorAt(i, j); e != e {
				b.WriteString(",nan")
			} else {
				fmt.Fprintf(b, ",%g", e)
			}
		}
		b.WriteByte('\n')
	}
}
