package surface

import "fmt"

// SyntaxError tells of a file that is not a surface: what is wrong, and
// where. Line and Col count from 1, Col in bytes; Source is the line
// itself, cut to its first 1024 bytes, or empty where it was not kept (a
// point that contradicts an earlier one).
type SyntaxError struct {
	File      string
	Line, Col int
	What      string
	Source    string
}

// Error returns FILE:LINE:COL: what.
func (e *SyntaxError) Error() string { return located(e.File, e.Line, e.Col, e.What) }

// UnsupportedError tells of a surface that is valid but asks for something
// that this package does not do. Its fields are those of SyntaxError; Line
// is 0 when the wish did not come from a line of the file.
type UnsupportedError struct {
	File      string
	Line, Col int
	What      string
	Source    string
}

// Error returns FILE:LINE:COL: what, as far as they are known.
func (e *UnsupportedError) Error() string { return located(e.File, e.Line, e.Col, e.What) }

func located(file string, line, col int, what string) string {
	switch {
	case line > 0:
		return fmt.Sprintf("%s:%d:%d: %s", file, line, col, what)
	case file != "":
		return file + ": " + what
	}
	return what
}

// DatumError tells that heights cannot be counted from the datum: none was
// given where one is needed, or it lies off the surface or in a hole.
type DatumError struct {
	What string
}

// Error returns What.
func (e *DatumError) Error() string { return e.What }

// PlacementError tells of a placement that cannot be: a shift or rotation
// that is no number, or a method that does not exist.
type PlacementError struct {
	What string
}

// Error returns What.
func (e *PlacementError) Error() string { return e.What }

// ScatteredError tells of points that are on no grid, and holds them: mm, up
// positive, in the order of the file, NaN for a missing height. It unwraps to
// an *UnsupportedError.
type ScatteredError struct {
	X, Y, Z []float64
	Line    []int
	Header  Header
	Digest  string

	unsupported *UnsupportedError
}

// Error returns FILE:LINE:COL: what.
func (e *ScatteredError) Error() string { return e.unsupported.Error() }

// Unwrap returns the *UnsupportedError.
func (e *ScatteredError) Unwrap() error { return e.unsupported }
