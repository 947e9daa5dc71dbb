package surface

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A cursor that reads other heights than AppendLine would put short moves out
// of focus.
func TestCursorIsAppendLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, label) }
		x, y := []float64{0, 3, 7, 20}, []float64{-5, 0, 8}
		z := make([]float64, len(x)*len(y))
		for k := range z {
			z[k] = draw("z", -3, 3)
			if rapid.IntRange(0, 15).Draw(t, "hole") == 0 {
				z[k] = math.NaN()
			}
		}
		z[0] = 1
		s, err := New(x, y, z)
		if err != nil {
			t.Fatal(err)
		}
		at := [2]float64{0, 0}
		p, err := Place(s, Placement{ShiftX: draw("shift", -9, 9), RotateDeg: draw("turn", -180, 180), Datum: nil})
		if err != nil {
			t.Skip(err)
		}
		c := p.Cursor()
		taken := 0
		for range 20 {
			at[0], at[1] = p.Program(draw("x", -1, 21), draw("y", -6, 9))
			c.Stand(at[0], at[1])
			for range 4 {
				to := [2]float64{at[0] + draw("dx", -1, 1), at[1] + draw("dy", -1, 1)}
				h, up, down, ok := c.To(to[0], to[1])
				if !ok {
					break
				}
				taken++
				pc := p.AppendLine(nil, at[0], at[1], to[0], to[1], 10, 0)
				last := pc[len(pc)-1]
				if len(pc) > 1 && last.S1-last.S0 < 1-1e-6 || last.Where != On {
					t.Fatalf("a move over %d pieces: %+v", len(pc), pc)
				}
				if math.Abs(h-last.H1) > 1e-9 || math.Abs(up-last.Up) > 1e-9 || math.Abs(down-last.Down) > 1e-9 {
					t.Fatalf("%g +%g -%g, want %+v", h, up, down, last)
				}
				at = to
			}
		}
	})
}

// turned draws a surface of 20 × 13 mm that lies turned.
func turned(t *rapid.T, draw func(label string, lo, hi float64) float64) *Placed {
	x, y := []float64{0, 3, 7, 20}, []float64{-5, 0, 8}
	z := make([]float64, len(x)*len(y))
	for k := range z {
		z[k] = draw("z", -3, 3)
	}
	s, err := New(x, y, z)
	if err != nil {
		t.Fatal(err)
	}
	p, err := Place(s, Placement{RotateDeg: draw("turn", -180, 180), Method: rapid.SampledFrom([]string{"bilinear", "bicubic"}).Draw(t, "method")})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A bound from the length of a path alone holds along every arc and line, and
// is no more than a way over a ridge needs.
func TestAroundPathHolds(t *testing.T) {
	ridge, err := New([]float64{0, 5, 10}, []float64{-9, 9}, []float64{0, 3, 0, 0, 3, 0})
	if err != nil {
		t.Fatal(err)
	}
	p, err := Place(ridge, Placement{})
	if err != nil {
		t.Fatal(err)
	}
	h0, _ := p.At(2, 0)
	top, _ := p.At(5, 0)
	if h1, off, ok := p.AroundPath(2, 0, h0, 8, 0, 6, 5, 0, 3); !ok || math.Abs(h0+off-top) > 1e-6 || math.Abs(h1-h0) > 1e-9 {
		t.Errorf("over a ridge %g high: from %g to %g, off by %g, %v", top, h0, h1, off, ok)
	}
	if _, off, ok := p.AroundPath(1, 0, h0-0.6, 4, 0, 3, 2.5, 0, 2); !ok || off > 1e-6 {
		t.Errorf("straight up: off by %g, %v", off, ok)
	}
	near := 0
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, label) }
		p := turned(t, draw)
		cx, cy := p.Program(draw("x", 0, 20), draw("y", -5, 8))
		r, a0, sweep := draw("r", 0.1, 6), draw("a", -3, 3), draw("sweep", -7, 7)
		place := func(s float64) (float64, float64) {
			sin, cos := math.Sincos(a0 + s*sweep)
			return cx + r*cos, cy + r*sin
		}
		length := r * math.Abs(sweep)
		if rapid.Bool().Draw(t, "line") {
			x0, y0 := place(0)
			x1, y1 := place(1)
			place = func(s float64) (float64, float64) { return x0 + s*(x1-x0), y0 + s*(y1-y0) }
			length, r = math.Hypot(x1-x0, y1-y0), math.Inf(1)
		}
		x0, y0 := place(0)
		x1, y1 := place(1)
		h0, _ := p.At(x0, y0)
		h1, off, ok := p.AroundPath(x0, y0, h0, x1, y1, length, cx, cy, r)
		if !ok {
			return
		}
		near++
		for k := 0; k <= 200; k++ {
			s := float64(k) / 200
			h, w := p.At(place(s))
			if w != On {
				t.Fatalf("leaves the surface at %g", s)
			}
			if by := math.Abs(h - (h0 + s*(h1-h0))); by > off+1e-9 {
				t.Fatalf("off by %g at %g, beyond %g", by, s, off)
			}
		}
	})
	if near == 0 {
		t.Error("no path stays on the surface")
	}
}

// Bounds from a few places hold at every place of the move.
func TestAroundHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, label) }
		p := turned(t, draw)
		n := rapid.IntRange(1, 8).Draw(t, "places")
		x0, y0 := p.Program(draw("x", 0, 20), draw("y", -5, 8))
		var pc Piece
		var ok bool
		var place func(s float64) (float64, float64)
		if rapid.Bool().Draw(t, "arc") {
			r0, a0, sweep := draw("r", 0.1, 3), draw("a", -3, 3), draw("sweep", -7, 7)
			r1 := r0 + draw("dr", -0.002, 0.002)
			pc, ok = p.AroundArc(x0, y0, r0, r1, a0, sweep, n)
			place = func(s float64) (float64, float64) {
				sin, cos := math.Sincos(a0 + s*sweep)
				return x0 + (r0+s*(r1-r0))*cos, y0 + (r0+s*(r1-r0))*sin
			}
		} else {
			x1, y1 := p.Program(draw("x1", -0.5, 20.5), draw("y1", -5.5, 8.5))
			pc, ok = p.AroundLine(x0, y0, x1, y1, n)
			place = func(s float64) (float64, float64) { return x0 + s*(x1-x0), y0 + s*(y1-y0) }
		}
		for k := 0; k <= 200; k++ {
			s := float64(k) / 200
			h, w := p.At(place(s))
			if !ok {
				continue
			}
			if w != On {
				t.Fatalf("leaves the surface at %g", s)
			}
			if off := h - (pc.H0 + s*(pc.H1-pc.H0)); off > pc.Up+1e-9 || -off > pc.Down+1e-9 {
				t.Fatalf("off by %g at %g, beyond %+v", off, s, pc)
			}
		}
	})
}
