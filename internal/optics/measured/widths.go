package measured

import (
	"io"
	"math"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/optics"
)

// Series is a file of widths: one axis or two, all at the same places.
type Series struct {
	X optics.Widths
	Y *optics.Widths // nil: one axis
}

// maxLengthMM bounds z and widths: a kilometre is a slip of unit, and squares
// of more could run out of range.
const maxLengthMM = 1e6

// unitMM are the units a header may name, in mm.
var unitMM = map[string]float64{"mm": 1, "um": 1e-3, "µm": 1e-3, "μm": 1e-3, "cm": 10, "m": 1000, "in": 25.4}

// columns tell where z and the widths stand, and their units in mm.
type columns struct {
	at   [3]int // z, x, y; -1: none
	unit [3]float64
}

// ReadWidths reads widths over z from CSV: columns z, d or z, dx, dy, in this
// order or as a header names them, z in mm and widths in µm unless the header
// says otherwise ("z_mm, dx_um"). name stands for the file in errors. What
// cannot be read as such is a *diag.Error.
func ReadWidths(r io.Reader, name string) (*Series, error) {
	t, err := readTable(r, name)
	if err != nil {
		return nil, err
	}
	if len(t.rows) == 0 {
		return nil, &diag.Error{Place: diag.Place{File: name, Line: 1, Col: 1}, What: "no widths in this file; it wants rows of z in mm and width in µm"}
	}
	rows := t.rows
	cols := columns{[3]int{0, 1, 2}, [3]float64{1, 1e-3, 1e-3}}
	if _, ok := t.parse(rows[0].cell(0).text); !ok {
		if cols, err = header(rows[0]); err != nil {
			return nil, err
		}
		rows = rows[1:]
	} else if len(rows[0].cells) < 3 || rows[0].cells[2].text == "" {
		cols.at[2] = -1
	}
	s := &Series{}
	if cols.at[2] >= 0 {
		s.Y = &optics.Widths{}
	}
	most := 0
	for _, k := range cols.at {
		most = max(most, k+1)
	}
	for _, w := range rows {
		if len(w.cells) > most && w.cells[most].text != "" {
			return nil, w.fail(w.cells[most].col, "one field too many; with a decimal comma, separate fields by semicolons")
		}
		z, err := w.length(cols, 0)
		if err != nil {
			return nil, err
		}
		for axis, to := range []*optics.Widths{&s.X, s.Y} {
			if to == nil {
				continue
			}
			d, err := w.length(cols, axis+1)
			if err != nil {
				return nil, err
			}
			to.Z, to.D = append(to.Z, z), append(to.D, d)
		}
	}
	if len(s.X.Z) == 0 {
		return nil, t.rows[0].fail(1, "no widths follow this header")
	}
	return s, nil
}

// header reads the row that names the columns.
func header(w row) (columns, error) {
	c := columns{[3]int{-1, -1, -1}, [3]float64{1, 1e-3, 1e-3}}
	for k, f := range w.cells {
		text := strings.NewReplacer("[", "_", "(", "_", " ", "_", "]", "", ")", "").Replace(strings.ToLower(f.text))
		base, unit, named := strings.Cut(text, "_")
		unit = strings.Trim(unit, "_")
		which := -1
		switch base {
		case "z", "position":
			which = 0
		case "d", "dx", "width", "w", "diameter":
			which = 1
		case "dy":
			which = 2
		case "":
			if k == len(w.cells)-1 && k > 0 {
				continue // a separator at the end
			}
		}
		if which < 0 {
			return c, w.fail(f.col, "column %s is neither z nor a width: name the columns z, d or z, dx, dy, with units as in z_mm, dx_um", quote(f.text))
		}
		if c.at[which] >= 0 {
			return c, w.fail(f.col, "column %s is the second of its kind", quote(f.text))
		}
		c.at[which] = k
		if named {
			mm, ok := unitMM[unit]
			if !ok {
				return c, w.fail(f.col, "the unit of %s is not one of mm, um, cm, m and in", quote(f.text))
			}
			c.unit[which] = mm
		}
	}
	for which, name := range []string{"z", "d or dx"} {
		if c.at[which] < 0 {
			return c, w.fail(1, "no column %s: name the columns z, d or z, dx, dy, with units as in z_mm, dx_um", name)
		}
	}
	return c, nil
}

// length reads z (which 0) or a width in mm.
func (w row) length(c columns, which int) (float64, error) {
	k, what := c.at[which], "width"
	if which == 0 {
		what = "z"
	}
	v, err := w.number(k, what)
	if err != nil {
		return 0, err
	}
	f := w.cell(k)
	if which > 0 && !(v > 0) {
		return 0, w.fail(f.col, "width %s is not above zero", quote(f.text))
	}
	v *= c.unit[which]
	if math.Abs(v) > maxLengthMM || which > 0 && v < 1/maxLengthMM {
		return 0, w.fail(f.col, "%s %s is beyond any bench; check the units", what, quote(f.text))
	}
	return v, nil
}
