package surface

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"sagitta/internal/diag"
)

// Read reads a surface from r; name stands for the file in errors.
//
// Two forms are told apart by their first row. In a grid it holds the x
// nodes behind a field that is blank or text, and every further row a y node
// and the heights there; nodes may be unevenly spaced and may descend. In a
// list of points each row holds x, y and z, in any order of rows, with or
// without a row of names; the points must lie on a grid. Missing heights are
// blank or nan. Fields are separated by comma, semicolon, tab or blanks, the
// same throughout. From # to the end of the line is comment; comments
// before the first row of the form "# key: value" are header lines:
//
//	units: mm|in    heights: up|down    method: NAME
//	error_mm: LENGTH    noise_mm: LENGTH    wraps_y_mm: LENGTH
//	datum: X,Y    shift_mm: X,Y    rotate_deg: DEGREES
//
// The datum is in the coordinates and units of the file; shift and rotation
// are those of Placement. Nodes, heights and
// datum come out in mm, up positive; heights are never counted from the
// datum here.
//
// Read returns a *diag.Error for a file that is no surface or cannot be used,
// a *ScatteredError (with the points) for points that need a fit, and the
// error of r where reading failed.
func Read(r io.Reader, name string) (*Surface, error) {
	hash := sha256.New()
	in := &lineReader{
		br:     bufio.NewReaderSize(io.TeeReader(r, hash), 64<<10),
		name:   name,
		header: map[string]diag.Place{},
	}
	s, err := in.surface()
	scattered, _ := errors.AsType[*ScatteredError](err)
	if err != nil && scattered == nil {
		return nil, err
	}
	if d := in.set.Datum; d != nil {
		if in.inch {
			d[0], d[1] = d[0]*25.4, d[1]*25.4
		}
		if !(math.Abs(d[0]) <= maxCoordMM && math.Abs(d[1]) <= maxCoordMM) {
			return nil, &diag.Error{Kind: diag.Malformed, Place: in.header["datum"], What: fmt.Sprintf("datum is not within %g mm of zero", maxCoordMM)}
		}
	}
	digest := hex.EncodeToString(hash.Sum(nil))
	if scattered != nil {
		scattered.Header, scattered.Digest = in.set, digest
		return nil, scattered
	}
	s.name, s.where, s.header, s.digest = name, in.header, in.set, digest
	return s, nil
}

// surface reads rows to the end, by the form that the first one shows.
func (r *lineReader) surface() (*Surface, error) {
	if err := r.next(); err != nil {
		if errors.Is(err, io.EOF) {
			what := "no data: the file is empty"
			if r.number > 0 {
				what = "no data: the file has comments and blank lines only"
			}
			r.number, r.line = max(r.number, 1), nil
			return nil, r.fail(0, what)
		}
		return nil, err
	}
	var numbers, texts int
	for k := range r.fields {
		b := r.text(k)
		if _, ok := parseNumber(b); ok {
			numbers++
		} else if len(b) > 0 && !isNaN(b) {
			if looksNumeric(b) {
				return nil, r.fail(r.fields[k].start, quote(b)+" is not a number")
			}
			texts++
		}
	}
	n := len(r.fields)
	_, firstIsNumber := parseNumber(r.text(0))
	switch {
	case texts == n && n != 3:
		return nil, r.fail(r.fields[0].start, "a row of names needs three columns x, y, z; a grid's first row holds its x nodes")
	case texts == n:
		if err := r.pointNames(); err != nil {
			return nil, err
		}
		if err := r.next(); err != nil {
			if errors.Is(err, io.EOF) {
				return nil, r.fail(0, "no data after the row of names")
			}
			return nil, err
		}
		return r.points()
	case !firstIsNumber:
		return r.grid(1)
	case r.sep == ' ' && numbers == n:
		return r.cornerless()
	case n == 3:
		return r.points()
	}
	return nil, r.fail(r.fields[0].start, fmt.Sprintf(
		"cannot tell the form: a grid's first row begins with a blank field or text, points have three numbers in a row, this row has %d", n))
}

// cornerless decides for fields separated by blanks, where a grid's blank
// corner cannot be seen: its rows are then longer by one than the first.
func (r *lineReader) cornerless() (*Surface, error) {
	first := *r
	first.line = bytes.Clone(r.line)
	first.fields = append([]field(nil), r.fields...)
	err := r.next()
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	n := len(first.fields)
	second := *r
	asRead := second.fields
	switch {
	case err == nil && len(asRead) == n+1:
		r.line, r.fields, r.number = first.line, first.fields, first.number
		nodes, nodeErr := r.nodes(0)
		if nodeErr != nil {
			return nil, nodeErr
		}
		r.line, r.fields, r.number = second.line, asRead, second.number
		return r.gridRows(nodes)
	case n == 3:
		p := &pointList{}
		if err := p.add(&first); err != nil {
			return nil, err
		}
		if err == nil {
			if err := p.add(r); err != nil {
				return nil, err
			}
		}
		return r.morePoints(p)
	}
	return nil, first.fail(first.fields[0].start, fmt.Sprintf(
		"cannot tell the form: a grid's first row begins with a blank field or text, points have three numbers in a row, this row has %d", n))
}

// pointNames checks a row of names: columns named in another order than
// x, y, z are refused rather than read wrongly.
func (r *lineReader) pointNames() error {
	var first [3]string
	for k := range first {
		first[k] = strings.ToLower(string(r.text(k)[:1]))
	}
	got := strings.Join(first[:], "")
	if got != "xyz" && len(got) == 3 && strings.ContainsRune(got, 'x') && strings.ContainsRune(got, 'y') && strings.ContainsRune(got, 'z') {
		return r.fail(r.fields[0].start, "columns must be x, y, z in this order")
	}
	return nil
}
