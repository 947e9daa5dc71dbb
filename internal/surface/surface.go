package surface

import (
	"fmt"
	"math"
	"slices"

	"sagitta/internal/diag"
)

// Header is what a surface's file says besides its heights. The zero value
// says nothing.
type Header struct {
	Method  string  // how heights are read between nodes; "" = not said
	ErrorMM float64 // standard uncertainty of a height, the least of ErrorAt
	// ErrorSaid is that ErrorMM is known, 0 included: 0 says that heights are exact.
	ErrorSaid bool
	NoiseMM   float64 // standard deviation of their scatter
	WrapsYMM  float64 // y distance after which the surface repeats; 0 = it does not

	// Shift and RotateDeg are where the surface lies unless something else
	// is said, as in Placement; nil = not said.
	Shift     *[2]float64
	RotateDeg float64

	// Datum is the point that heights count from, in the surface's own
	// coordinates (not the program's), nil = the surface's zero.
	Datum *[2]float64

	// MadeOf is the digest of the file that these heights were made of, as "sha256:" and
	// hexadecimal; "" = not said.
	MadeOf string
}

// Surface is a grid of heights in its own coordinates. It does not change
// once made and may be shared between goroutines.
type Surface struct {
	x, y   []float64 // ascending, at least two each
	z      []float64 // row after row: z[j*len(x)+i]; NaN = missing
	errors []float64 // standard uncertainty of each height; nil = that of the header
	header Header
	source Source
}

// Source is the file that a surface was read from; the zero value is none.
type Source struct {
	Name string
	// Digest is the SHA-256 of its bytes, in hexadecimal.
	Digest string
	// Where are the places of header lines, by their keys.
	Where map[string]diag.Place
	// Rows are the lines that the rows of a grid stand in, in the order of Y;
	// nil where the file is no grid.
	Rows []int
}

// New makes a surface from nodes x and y, ascending, and the heights
// z[j*len(x)+i] at x[i], y[j], NaN where missing; all in mm. The caller must not
// change them any more.
func New(x, y, z []float64) (*Surface, error) {
	for _, a := range []struct {
		name string
		node []float64
	}{{"x", x}, {"y", y}} {
		if len(a.node) < 2 {
			return nil, fmt.Errorf("a surface needs at least two %s nodes", a.name)
		}
		for i, v := range a.node {
			if !(math.Abs(v) <= MaxCoordMM) {
				return nil, fmt.Errorf("%s node %v is not within %v mm of zero", a.name, v, MaxCoordMM)
			}
			if i > 0 && !(v-a.node[i-1] >= MinSpacingMM) {
				return nil, fmt.Errorf("%s nodes %v and %v do not ascend by %v mm", a.name, a.node[i-1], v, MinSpacingMM)
			}
		}
	}
	if len(z) != len(x)*len(y) {
		return nil, fmt.Errorf("%d heights for %d x %d nodes", len(z), len(x), len(y))
	}
	for _, h := range z {
		if math.Abs(h) > MaxHeightMM { // false for NaN
			return nil, fmt.Errorf("height %v is not within %v mm of zero", h, MaxHeightMM)
		}
	}
	s := &Surface{x: x, y: y, z: z}
	if s.Missing() == len(z) {
		return nil, fmt.Errorf("every height is missing")
	}
	return s, nil
}

// WithHeader returns the same heights under another header, what whose pointers
// lead to must not be changed any more. Where heights have an uncertainty each, its
// ErrorMM is the least that any of them may have.
func (s *Surface) WithHeader(h Header) (*Surface, error) {
	if h.Method != "" && !KnownMethod(h.Method) {
		return nil, fmt.Errorf("method %q does not exist; use %s", h.Method, Methods)
	}
	for _, v := range []float64{h.ErrorMM, h.NoiseMM, h.WrapsYMM} {
		if !(v >= 0 && v <= MaxCoordMM) {
			return nil, fmt.Errorf("%v in a header is not a length from 0 to %v mm", v, MaxCoordMM)
		}
	}
	for _, c := range []struct {
		name string
		at   *[2]float64
	}{{"datum", h.Datum}, {"shift", h.Shift}} {
		if c.at != nil && !(math.Abs(c.at[0]) <= MaxCoordMM && math.Abs(c.at[1]) <= MaxCoordMM) {
			return nil, fmt.Errorf("%s %v,%v is not within %v mm of zero", c.name, c.at[0], c.at[1], MaxCoordMM)
		}
	}
	if !(math.Abs(h.RotateDeg) <= 360) {
		return nil, fmt.Errorf("rotation by %v degrees is no angle", h.RotateDeg)
	}
	made := *s
	made.header, made.source = h, Source{Name: s.source.Name}
	if s.errors == nil {
		return &made, nil
	}
	floored := slices.Clone(s.errors)
	for k, e := range floored {
		floored[k] = max(e, h.ErrorMM) // NaN stays: there is no height
	}
	return made.WithErrors(floored)
}

