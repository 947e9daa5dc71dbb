package surface

import (
	"cmp"
	"fmt"
	"math"

	"sagitta/internal/diag"
)

// Placement says how a surface lies in the program's coordinates. The zero
// value lays it down as it is.
type Placement struct {
	// Program XY = R(RotateDeg) * surface XY + (ShiftX, ShiftY), R turning
	// counter-clockwise about the surface's origin; mm and degrees.
	ShiftX, ShiftY, RotateDeg float64
	// Datum is the point that heights count from, in program XY. Nil means
	// the surface's own datum (which is in its own coordinates), or its
	// zero when it has none.
	Datum *[2]float64
	// Raw counts heights from the surface's zero, whatever its datum and
	// however far from zero they are: for code that looks at the surface
	// itself.
	Raw bool
	// Method is how heights are read between nodes, "" what the surface
	// says itself, or else "bilinear".
	Method string
}

// Heights all beyond farHeightMM from zero and beyond farRanges times their
// own range were measured from some other plane, such as the machine's zero:
// without a datum they would move the focus by that much at once.
const (
	farHeightMM = 5
	farRanges   = 3
)

// Placed is a surface laid down in the program's coordinates, with a method
// and a datum. It does not change and may be shared between goroutines.
type Placed struct {
	s      *Surface
	x, y   axis
	z      []float64 // of s
	nx     int       // nodes in a row
	cx     int       // cells in a row
	cos    float64
	sin    float64
	shiftX float64
	shiftY float64
	rotate float64 // radians
	off    float64 // height of the datum over the surface's zero
	turn   float64 // mm after which the surface repeats; 0 = it does not

	hold  []float64   // height held over each hole cell; nil without holes
	cubic []hermite   // at each node; nil when bilinear
	bound []cellBound // of each cell; nil when bilinear
	steep []float32   // bound of the gradient's magnitude over each cell, 0 for a hole
	slope float64     // the same over all of them

	less *lessOf // see Narrowed; nil where no heights are less sure than others

	low, high     float64 // over the surface's zero
	lowAt, highAt [2]float64
}

// Place lays s down as p says. The error is a *diag.Error: a setting for
// a placement that cannot be and where heights cannot be counted from the
// datum, unsupported for a method that needs a fit, malformed for a surface that
// repeats but does not go round.
func Place(s *Surface, p Placement) (*Placed, error) {
	for _, v := range []float64{p.ShiftX, p.ShiftY, p.RotateDeg} {
		if !(math.Abs(v) <= MaxCoordMM) {
			return nil, diag.Errorf(diag.Setting, "", "shift or rotation %v is not a number within %g of zero", v, MaxCoordMM)
		}
	}
	method, err := chooseMethod(s, p.Method)
	if err != nil {
		return nil, err
	}
	if s, err = s.unrolled(); err != nil {
		return nil, err
	}
	q := &Placed{
		s: s, x: newAxis(s.x), y: newAxis(s.y), z: s.z, nx: len(s.x), cx: len(s.x) - 1,
		shiftX: p.ShiftX, shiftY: p.ShiftY, rotate: p.RotateDeg * (math.Pi / 180), turn: s.header.WrapsYMM,
	}
	q.sin, q.cos = sincosDeg(p.RotateDeg)
	if s.Missing() > 0 {
		if method == "bicubic" {
			return nil, s.unsupported("method", fmt.Sprintf(
				"bicubic needs every height, %d are missing; use the method bilinear", s.Missing()))
		}
		q.hold = holdHeights(q)
	}
	if method == "bicubic" {
		q.cubic = newHermite(s.x, s.y, s.z)
	}
	q.measure()
	if p.Raw {
		return q, nil
	}
	return q, q.setDatum(p.Datum)
}

func chooseMethod(s *Surface, option string) (string, error) {
	method := cmp.Or(option, s.header.Method, "bilinear")
	switch {
	case method == "bilinear" || method == "bicubic":
		return method, nil
	case !KnownMethod(method):
		return "", diag.Errorf(diag.Setting, "", "method %q does not exist; use %s", method, Methods)
	}
	what := fmt.Sprintf("method %s is not supported without a fit; use bilinear or bicubic", method)
	if option != "" {
		return "", diag.Errorf(diag.Setting, "", "%s", what)
	}
	return "", s.unsupported("method", what)
}

// unsupported points at a header line, where the file has it.
func (s *Surface) unsupported(key, what string) error {
	at, ok := s.source.Where[key]
	if !ok { // an option asks for it, not the file
		return &diag.Error{Kind: diag.Setting, Place: diag.Place{File: s.source.Name}, What: what}
	}
	return &diag.Error{Kind: diag.Unsupported, Place: at, What: what}
}

