package surface

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"sync"

	"sagitta/internal/diag"
)

// Header is what a surface's file says besides its heights. The zero value
// says nothing.
type Header struct {
	Method   string  // how heights are read between nodes; "" = not said
	ErrorMM  float64 // standard uncertainty of the heights
	NoiseMM  float64 // standard deviation of their scatter
	WrapsYMM float64 // y distance after which the surface repeats; 0 = it does not

	// Shift and RotateDeg are where the surface lies unless something else
	// is said, as in Placement; nil = not said.
	Shift     *[2]float64
	RotateDeg float64

	// Datum is the point that heights count from, in the surface's own
	// coordinates (not the program's), nil = the surface's zero.
	Datum *[2]float64
}

// Surface is a grid of heights in its own coordinates. It does not change
// once made and may be shared between goroutines.
type Surface struct {
	name   string
	x, y   []float64 // ascending, at least two each
	z      []float64 // row after row: z[j*len(x)+i]; NaN = missing
	header Header
	where  map[string]diag.Place // of header lines, by key
	rows   []int                 // lines of the file that rows of a grid were read from, by index of y

	once   sync.Once
	digest string
}

// New makes a surface from nodes x and y, ascending, and the heights
// z[j*len(x)+i] at x[i], y[j], NaN where missing; all in mm. It copies them.
func New(x, y, z []float64) (*Surface, error) {
	for _, a := range []struct {
		name string
		node []float64
	}{{"x", x}, {"y", y}} {
		if len(a.node) < 2 {
			return nil, fmt.Errorf("a surface needs at least two %s nodes", a.name)
		}
		for i, v := range a.node {
			if !(math.Abs(v) <= maxCoordMM) {
				return nil, fmt.Errorf("%s node %v is not within %v mm of zero", a.name, v, maxCoordMM)
			}
			if i > 0 && !(v-a.node[i-1] >= minSpacingMM) {
				return nil, fmt.Errorf("%s nodes %v and %v do not ascend by %v mm", a.name, a.node[i-1], v, minSpacingMM)
			}
		}
	}
	if len(z) != len(x)*len(y) {
		return nil, fmt.Errorf("%d heights for %d x %d nodes", len(z), len(x), len(y))
	}
	some := false
	for _, h := range z {
		if math.Abs(h) > maxHeightMM { // false for NaN
			return nil, fmt.Errorf("height %v is not within %v mm of zero", h, maxHeightMM)
		}
		some = some || h == h
	}
	if !some {
		return nil, fmt.Errorf("every height is missing")
	}
	return &Surface{x: slices.Clone(x), y: slices.Clone(y), z: slices.Clone(z)}, nil
}

// WithHeader returns the same heights under another header.
func (s *Surface) WithHeader(h Header) (*Surface, error) {
	if h.Method != "" && !knownMethod(h.Method) {
		return nil, fmt.Errorf("method %q does not exist; use %s", h.Method, methodList)
	}
	for _, v := range []float64{h.ErrorMM, h.NoiseMM, h.WrapsYMM} {
		if !(v >= 0 && v <= maxCoordMM) {
			return nil, fmt.Errorf("%v in a header is not a length from 0 to %v mm", v, maxCoordMM)
		}
	}
	if h.Datum != nil {
		d := *h.Datum
		if !(math.Abs(d[0]) <= maxCoordMM && math.Abs(d[1]) <= maxCoordMM) {
			return nil, fmt.Errorf("datum %v,%v is not within %v mm of zero", d[0], d[1], maxCoordMM)
		}
		h.Datum = &d
	}
	if h.Shift != nil {
		d := *h.Shift
		if !(math.Abs(d[0]) <= maxCoordMM && math.Abs(d[1]) <= maxCoordMM) {
			return nil, fmt.Errorf("shift %v,%v is not within %v mm of zero", d[0], d[1], maxCoordMM)
		}
		h.Shift = &d
	}
	if !(math.Abs(h.RotateDeg) <= 360) {
		return nil, fmt.Errorf("rotation by %v degrees is no angle", h.RotateDeg)
	}
	return &Surface{name: s.name, x: s.x, y: s.y, z: s.z, header: h}, nil
}

// X returns the x nodes, ascending, mm. The caller must not change them.
func (s *Surface) X() []float64 { return s.x }

// Y returns the y nodes, ascending, mm. The caller must not change them.
func (s *Surface) Y() []float64 { return s.y }

// Height returns the height in mm at X()[i], Y()[j], NaN where missing.
func (s *Surface) Height(i, j int) float64 { return s.z[j*len(s.x)+i] }

// Header returns what the file said besides the heights.
func (s *Surface) Header() Header {
	h := s.header
	if h.Datum != nil {
		d := *h.Datum
		h.Datum = &d
	}
	if h.Shift != nil {
		d := *h.Shift
		h.Shift = &d
	}
	return h
}

// Placement returns where the header says the surface lies.
func (h *Header) Placement() Placement {
	p := Placement{RotateDeg: h.RotateDeg}
	if h.Shift != nil {
		p.ShiftX, p.ShiftY = h.Shift[0], h.Shift[1]
	}
	return p
}

// Name returns the name of the file, "" for a surface made in code.
func (s *Surface) Name() string { return s.name }

// IsGrid tells a surface that was read in the grid form from one that was
// read as points or made in code.
func (s *Surface) IsGrid() bool { return s.rows != nil }

// RowLine returns the line of the file that holds the heights at Y()[j], 0
// where there is none (see IsGrid).
func (s *Surface) RowLine(j int) int {
	if s.rows == nil {
		return 0
	}
	return s.rows[j]
}

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

// Digest returns the SHA-256 of the bytes that the surface was read from,
// in hexadecimal; of what WriteGrid writes for one made in code.
func (s *Surface) Digest() string {
	s.once.Do(func() {
		if s.digest != "" {
			return
		}
		var b bytes.Buffer
		s.WriteGrid(&b) // a bytes.Buffer does not fail
		sum := sha256.Sum256(b.Bytes())
		s.digest = hex.EncodeToString(sum[:])
	})
	return s.digest
}

const methodList = "bilinear, bicubic, smooth, plane, cylinder, cone, sphere or auto"

func knownMethod(m string) bool {
	switch m {
	case "bilinear", "bicubic", "smooth", "plane", "cylinder", "cone", "sphere", "auto":
		return true
	}
	return false
}
