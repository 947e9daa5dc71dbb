package surface

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Bilinear and not-a-knot bicubic heights at 40 points. Source: SciPy 1.10.1
// (RegularGridInterpolator and CubicSpline), in testdata/interp_queries.csv.
func TestAtAgainstSciPy(t *testing.T) {
	s := gridOf(t, Header{}, string(readTestdata(t, "interp_grid.csv")))
	lin := mustPlace(t, s, Placement{})
	cub := mustPlace(t, s, Placement{Method: "bicubic"})
	turned := mustPlace(t, s, Placement{Method: "bicubic", RotateDeg: 33, ShiftX: 5, ShiftY: -3})
	n := 0
	for _, line := range strings.Split(string(readTestdata(t, "interp_queries.csv")), "\n") {
		var x, y, bilinear, natural, bicubic float64
		if k, _ := fmt.Sscanf(line, "%g,%g,%g,%g,%g", &x, &y, &bilinear, &natural, &bicubic); k != 5 {
			continue
		}
		n++
		h, w := lin.At(x, y)
		if math.Abs(h-bilinear) > 1e-9 || w != On {
			t.Errorf("bilinear at %v,%v: %v %d, want %v", x, y, h, w, bilinear)
		}
		h, w = cub.At(x, y)
		if math.Abs(h-bicubic) > 1e-9 || w != On {
			t.Errorf("bicubic at %v,%v: %v %d, want %v", x, y, h, w, bicubic)
		}
		h, w = turned.At(turned.Program(x, y))
		if math.Abs(h-bicubic) > 1e-9 || w != On {
			t.Errorf("turned bicubic at %v,%v: %v %d, want %v", x, y, h, w, bicubic)
		}
	}
	if n != 40 {
		t.Fatalf("%d points", n)
	}
}

// A not-a-knot spline through four nodes or more gives any cubic back, one
// through three a parabola, one through two a line (the convention of
// SciPy's CubicSpline).
func TestBicubicReproducesPolynomials(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		node := func(name string) ([]float64, [4]float64) {
			v := rapid.Float64Range(-50, 50).Draw(t, name)
			x := []float64{v}
			for range rapid.IntRange(1, 7).Draw(t, name+" cells") {
				v += rapid.SampledFrom([]float64{1, 2, 3.5, 10}).Draw(t, "step")
				x = append(x, v)
			}
			var c [4]float64
			for k := range min(len(x), 4) {
				c[k] = rapid.Float64Range(-1, 1).Draw(t, "coefficient")
			}
			return x, c
		}
		x, cx := node("x")
		y, cy := node("y")
		f := func(v float64, c [4]float64, from float64) float64 {
			v = (v - from) / 10
			return c[0] + v*(c[1]+v*(c[2]+v*c[3]))
		}
		var z []float64
		for _, b := range y {
			for _, a := range x {
				z = append(z, f(a, cx, x[0])*f(b, cy, y[0]))
			}
		}
		s, err := New(x, y, z)
		if err != nil {
			t.Fatal(err)
		}
		p, err := Place(s, Placement{Method: "bicubic"})
		if err != nil {
			t.Fatal(err)
		}
		a := lerp(x[0], x[len(x)-1], rapid.Float64Range(0, 1).Draw(t, "u"))
		b := lerp(y[0], y[len(y)-1], rapid.Float64Range(0, 1).Draw(t, "v"))
		h, _ := p.At(a, b)
		want := f(a, cx, x[0]) * f(b, cy, y[0])
		if math.Abs(h-want) > 1e-8*(1+p.high-p.low) {
			t.Fatalf("at %v,%v: %v, want %v", a, b, h, want)
		}
		checkRange(t, p)
	})
}

// checkRange samples for heights beyond the range.
func checkRange(t *rapid.T, p *Placed) {
	lo, hi, loAt, hiAt := p.Range()
	for range 50 {
		x := lerp(p.x.node[0], p.x.node[p.cx], rapid.Float64Range(0, 1).Draw(t, "u"))
		y := lerp(p.y.node[0], p.y.node[p.y.cells()], rapid.Float64Range(0, 1).Draw(t, "v"))
		if h, _ := p.At(p.Program(x, y)); h < lo-p.Allowance() || h > hi+p.Allowance() {
			t.Fatalf("height %v at %v,%v is beyond %v to %v", h, x, y, lo, hi)
		}
	}
	if h, _ := p.At(loAt[0], loAt[1]); p.hold == nil && math.Abs(h-lo) > rangeSlackMM*1.01+p.Allowance() {
		t.Fatalf("lowest is %v, but at its place %v", lo, h)
	}
	if h, _ := p.At(hiAt[0], hiAt[1]); p.hold == nil && math.Abs(h-hi) > rangeSlackMM*1.01+p.Allowance() {
		t.Fatalf("highest is %v, but at its place %v", hi, h)
	}
}

func TestRangeHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		if p := drawPlaced(t); p.slope < 100 {
			checkRange(t, p)
		}
	})
}