// WithErrors returns the same heights with a standard uncertainty of each, in mm, in
// the order of New; within a cell the greatest of its four counts, and that of a missing
// height nowhere. The header's is the least of them from then on.
func (s *Surface) WithErrors(mm []float64) (*Surface, error) {
	if len(mm) != len(s.z) {
		return nil, fmt.Errorf("%d errors for %d heights", len(mm), len(s.z))
	}
	made := *s
	made.errors = slices.Clone(mm)
	for k, v := range mm {
		switch {
		case s.z[k] != s.z[k]:
			made.errors[k] = math.NaN()
		case !(v >= 0 && v <= MaxCoordMM):
			return nil, fmt.Errorf("error %v is not a length from 0 to %v mm", v, MaxCoordMM)
		}
	}
	made.header.ErrorMM, _ = made.Errors()
	made.header.ErrorSaid = true
	return &made, nil
}

// Errors returns the least and the greatest standard uncertainty of a height, in mm.
func (s *Surface) Errors() (least, greatest float64) {
	if s.errors == nil {
		return s.header.ErrorMM, s.header.ErrorMM
	}
	least = math.Inf(1)
	for _, e := range s.errors {
		if e == e {
			least, greatest = min(least, e), max(greatest, e)
		}
	}
	return least, greatest
}

// WithError returns the same heights with one standard uncertainty of all, in mm; 0 says
// that they are exact.
func (s *Surface) WithError(mm float64) *Surface {
	made := *s
	made.errors = nil
	made.header.ErrorMM, made.header.ErrorSaid = mm, true
	return &made
}

// X returns the x nodes, ascending, mm. The caller must not change them.
func (s *Surface) X() []float64 { return s.x }

// Y returns the y nodes, ascending, mm. The caller must not change them.
func (s *Surface) Y() []float64 { return s.y }

// Height returns the height in mm at X()[i], Y()[j], NaN where missing.
func (s *Surface) Height(i, j int) float64 { return s.z[j*len(s.x)+i] }

// ErrorAt returns the standard uncertainty of the height at X()[i], Y()[j] in mm: of one
// that is missing NaN, where heights have one each.
func (s *Surface) ErrorAt(i, j int) float64 {
	if s.errors == nil {
		return s.header.ErrorMM
	}
	return s.errors[j*len(s.x)+i]
}

// ErrorsVary reports whether heights have an uncertainty each.
func (s *Surface) ErrorsVary() bool { return s.errors != nil }

// Header returns what the file said besides the heights. What its pointers lead to
// must not be changed.
func (s *Surface) Header() Header { return s.header }

// Placement returns where the header says the surface lies.
func (h *Header) Placement() Placement {
	p := Placement{RotateDeg: h.RotateDeg}
	if h.Shift != nil {
		p.ShiftX, p.ShiftY = h.Shift[0], h.Shift[1]
	}
	return p
}

// WithSource returns the same heights as those of a file.
func (s *Surface) WithSource(from Source) *Surface {
	made := *s
	made.source = from
	return &made
}

// Source returns the file that the surface was read from; its Name is "" for a
// surface made in code.
func (s *Surface) Source() Source { return s.source }

// Missing counts the nodes without a height.
func (s *Surface) Missing() int {
	n := 0
	for _, h := range s.z {
		if h != h {
			n++
		}
	}
	return n
}

// Methods are the names of the methods, for people.
const Methods = "bilinear, bicubic, smooth, plane, cylinder, cone, sphere or auto"

// KnownMethod reports whether a method exists.
func KnownMethod(m string) bool {
	return slices.Contains([]string{"bilinear", "bicubic", "smooth", "plane", "cylinder", "cone", "sphere", "auto"}, m)
}
