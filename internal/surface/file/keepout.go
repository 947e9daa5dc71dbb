package file

import (
	"io"
	"strings"

	"sagitta/internal/surface"
)

// maxBoxes bounds the work that a list can ask for; benches have a dozen.
const maxBoxes = 10_000

// boxColumns are the columns of a list of boxes.
var boxColumns = [...]string{"x0", "y0", "x1", "y1", "height"}

// ReadKeepOut reads a list of boxes: rows of x0, y0, x1, y1, height, of any two
// opposite corners in program XY and a height over the datum, with or without
// a row of names. Separators, comments and the lines "# units:" and
// "# heights:" are those of a surface. The boxes come out in mm, in the order
// of the file, their corners in order.
//
// The error is a *diag.Error for a file that is no such list, or that of r
// where reading failed.
func ReadKeepOut(r io.Reader, name string) ([]surface.Box, error) {
	const none = "no boxes; leave the file out where nothing stands higher than the stock"
	in := newReader(r, name)
	if err := in.First(none); err != nil {
		return nil, err
	}
	names, err := in.boxNames()
	if names {
		err = in.First(none)
	}
	if err != nil {
		return nil, err
	}
	var boxes []surface.Box
	err = in.Rest(func() error {
		b, err := in.box()
		if err == nil && len(boxes) == maxBoxes {
			return in.Fail(-1, "more than %d boxes", maxBoxes)
		}
		boxes = append(boxes, b)
		return err
	})
	return boxes, err
}

// boxNames reports whether the row is one of names, and refuses names in another
// order rather than read them wrongly.
func (r *reader) boxNames() (bool, error) {
	for k := range r.Len() {
		if b := r.Text(k); len(b) == 0 || isNaN(b) || looksNumeric(b) {
			return false, nil
		}
	}
	for k, want := range boxColumns {
		if k >= r.Len() || !strings.HasPrefix(strings.ToLower(string(r.Text(k))), want) {
			return false, r.Fail(min(k, r.Len()-1), "columns must be x0, y0, x1, y1, height in this order")
		}
	}
	return true, nil
}

// box reads a row.
func (r *reader) box() (surface.Box, error) {
	if n := r.Len(); n != len(boxColumns) {
		return surface.Box{}, r.Fail(min(n-1, len(boxColumns)), "a box has five numbers: x0, y0, x1, y1, height; this row has %d", n)
	}
	var v [len(boxColumns)]float64
	for k, name := range boxColumns {
		unit, limit := r.Said.UnitMM(), surface.MaxCoordMM
		if name == "height" {
			unit, limit = r.Said.HeightMM(), surface.MaxHeightMM
		}
		var err error
		if v[k], err = r.length(&r.Row, k, name, unit, limit); err != nil {
			return surface.Box{}, err
		}
	}
	b := surface.Box{X0: min(v[0], v[2]), Y0: min(v[1], v[3]), X1: max(v[0], v[2]), Y1: max(v[1], v[3]), Height: r.Said.Up(v[4])}
	switch {
	case b.X0 == b.X1:
		return surface.Box{}, r.Fail(2, "x0 and x1 are the same: the box covers nothing")
	case b.Y0 == b.Y1:
		return surface.Box{}, r.Fail(3, "y0 and y1 are the same: the box covers nothing")
	}
	return b, nil
}