// The slope is that of the heights, in program XY.
func TestGrad(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := bumpy(noT{}, 8)
		p, err := Place(s, Placement{
			Method:    rapid.SampledFrom([]string{"bilinear", "bicubic"}).Draw(t, "method"),
			RotateDeg: rapid.Float64Range(-180, 180).Draw(t, "rotate"),
			ShiftX:    3,
		})
		if err != nil {
			t.Fatal(err)
		}
		i, j := rapid.IntRange(-1, 7).Draw(t, "i"), rapid.IntRange(-1, 7).Draw(t, "j")
		u, v := rapid.Float64Range(0.01, 0.99).Draw(t, "u"), rapid.Float64Range(0.01, 0.99).Draw(t, "v")
		x, y := p.Program(float64(i)+u, float64(j)+v)
		const d = 1e-5
		at := func(x, y float64) float64 { h, _ := p.At(x, y); return h }
		gx, gy := p.Grad(x, y)
		wx, wy := (at(x+d, y)-at(x-d, y))/(2*d), (at(x, y+d)-at(x, y-d))/(2*d)
		if math.Hypot(gx-wx, gy-wy) > 1e-8 {
			t.Fatalf("gradient %v,%v, differences give %v,%v", gx, gy, wx, wy)
		}
		if math.Hypot(gx, gy) > p.MaxSlope()+1e-12 {
			t.Fatalf("slope %v over the bound %v", math.Hypot(gx, gy), p.MaxSlope())
		}
	})
}

// What is held over holes, against a plain search ring by ring.
func TestHoleHeights(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nx, ny := rapid.IntRange(2, 9).Draw(t, "nx"), rapid.IntRange(2, 9).Draw(t, "ny")
		few := rapid.IntRange(1, 8).Draw(t, "one in")
		x, y, z := make([]float64, nx), make([]float64, ny), make([]float64, nx*ny)
		for i := range x {
			x[i] = float64(i)
		}
		for j := range y {
			y[j] = float64(j)
		}
		for k := range z {
			z[k] = math.NaN()
			if rapid.IntRange(1, few).Draw(t, "there") == 1 {
				z[k] = rapid.Float64Range(-1, 1).Draw(t, "z")
			}
		}
		z[rapid.IntRange(0, len(z)-1).Draw(t, "one")] = 0.5
		s, err := New(x, y, z)
		if err != nil {
			t.Fatal(err)
		}
		p, err := Place(s, Placement{})
		if err != nil {
			t.Fatal(err)
		}
		for j := range ny - 1 {
			for i := range nx - 1 {
				missing := 0
				want := math.Inf(-1)
				for k := 0; math.IsInf(want, -1); k++ {
					for b := max(j-k, 0); b <= min(j+1+k, ny-1); b++ {
						for a := max(i-k, 0); a <= min(i+1+k, nx-1); a++ {
							if h := s.Height(a, b); h != h {
								missing++
							} else {
								want = max(want, h)
							}
						}
					}
				}
				h, w := p.At(float64(i)+0.5, float64(j)+0.5)
				if missing > 0 && (h != want || w != Hole) || missing == 0 && w != On {
					t.Fatalf("cell %d,%d: %v %d, want %v, %d missing", i, j, h, w, want, missing)
				}
			}
		}
	})
}

// The measured area is closed: its border, also that of a hole, is On.
func TestBordersAreOn(t *testing.T) {
	nan := math.NaN()
	// Cells: good, good / hole, good, a hole at the lower left.
	s, err := New([]float64{0, 10, 20}, []float64{0, 10, 20}, []float64{
		nan, 1, 2,
		3, 4, 5,
		6, 7, 8})
	if err != nil {
		t.Fatal(err)
	}
	// The same turned about its middle: cells are half open, so that a hole
	// at the upper right has borders of another kind.
	turned, err := New(s.x, s.y, []float64{8, 7, 6, 5, 4, 3, 2, 1, nan})
	if err != nil {
		t.Fatal(err)
	}
	for _, rotate := range []float64{0, 90, 180, 270, -90, 30, 123.4} {
		bordersAreOn(t, mustPlace(t, s, Placement{RotateDeg: rotate, ShiftX: 7, ShiftY: 0.1}), rotate)
		// Surface (x, y) of s is (20-x, 20-y) of turned.
		dx, dy := 20*math.Cos(rotate*math.Pi/180)-20*math.Sin(rotate*math.Pi/180), 20*math.Sin(rotate*math.Pi/180)+20*math.Cos(rotate*math.Pi/180)
		bordersAreOn(t, mustPlace(t, turned, Placement{RotateDeg: rotate + 180, ShiftX: 7 + dx, ShiftY: 0.1 + dy}), rotate+180)
	}
}

