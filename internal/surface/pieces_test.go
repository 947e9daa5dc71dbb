package surface

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

var (
	tolerances = []float64{0.005, 0.05, 1e-4, 10}
	laterals   = []float64{0, 0, 5e-4, 0.3}
)

func TestAppendLineCertified(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlaced(t)
		x0, y0 := drawPoint(t, p, "from")
		x1, y1 := drawPoint(t, p, "to")
		switch rapid.IntRange(0, 5).Draw(t, "move") {
		case 0:
			x1, y1 = x0, y0
		case 1: // a micrometre
			x1, y1 = x0+rapid.SampledFrom([]float64{0, 1e-3, -1e-3}).Draw(t, "dx"), y0+rapid.SampledFrom([]float64{0, 1e-3, -1e-3}).Draw(t, "dy")
		case 2: // along one axis of the surface
			a, b := p.Local(x0, y0)
			c, d := p.Local(x1, y1)
			if rapid.Bool().Draw(t, "along x") {
				d = b
			} else {
				c = a
			}
			x0, y0 = p.Program(a, b)
			x1, y1 = p.Program(c, d)
		}
		tol := rapid.SampledFrom(tolerances).Draw(t, "tol")
		lateral := rapid.SampledFrom(laterals).Draw(t, "lateral")
		pieces := p.AppendLine(nil, x0, y0, x1, y1, tol, lateral)
		if err := checkPieces(p, pieces, linePath(x0, y0, x1, y1), tol, lateral, false); err != nil {
			t.Fatal(err)
		}
	})
}

func TestAppendArcCertified(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlaced(t)
		cx, cy := drawPoint(t, p, "centre")
		qx, qy := drawPoint(t, p, "through")
		r0 := math.Hypot(qx-cx, qy-cy)
		a0 := math.Atan2(qy-cy, qx-cx)
		if rapid.Bool().Draw(t, "small") {
			r0 = rapid.SampledFrom([]float64{0, 1e-3, 1, 25}).Draw(t, "radius")
		}
		if rapid.IntRange(0, 2).Draw(t, "quadrant") == 0 {
			a0 = float64(rapid.IntRange(-4, 4).Draw(t, "quarter")) * math.Pi / 2
		}
		r1 := r0
		switch rapid.IntRange(0, 3).Draw(t, "spiral") {
		case 0:
			r1 += rapid.SampledFrom([]float64{0.002, -0.002, 1e-9}).Draw(t, "mismatch")
		case 1:
			r1 *= rapid.Float64Range(-0.5, 2).Draw(t, "ratio")
		}
		sweep := rapid.SampledFrom([]float64{2 * math.Pi, -2 * math.Pi, math.Pi / 2, -math.Pi, 1e-6, 0, 0.3, -2, 14}).Draw(t, "sweep")
		tol := rapid.SampledFrom(tolerances).Draw(t, "tol")
		lateral := rapid.SampledFrom(laterals).Draw(t, "lateral")
		pieces := p.AppendArc(nil, cx, cy, r0, r1, a0, sweep, tol, lateral)
		if err := checkPieces(p, pieces, arcPath(cx, cy, r0, r1, a0, sweep), tol, lateral, true); err != nil {
			t.Fatal(err)
		}
	})
}

// A point is the shortest move: it must say what At says.
func TestPointIsAt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlaced(t)
		x, y := drawPoint(t, p, "point")
		h, w := p.At(x, y)
		for _, pieces := range [][]Piece{p.AppendLine(nil, x, y, x, y, 0.01, 0), p.AppendArc(nil, x, y, 0, 0, 0, 1, 0.01, 0)} {
			for _, c := range pieces {
				if c.Where != w || math.Abs(c.H0-h) > p.Allowance() || c.H0 != c.H1 {
					t.Fatalf("At: %v %d, pieces %+v", h, w, pieces)
				}
			}
		}
	})
}

// On one side only, and no more than needed: the bound of a bilinear cell is
// met in the middle of the piece.
func TestBilinearBoundIsExact(t *testing.T) {
	for _, twist := range []float64{1, -1} {
		s, err := New([]float64{0, 10}, []float64{0, 20}, []float64{0, 1, 2, 3 + twist})
		if err != nil {
			t.Fatal(err)
		}
		p := mustPlace(t, s, Placement{})
		pieces := p.AppendLine(nil, 0, 0, 10, 20, 1, 0)
		if len(pieces) != 1 {
			t.Fatalf("%d pieces", len(pieces))
		}
		c := pieces[0]
		mid, _ := p.At(5, 10)
		dev := mid - (c.H0+c.H1)/2
		if math.Abs(dev-(c.Up-c.Down)) > 1e-12 || c.Up > 0 && c.Down > 0 {
			t.Errorf("twist %v: off the chord by %v, piece %+v", twist, dev, c)
		}
	}
}

