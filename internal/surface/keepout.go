package surface

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"sagitta/internal/diag"
)

// Box is something that stands on the bench higher than the stock, such as a
// clamp: an upright box over the rectangle from X0, Y0 to X1, Y1 (program XY,
// mm; X0 < X1, Y0 < Y1), up to Height over the datum, in mm.
type Box struct{ X0, Y0, X1, Y1, Height float64 }

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
func ReadKeepOut(r io.Reader, name string) ([]Box, error) {
	in := &lineReader{br: bufio.NewReaderSize(r, 64<<10), name: name, header: map[string]diag.Place{}}
	var boxes []Box
	for row := 0; ; row++ {
		if err := in.next(); err != nil {
			if !errors.Is(err, io.EOF) {
				return nil, err
			}
			if len(boxes) == 0 {
				in.number, in.line = max(in.number, 1), nil
				return nil, in.fail(0, "no boxes; leave the file out where nothing stands higher than the stock")
			}
			return boxes, nil
		}
		if row == 0 {
			names, err := in.boxNames()
			if err != nil {
				return nil, err
			}
			if names {
				continue
			}
		}
		b, err := in.box()
		if err != nil {
			return nil, err
		}
		if len(boxes) == maxBoxes {
			return nil, in.fail(0, fmt.Sprintf("more than %d boxes", maxBoxes))
		}
		boxes = append(boxes, b)
	}
}

// boxNames tells whether the row is one of names, and refuses names in another
// order rather than read them wrongly.
func (r *lineReader) boxNames() (bool, error) {
	for k := range r.fields {
		if b := r.text(k); len(b) == 0 || isNaN(b) || looksNumeric(b) {
			return false, nil
		}
	}
	for k, want := range boxColumns {
		if k >= len(r.fields) || !strings.HasPrefix(strings.ToLower(string(r.text(k))), want) {
			return false, r.fail(r.fields[min(k, len(r.fields)-1)].start, "columns must be x0, y0, x1, y1, height in this order")
		}
	}
	return true, nil
}

// box reads a row.
func (r *lineReader) box() (Box, error) {
	if n := len(r.fields); n != len(boxColumns) {
		return Box{}, r.fail(r.fields[min(n-1, len(boxColumns))].start,
			fmt.Sprintf("a box has five numbers: x0, y0, x1, y1, height; this row has %d", n))
	}
	var v [len(boxColumns)]float64
	for k, name := range boxColumns {
		limit := float64(maxCoordMM)
		if name == "height" {
			limit = maxHeightMM
		}
		var err error
		if v[k], err = r.length(k, name, limit); err != nil {
			return Box{}, err
		}
	}
	if r.down {
		v[4] = 0 - v[4]
	}
	b := Box{min(v[0], v[2]), min(v[1], v[3]), max(v[0], v[2]), max(v[1], v[3]), v[4]}
	switch {
	case b.X0 == b.X1:
		return Box{}, r.fail(r.fields[2].start, "x0 and x1 are the same: the box covers nothing")
	case b.Y0 == b.Y1:
		return Box{}, r.fail(r.fields[3].start, "y0 and y1 are the same: the box covers nothing")
	}
	return b, nil
}
