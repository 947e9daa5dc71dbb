package measured

import (
	"io"
	"math"
	"slices"
	"strings"

	"sagitta/internal/optics"
	"sagitta/internal/table"
)

// Series is a file of widths: one axis or two, all at the same places.
type Series struct {
	X optics.Widths
	Y *optics.Widths // nil: one axis
}

// maxTableBytes bounds a file of measurements made by people and cameras: some
// ten thousand rows. More is another kind of file.
const maxTableBytes = 1 << 20

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

// newTable makes a reader of a file of measurements; name stands for it in
// errors.
func newTable(r io.Reader, name string) *table.Reader {
	t := table.NewReader(r, name)
	t.Limit(maxTableBytes, "a file of measurements")
	return t
}

// ReadWidths reads widths over z: columns z, d or z, dx, dy, in this order or as
// a header names them, z in mm and widths in µm unless the header says otherwise
// ("z_mm, dx_um"). name stands for the file in errors. What cannot be read as
// such is a *diag.Error.
func ReadWidths(r io.Reader, name string) (*Series, error) {
	t, s := newTable(r, name), &Series{}
	if err := t.First("no widths in this file; it wants rows of z in mm and width in µm"); err != nil {
		return nil, err
	}
	cols := columns{[3]int{0, 1, 2}, [3]float64{1, 1e-3, 1e-3}}
	if _, ok := t.Parse(t.Text(0)); !ok {
		var err error
		if cols, err = header(&t.Row); err != nil {
			return nil, err
		}
		if err = t.Need("no widths follow this header"); err != nil {
			return nil, err
		}
	} else if len(t.Text(2)) == 0 {
		cols.at[2] = -1
	}
	if cols.at[2] >= 0 {
		s.Y = &optics.Widths{}
	}
	return s, t.Rest(func() error { return s.add(&t.Row, cols) })
}

// add takes a row of widths.
func (s *Series) add(row *table.Row, cols columns) error {
	if most := slices.Max(cols.at[:]) + 1; len(row.Text(most)) > 0 {
		return row.Fail(most, "one field too many; with a decimal comma, separate fields by semicolons")
	}
	z, err := cols.length(row, 0)
	if err != nil {
		return err
	}
	for axis, to := range []*optics.Widths{&s.X, s.Y} {
		if to == nil {
			continue
		}
		d, err := cols.length(row, axis+1)
		if err != nil {
			return err
		}
		to.Z, to.D = append(to.Z, z), append(to.D, d)
	}
	return nil
}

// columnNames are those a header may use, and which column each is of z, x, y.
var columnNames = map[string]int{"z": 0, "position": 0, "d": 1, "dx": 1, "width": 1, "w": 1, "diameter": 1, "dy": 2}

// plainName writes a unit in brackets as one behind an underscore.
var plainName = strings.NewReplacer("[", "_", "(", "_", " ", "_", "]", "", ")", "")

// header reads the row that names the columns.
func header(row *table.Row) (columns, error) {
	c := columns{[3]int{-1, -1, -1}, [3]float64{1, 1e-3, 1e-3}}
	for k := range row.Len() {
		base, unit, named := strings.Cut(plainName.Replace(strings.ToLower(string(row.Text(k)))), "_")
		if base == "" && k > 0 && k == row.Len()-1 {
			continue // a separator at the end
		}
		which, known := columnNames[base]
		switch {
		case !known:
			return c, row.Fail(k, "column %s is neither z nor a width: name the columns z, d or z, dx, dy, with units as in z_mm, dx_um", table.Quote(row.Text(k)))
		case c.at[which] >= 0:
			return c, row.Fail(k, "column %s is the second of its kind", table.Quote(row.Text(k)))
		}
		c.at[which] = k
		if !named {
			continue
		}
		if c.unit[which], known = unitMM[strings.Trim(unit, "_")]; !known {
			return c, row.Fail(k, "the unit of %s is not one of mm, um, cm, m and in", table.Quote(row.Text(k)))
		}
	}
	for which, name := range []string{"z", "d or dx"} {
		if c.at[which] < 0 {
			return c, row.Fail(-1, "no column %s: name the columns z, d or z, dx, dy, with units as in z_mm, dx_um", name)
		}
	}
	return c, nil
}

// length reads z (which 0) or a width in mm.
func (c *columns) length(row *table.Row, which int) (float64, error) {
	k, what := c.at[which], "width"
	if which == 0 {
		what = "z"
	}
	v, err := row.Number(k, what)
	if err != nil {
		return 0, err
	}
	if which > 0 && !(v > 0) {
		return 0, row.Fail(k, "width %s is not above zero", table.Quote(row.Text(k)))
	}
	v *= c.unit[which]
	if math.Abs(v) > maxLengthMM || which > 0 && v < 1/maxLengthMM {
		return 0, row.Fail(k, "%s %s is beyond any bench; check the units", what, table.Quote(row.Text(k)))
	}
	return v, nil
}