// The same of a bicubic cell, whose quick bound must see the twist too.
func TestBicubicTwistIsBounded(t *testing.T) {
	s, err := New([]float64{0, 10}, []float64{0, 10}, []float64{0, 0, 0, 1})
	if err != nil {
		t.Fatal(err)
	}
	p := mustPlace(t, s, Placement{Method: "bicubic"})
	for _, tol := range []float64{10, 0.1, 0.001} {
		pieces := p.AppendLine(nil, 0, 0, 10, 10, tol, 0)
		if err := checkPieces(p, pieces, linePath(0, 0, 10, 10), tol, 0, false); err != nil {
			t.Error(err)
		}
	}
}

// A diagonal goes through nodes, from cell to cell, without splinters where
// rounding tears its two crossings apart.
func TestThroughNodes(t *testing.T) {
	s := bumpy(t, 31)
	for _, rotate := range []float64{0, 10, 45, 77.7} {
		p := mustPlace(t, s, Placement{RotateDeg: rotate, ShiftX: 0.1, ShiftY: -2.3})
		for _, m := range [][4]float64{{0, 0, 30, 30}, {30, 0, 0, 30}, {30, 30, 0, 0}, {0, 0, 30, 15}} {
			x0, y0 := p.Program(m[0], m[1])
			x1, y1 := p.Program(m[2], m[3])
			if n := len(p.AppendLine(nil, x0, y0, x1, y1, 1, 0)); n != 30 {
				t.Errorf("turned by %v, move %v: %d pieces", rotate, m, n)
			}
		}
	}
}

// Bounds of a bicubic piece that was cut to the tolerance stay near what the
// heights do: loose bounds would cost the focus window.
func TestBicubicBoundIsNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var x, z []float64
		for i := range 7 {
			x = append(x, 8*float64(i))
		}
		for range 49 {
			z = append(z, rapid.Float64Range(-1, 1).Draw(t, "z"))
		}
		s, err := New(x, x, z)
		if err != nil {
			t.Fatal(err)
		}
		p, err := Place(s, Placement{Method: "bicubic"})
		if err != nil {
			t.Fatal(err)
		}
		at := linePath(rapid.Float64Range(0, 48).Draw(t, "x0"), 1, rapid.Float64Range(0, 48).Draw(t, "x1"), 47)
		x0, y0 := at(0)
		x1, y1 := at(1)
		const tol = 0.2
		for _, c := range p.AppendLine(nil, x0, y0, x1, y1, tol, 0) {
			var up, down float64
			for k := range 101 {
				f := float64(k) / 100
				h, _ := p.At(at(c.S0 + f*(c.S1-c.S0)))
				d := h - lerp(c.H0, c.H1, f)
				up, down = max(up, d), max(down, -d)
			}
			if c.Up > 1.6*up+quickPart*tol || c.Down > 1.6*down+quickPart*tol {
				t.Fatalf("heights leave the chord by +%v -%v, %+v", up, down, c)
			}
		}
	})
}

// Sagitta of a circular bow, s = R - sqrt(R^2 - c^2/4). Source: plane
// geometry.
func TestSagittaOfBow(t *testing.T) {
	for _, c := range []struct{ r, chord, sagitta float64 }{
		{100, 50, 3.175416345},
		{500, 300, 23.030399292},
	} {
		const n = 2000
		var x, z []float64
		for i := range n + 1 {
			v := c.chord * (float64(i)/n - 0.5)
			x = append(x, v)
			z = append(z, math.Sqrt(c.r*c.r-v*v)-c.r)
		}
		s, err := New(x, []float64{-5, 5}, append(z, z...))
		if err != nil {
			t.Fatal(err)
		}
		for _, method := range []string{"bilinear", "bicubic"} {
			// 37 degrees: the bow must not depend on how it lies.
			p := mustPlace(t, s, Placement{Method: method, RotateDeg: 37, Datum: &[2]float64{0, 0}})
			x0, y0 := p.Program(-c.chord/2, -5)
			x1, y1 := p.Program(c.chord/2, 5)
			pieces := p.AppendLine(nil, x0, y0, x1, y1, 1e-6, 0)
			high := math.Inf(-1)
			for _, q := range pieces {
				high = max(high, q.H0+q.Up, q.H1+q.Up)
			}
			got := high - (pieces[0].H0+pieces[len(pieces)-1].H1)/2
			if math.Abs(got-c.sagitta) > 1e-6 {
				t.Errorf("%s R %v c %v: sagitta %.9f, want %.9f", method, c.r, c.chord, got, c.sagitta)
			}
			lo, hi, _, hiAt := p.Range()
			if math.Abs(hi-lo-c.sagitta) > rangeSlackMM {
				t.Errorf("%s: range %v to %v", method, lo, hi)
			}
			if x, _ := p.Local(hiAt[0], hiAt[1]); math.Abs(x) > c.chord/n {
				t.Errorf("%s: highest at x %v", method, x)
			}
		}
	}
}

