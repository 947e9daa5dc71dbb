package surface

import "sagitta/internal/diag"

// ScatteredError tells of points that are on no grid, and holds them: mm, up
// positive, in the order of the file, NaN for a missing height. It unwraps to
// a *diag.Error.
type ScatteredError struct {
	X, Y, Z []float64
	Line    []int
	Header  Header
	Digest  string

	unsupported *diag.Error
}

// Error returns FILE:LINE:COL: what.
func (e *ScatteredError) Error() string { return e.unsupported.Error() }

// Unwrap returns the *diag.Error.
func (e *ScatteredError) Unwrap() error { return e.unsupported }
