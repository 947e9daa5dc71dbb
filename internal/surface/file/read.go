// Package file reads surfaces from text tables and writes them: grids and lists
// of points, with what their header lines say, and lists of boxes that stand on
// the bench.
package file

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/surface"
	"sagitta/internal/table"
)

// maxNodes bounds the memory that a file can ask for (some 100 MB); a real probing
// has a hundred times fewer.
const maxNodes = 1_000_000

// maxBytes is more than as many nodes take in a file, and than boxes ever do.
const maxBytes = 32 << 20

// ScatteredError says that points are on no grid, and holds them in the order of
// the file, NaN for a missing height. It unwraps to a *diag.Error.
type ScatteredError struct {
	Points []surface.Point
	Header surface.Header
	Digest string

	unsupported *diag.Error
}

// Error returns FILE:LINE:COL: what.
func (e *ScatteredError) Error() string { return e.unsupported.Error() }

// Unwrap returns the *diag.Error.
func (e *ScatteredError) Unwrap() error { return e.unsupported }

// reader is a surface under way.
type reader struct {
	*table.Reader
	HeaderLines
	over  Said                  // whatever the file says
	where map[string]diag.Place // of its header lines
	// errorRows are the lines of errors by place, as they stand.
	errorRows []table.Row
}

func newReader(r io.Reader, name string) *reader {
	in := &reader{Reader: table.NewReader(r, name)}
	in.Limit(maxBytes, "a file of places on a bench")
	in.where = map[string]diag.Place{}
	in.Setting = in.setting
	return in
}

// Read reads a surface from r; name stands for the file in errors.
//
// Two forms are told apart by their first row. In a grid it holds the x
// nodes behind a field that is blank or text, and every further row a y node
// and the heights there; nodes may be unevenly spaced and may descend. In a
// list of points each row holds x, y and z, in any order of rows, with or
// without a row of names; the points must lie on a grid. Missing heights are
// blank or nan. The table is as in package table; comments before the first row of the
// form "# key: value" are header lines:
//
//	units: mm|in|mm,mm,in    heights: up|down    method: NAME
//	error_mm: LENGTH    noise_mm: LENGTH    wraps_y_mm: LENGTH    made_of: DIGEST
//	datum: X,Y    shift_mm: X,Y    rotate_deg: DEGREES
//
// A grid may also have, anywhere, a line "# error_row: Y, E1, E2 ..." for each of its rows,
// in any order: the standard uncertainty of each height of the row at y node Y, in mm
// whatever the units are, nan at most where the height is missing. What error_mm says is
// then the least that any of them has.
//
// The datum is in the coordinates and units of the file; shift and rotation
// are those of surface.Placement. Nodes, heights and datum come out in mm, up
// positive; heights are not counted from the datum here.
//
// The error is a *diag.Error, a *ScatteredError for points that need a fit, or
// that of r where reading failed.
func Read(r io.Reader, name string) (*surface.Surface, error) { return ReadAs(r, name, Said{}) }

// ReadAs reads a surface as Read does, with what is said of it over what the
// file says.
func ReadAs(r io.Reader, name string, said Said) (*surface.Surface, error) {
	hash := sha256.New()
	in := newReader(io.TeeReader(r, hash), name)
	in.over, in.Said = said, said
	s, err := in.surface()
	if err == nil {
		err = in.errorsOf(s)
	}
	scattered, _ := errors.AsType[*ScatteredError](err)
	if err != nil && scattered == nil {
		return nil, err
	}
	if s != nil && !slices.ContainsFunc(s.z, func(h float64) bool { return h == h }) {
		return nil, &diag.Error{Place: s.first, What: "every height is missing"}
	}
	if d := in.Datum; d != nil {
		d[0], d[1] = d[0]*in.Said.UnitMM(), d[1]*in.Said.UnitMM()
		if !within(d, surface.MaxCoordMM) {
			return nil, &diag.Error{Place: in.where["datum"], What: fmt.Sprintf("datum is not within %g mm of zero", surface.MaxCoordMM)}
		}
	}
	digest := hex.EncodeToString(hash.Sum(nil))
	if scattered != nil {
		scattered.Header, scattered.Digest = in.Header, digest
		return nil, scattered
	}
	made, err := surface.New(s.x, s.y, s.z)
	if err == nil && s.errors != nil {
		made, err = made.WithErrors(s.errors)
	}
	if err == nil {
		made, err = made.WithHeader(in.Header)
	}
	if err != nil {
		return nil, in.FailFile("%v", err)
	}
	return made.WithSource(surface.Source{Name: name, Digest: digest, Where: in.where, Rows: s.rows}), nil
}