// Beyond a corner the height stays what it is there: an arc around it is bounded
// by little more, written places beside it included.
func TestArcBeyondACorner(t *testing.T) {
	s, err := New([]float64{0, 60, 120}, []float64{0, 60, 120}, []float64{0, 1, 0, 1, 2, 1, 0, 1, 3})
	if err != nil {
		t.Fatal(err)
	}
	p := mustPlace(t, s, Placement{})
	for _, lateral := range []float64{0, 1e-3} {
		for _, q := range p.AppendArc(nil, 150, 90, 130, 130, math.Pi, -math.Pi, 1e-4, lateral) {
			if q.Up+q.Down > 4e-4 {
				t.Errorf("lateral %g: %+v", lateral, q)
			}
		}
	}
}

// Flat stock must give heights that are zero to the last bit, wherever it
// lies and however it is read: a program over it is not to be touched.
func TestFlatIsExact(t *testing.T) {
	x := []float64{0, 3, 11, 12, 40, 77.7}
	z := make([]float64, len(x)*len(x))
	for k := range z {
		z[k] = 2.3
	}
	s, err := New(x, x, z)
	if err != nil {
		t.Fatal(err)
	}
	for _, method := range []string{"bilinear", "bicubic"} {
		p := mustPlace(t, s, Placement{Method: method, RotateDeg: 12.5, ShiftX: 9, Datum: &[2]float64{20, 20}})
		pieces := p.AppendLine(nil, -50, 3, 110, 60, 0.01, 0.001)
		pieces = p.AppendArc(pieces, 30, 30, 20, 20, 1, 5, 0.01, 0.001)
		for _, c := range pieces {
			if c.H0 != 0 || c.H1 != 0 || c.Up != 0 || c.Down != 0 {
				t.Fatalf("%s: %+v", method, c)
			}
		}
	}
}

// Input that is no place must neither panic nor hang, and still be covered.
func TestWildMoves(t *testing.T) {
	for _, method := range []string{"bilinear", "bicubic"} {
		p := mustPlace(t, bumpy(t, 5), Placement{Method: method, RotateDeg: 30})
		good := [7]float64{1, 2, 3, 2, 0.5, 3, 0.01}
		for k := range good {
			for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300, 1e12, 0} {
				a := good
				a[k] = v
				p.At(a[0], a[1])
				p.Grad(a[0], a[1])
				for _, pieces := range [][]Piece{
					p.AppendLine(nil, a[0], a[1], a[2], a[3], a[6], 0.1),
					p.AppendLine(nil, a[0], a[1], a[2], a[3], 0.01, a[4]),
					p.AppendArc(nil, a[0], a[1], a[2], a[3], a[4], a[5], a[6], 0.1),
				} {
					s := 0.0
					for _, c := range pieces {
						if c.S0 != s || !(c.S1 > s) || !(c.Up >= 0) || !(c.Down >= 0) || c.H0 != c.H0 || c.H1 != c.H1 {
							t.Fatalf("%v: %+v", a, c)
						}
						s = c.S1
					}
					if s != 1 {
						t.Fatalf("%v: pieces end at %v", a, s)
					}
				}
			}
		}
	}
}

func TestAppendDoesNotAllocate(t *testing.T) {
	for _, method := range []string{"bilinear", "bicubic"} {
		p := mustPlace(t, bumpy(t, 50), Placement{Method: method, RotateDeg: 20, ShiftX: 20})
		dst := make([]Piece, 0, 10000)
		if n := testing.AllocsPerRun(10, func() {
			p.AppendLine(dst, 1, 2, 45, 47, 0.001, 0.001)
			p.AppendArc(dst, 20, 20, 15, 15.001, 0, 6, 0.001, 0.001)
			p.At(30, 30)
		}); n != 0 {
			t.Errorf("%s: %v allocations", method, n)
		}
	}
}

func mustPlace(t testing.TB, s *Surface, at Placement) *Placed {
	t.Helper()
	p, err := Place(s, at)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// bumpy is a smooth surface with nodes 1 mm apart.
func bumpy(t testing.TB, n int) *Surface {
	t.Helper()
	var x, z []float64
	for i := range n {
		x = append(x, float64(i))
	}
	for j := range n {
		for i := range n {
			z = append(z, math.Sin(float64(i)/9)*math.Cos(float64(j)/7))
		}
	}
	s, err := New(x, x, z)
	if err != nil {
		t.Fatal(err)
	}
	return s
}