func bordersAreOn(t *testing.T, p *Placed, rotate float64) {
	t.Helper()
	mirror := p.z[0] == 8
	program := func(x, y float64) (float64, float64) {
		if mirror {
			return p.Program(20-x, 20-y)
		}
		return p.Program(x, y)
	}
	for _, c := range []struct {
		x, y float64
		w    Where
		h    float64
	}{
		{5, 5, Hole, 4},
		{10, 5, On, 2.5}, {10 - 5e-10, 5, On, 2.5}, {10 - 2e-9, 5, Hole, 4},
		{5, 10, On, 3.5}, {10, 10, On, 4}, {10, 0, On, 1}, {0, 10, On, 3}, {0, 0, Hole, 4},
		{20, 20, On, 8}, {20 + 5e-10, 20, On, 8}, {20 + 2e-9, 20, Outside, 8}, {20, 30, Outside, 8},
		{0, 15, On, 4.5}, {-5e-10, 15, On, 4.5}, {-2e-9, 15, Outside, 4.5},
		{-5, 5, Outside, 4}, {-5, 10, Outside, 3}, {5, -5, Outside, 4}, {10, -5, Outside, 1}, {-5e-10, 5, Hole, 4},
	} {
		x, y := program(c.x, c.y)
		if h, w := p.At(x, y); math.Abs(h-c.h) > 1e-8 || w != c.w {
			t.Errorf("turned by %v, at %v,%v: %v %d, want %v %d", rotate, c.x, c.y, h, w, c.h, c.w)
		}
	}
	for _, c := range []struct {
		x0, y0, x1, y1 float64
		w              Where
	}{
		{0, 10, 20, 10, On}, {20, 10, 0, 10, On}, {10, 0, 10, 20, On}, {10, 20, 10, 0, On}, // along the hole
		{0, 10, 10, 0, Hole},                                                             // across it
		{20, 0, 20, 20, On}, {10, 20, 0, 20, On}, {0, 20, 0, 10, On}, {10, 0, 20, 0, On}, // along the edge
		{0, 0, 10, 0, Hole}, {0, 0, 0, 9, Hole},
		{-3, 20, -3, 30, Outside}, {21, 0, 21, 20, Outside},
	} {
		x0, y0 := program(c.x0, c.y0)
		x1, y1 := program(c.x1, c.y1)
		pieces := p.AppendLine(nil, x0, y0, x1, y1, 0.01, 0)
		if err := checkPieces(p, pieces, linePath(x0, y0, x1, y1), 0.01, 0, false); err != nil {
			t.Error(err)
		}
		for _, q := range pieces {
			if q.Where != c.w && q.S1-q.S0 > 1e-8 {
				t.Errorf("turned by %v, move %+v: piece %+v", rotate, c, q)
			}
		}
	}
	// A circle that touches the outer edge on four sides, and one that
	// touches the hole in its corner.
	for _, c := range []struct{ x, y, r float64 }{{15, 15, 5}, {10, 15, 5}, {15, 5, 5}} {
		cx, cy := program(c.x, c.y)
		for _, q := range p.AppendArc(nil, cx, cy, c.r, c.r, 0.1, 2*math.Pi, 0.01, 0) {
			if q.Where != On {
				t.Errorf("turned by %v, circle %+v: piece %+v", rotate, c, q)
			}
		}
	}
}

// Counter-clockwise about the surface's origin, then the shift.
func TestPlacementTurnsCounterClockwise(t *testing.T) {
	s, err := New([]float64{0, 10}, []float64{0, 20}, []float64{0, 1, 0, 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ rotate, x, y float64 }{ // where surface (10, 20) goes
		{0, 10, 20}, {90, -20, 10}, {180, -10, -20}, {270, 20, -10}, {-90, 20, -10}, {450, -20, 10}, {-180, -10, -20}, {720, 10, 20},
	} {
		p := mustPlace(t, s, Placement{RotateDeg: c.rotate, ShiftX: 100, ShiftY: 1000})
		x, y := p.Program(10, 20)
		if x != 100+c.x || y != 1000+c.y || p.Bounds()[2] != [2]float64{x, y} {
			t.Errorf("turned by %v: %v,%v", c.rotate, x, y)
		}
		if a, b := p.Local(x, y); a != 10 || b != 20 {
			t.Errorf("turned by %v: back to %v,%v", c.rotate, a, b)
		}
		if h, w := p.At(x, y); h != 1 || w != On {
			t.Errorf("turned by %v: %v %d", c.rotate, h, w)
		}
		if lo, hi, _, at := p.Range(); lo != 0 || hi != 1 || at != p.Bounds()[1] {
			t.Errorf("turned by %v: range %v %v at %v", c.rotate, lo, hi, at)
		}
	}
	p := mustPlace(t, s, Placement{RotateDeg: 30})
	if x, y := p.Program(1, 0); math.Abs(x-math.Sqrt(3)/2) > 1e-15 || math.Abs(y-0.5) > 1e-15 {
		t.Errorf("turned by 30: %v,%v", x, y)
	}
}

// noT lets the helpers that want a testing.TB be used within rapid.
type noT struct{ testing.TB }

func (noT) Helper() {}