// grid is what a file holds: nodes, ascending, row after row of heights, and
// the lines of a grid's rows, by index of y.
type grid struct {
	x, y, z []float64
	errors  []float64  // of each height, in the order of z; nil where none is said
	rows    []int      // nil of a list of points
	xFalls  bool       // the file has its x nodes the other way round
	first   diag.Place // of the first height
}

// surface reads rows to the end, by the form that the first one shows.
func (r *reader) surface() (*grid, error) {
	if err := r.Next(); errors.Is(err, io.EOF) && r.Line() == 0 {
		return nil, r.FailFile("no data: the file is empty")
	} else if errors.Is(err, io.EOF) {
		return nil, r.FailFile("no data: the file has comments and blank lines only")
	} else if err != nil {
		return nil, err
	}
	var numbers, texts int
	for k := range r.Len() {
		b := r.Text(k)
		if _, ok := r.Parse(b); ok {
			numbers++
		} else if len(b) > 0 && !isNaN(b) {
			if looksNumeric(b) {
				return nil, r.Fail(k, "%s is not a number", table.Quote(b))
			}
			texts++
		}
	}
	n := r.Len()
	_, firstIsNumber := r.Parse(r.Text(0))
	switch {
	case texts == n && n != 3:
		return nil, r.Fail(0, "a row of names needs three columns x, y, z; a grid's first row holds its x nodes")
	case texts == n:
		if err := r.pointNames(); err != nil {
			return nil, err
		}
		if err := r.Need("no data after the row of names"); err != nil {
			return nil, err
		}
		return new(pointList).read(r)
	case !firstIsNumber:
		return r.grid()
	case r.Separator() == ' ' && numbers == n:
		return r.cornerless()
	case n == 3:
		return new(pointList).read(r)
	}
	return nil, noForm(&r.Row)
}

// withCommas adds to what is wrong with a row what to do where decimal commas are why it
// has too many fields.
func withCommas(row *table.Row, err error) error {
	diag.As(err).Hint = row.MayHaveCommas()
	return err
}

func noForm(row *table.Row) error {
	return withCommas(row, row.Fail(0, "cannot tell the form: a grid's first row begins with a blank field or text, points have three numbers in a row, this row has %d", row.Len()))
}

// cornerless decides for fields separated by blanks, where a grid's blank
// corner cannot be seen: its rows are then longer by one than the first.
func (r *reader) cornerless() (*grid, error) {
	first := r.Clone()
	err := r.Next()
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	switch n := first.Len(); {
	case err == nil && r.Len() == n+1:
		nodes, err := r.nodes(&first, 0)
		if err != nil {
			return nil, err
		}
		return r.gridRows(nodes)
	case n == 3:
		p := &pointList{}
		if err := p.add(r, &first); err != nil {
			return nil, err
		}
		if err != nil {
			return p.grid()
		}
		return p.read(r)
	}
	return nil, noForm(&first)
}

// pointNames checks a row of names: columns named in another order than
// x, y, z are refused rather than read wrongly.
func (r *reader) pointNames() error {
	got := ""
	for k := range 3 {
		got += strings.ToLower(string(r.Text(k)[:1]))
	}
	switch got {
	case "xzy", "yxz", "yzx", "zxy", "zyx":
		return r.Fail(0, "columns must be x, y, z in this order")
	}
	return r.namedUnits()
}

// namedUnits takes the units that a row of names says, as in "x mm,y mm,z in". What is
// said of the file elsewhere must agree.
func (r *reader) namedUnits() error {
	var units [3]string
	for k := range units {
		units[k] = table.UnitOf(r.Text(k))
	}
	named, ok := UnitsOf(units)
	switch {
	case named == "" && ok || r.over.Units != "":
		return nil
	case !ok:
		return r.Fail(2, "the names do not say the units of x, y and z each; write them as in \"x mm,y mm,z in\"")
	case r.Said.Units != "" && r.Said.Units != named:
		return r.Fail(0, "the names say %s, the header line says %s", named, r.Said.Units)
	}
	r.Said.Units = named
	return nil
}

// UnitsOf makes Units of those of x, y and z, each mm, in or "" where it is not said:
// "" where none is. It reports false where they are none of Units.
func UnitsOf(xyz [3]string) (string, bool) {
	all := strings.Join(xyz[:], ",")
	switch {
	case all == ",,":
		return "", true
	case xyz[0] == xyz[1] && xyz[1] == xyz[2]:
		return xyz[0], true
	}
	return all, KnownUnits(all)
}