// setDatum finds the height that heights count from.
func (p *Placed) setDatum(option *[2]float64) error {
	var at [2]float64 // program XY
	switch d := p.s.header.Datum; {
	case option != nil:
		at = *option
		if !(math.Abs(at[0]) <= MaxCoordMM && math.Abs(at[1]) <= MaxCoordMM) {
			return diag.Errorf(diag.Setting, "", "datum %v,%v is not within %g mm of zero", at[0], at[1], MaxCoordMM)
		}
	case d != nil:
		at[0], at[1] = p.Program(d[0], d[1])
	default:
		least := math.Min(math.Abs(p.low), math.Abs(p.high))
		if p.low <= 0 && p.high >= 0 {
			least = 0
		}
		if least > farHeightMM && least > farRanges*(p.high-p.low) {
			return diag.Errorf(diag.Setting, "",
				"heights lie between %.4g and %.4g mm, all far from zero; say where they count from with a datum", p.low, p.high)
		}
		return nil
	}
	h, where := p.At(at[0], at[1])
	switch where {
	case Outside:
		return diag.Errorf(diag.Setting, "", "datum %v,%v is off the surface; choose a point on it", at[0], at[1])
	case Hole:
		return diag.Errorf(diag.Setting, "", "datum %v,%v is in a hole of the surface; choose a point with measured heights around it", at[0], at[1])
	}
	p.off = h
	return nil
}

// sincosDeg is exact at multiples of a quarter turn.
func sincosDeg(deg float64) (sin, cos float64) {
	deg = math.Mod(deg, 360)
	if turns := deg / 90; turns == math.Trunc(turns) {
		quarter := [4]float64{0, 1, 0, -1}
		k := int(turns) + 4
		return quarter[k%4], quarter[(k+1)%4]
	}
	return math.Sincos(deg * (math.Pi / 180))
}

// Local returns the place of program XY in the surface's own coordinates.
func (p *Placed) Local(x, y float64) (float64, float64) {
	x -= p.shiftX
	y -= p.shiftY
	return p.cos*x + p.sin*y, p.cos*y - p.sin*x
}

// Program returns the program XY of a place on the surface.
func (p *Placed) Program(x, y float64) (float64, float64) {
	return p.cos*x - p.sin*y + p.shiftX, p.sin*x + p.cos*y + p.shiftY
}

// Surface returns what was placed; one that repeats, laid out to many turns.
func (p *Placed) Surface() *Surface { return p.s }

// Method returns how heights are read between nodes: bilinear or bicubic.
func (p *Placed) Method() string {
	if p.cubic != nil {
		return "bicubic"
	}
	return "bilinear"
}

// Narrowed returns the same with heights less sure in some places than where they are
// surest: of tells by how much, in mm, for a standard uncertainty of a height, 0 for the
// least of them. Within a cell the greatest of its four counts. Pieces then carry it.
func (p *Placed) Narrowed(of func(errorMM float64) float64) *Placed {
	q := *p
	q.less = newLess(p.s, of)
	return &q
}

// MostLess returns how much less sure than elsewhere heights are where they are least
// sure, in mm.
func (p *Placed) MostLess() float64 {
	if p.less == nil {
		return 0
	}
	return float64(p.less.most)
}

// Lowered returns the same with all heights lower by so many mm, as if they
// counted from a datum that much higher.
func (p *Placed) Lowered(by float64) *Placed {
	q := *p
	q.off += by
	return &q
}

// Bounds returns the corners of the surface in program XY,
// counter-clockwise from the one at the first nodes.
func (p *Placed) Bounds() [4][2]float64 {
	x0, x1, y0, y1 := p.x.start, p.x.end, p.y.start, p.y.end
	var b [4][2]float64
	for k, c := range [4][2]float64{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}} {
		b[k][0], b[k][1] = p.Program(c[0], c[1])
	}
	return b
}

// MaxSlope returns a bound of the gradient's magnitude over all cells.
func (p *Placed) MaxSlope() float64 { return p.slope }

// Allowance returns what rounding may add to a certified bound, mm: a
// height is good to 1e-9 mm (see MaxHeightMM), and a place to
// PlaceToleranceMM, which the slope turns into height. It holds within
// MaxCoordMM of the origin. At the border of a hole, where the height jumps,
// a place within PlaceToleranceMM of the border may have the height of
// either side.
func (p *Placed) Allowance() float64 {
	return 1e-9 + p.slope*PlaceToleranceMM
}
