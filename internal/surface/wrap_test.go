package surface

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// cup is a round of 90 mm around, wrapped: runout once a turn, and a taper.
const cup = `y\x, 0, 30, 60
0, 0.5, 0.4, 0.2
20, 0.9, 0.7, 0.4
45, 0.1, 0.0, -0.3
70, -0.4, -0.2, -0.5
`

// The surface is the same a turn later, and has no jump at the seam, in its
// bilinear slope form and, far from the outermost turns, in its bicubic one.
func TestWrapsRepeats(t *testing.T) {
	for _, method := range []string{"bilinear", "bicubic"} {
		s := gridOf(t, Header{WrapsYMM: 90}, cup)
		p := mustPlace(t, s, Placement{Method: method, ShiftX: 3, ShiftY: -7, RotateDeg: 30})
		rapid.Check(t, func(t *rapid.T) {
			x, y := rapid.Float64Range(0, 60).Draw(t, "x"), rapid.Float64Range(-200, 200).Draw(t, "y")
			turn := rapid.IntRange(-20, 20).Draw(t, "turn")
			a, wa := p.At(p.Program(x, y))
			b, wb := p.At(p.Program(x, y+90*float64(turn)))
			if wa != On || wb != On || math.Abs(a-b) > 1e-9 {
				t.Fatalf("%s: %v (%v) at y %v, %v (%v) %d turns on", method, a, wa, y, b, wb, turn)
			}
		})
		for _, seam := range []float64{0, 90, -180} {
			a, _ := p.At(p.Program(20, seam-1e-7))
			b, _ := p.At(p.Program(20, seam+1e-7))
			if math.Abs(a-b) > 1e-6 {
				t.Errorf("%s: %v before the seam, %v after", method, a, b)
			}
		}
		// Half way over the seam of the bilinear form: the mean of both rows.
		if h, _ := p.At(p.Program(0, 80)); method == "bilinear" && math.Abs(h-0.05) > 1e-12 {
			t.Errorf("height %v in the middle of the seam's cell, want 0.05", h)
		}
	}
}

// The bounds along moves over several turns hold for what At says.
func TestWrapsPieces(t *testing.T) {
	for _, method := range []string{"bilinear", "bicubic"} {
		s := gridOf(t, Header{WrapsYMM: 90}, cup)
		p := mustPlace(t, s, Placement{Method: method})
		rapid.Check(t, func(t *rapid.T) {
			c := rapid.Float64Range(-250, 250)
			x0, x1 := rapid.Float64Range(0, 60).Draw(t, "x0"), rapid.Float64Range(0, 60).Draw(t, "x1")
			y0, y1 := c.Draw(t, "y0"), c.Draw(t, "y1")
			line := p.AppendLine(nil, x0, y0, x1, y1, 0.01, 0)
			r, a0, sweep := rapid.Float64Range(1, 28).Draw(t, "r"), c.Draw(t, "a0"), c.Draw(t, "sweep")/40
			arc := p.AppendArc(nil, 30, y0, r, r, a0, sweep, 0.01, 0)
			for _, m := range []struct {
				pieces []Piece
				at     func(s float64) (float64, float64)
			}{
				{line, func(s float64) (float64, float64) { return x0 + s*(x1-x0), y0 + s*(y1-y0) }},
				{arc, func(s float64) (float64, float64) {
					return 30 + r*math.Cos(a0+s*sweep), y0 + r*math.Sin(a0+s*sweep)
				}},
			} {
				for _, q := range m.pieces {
					for k := range 5 {
						f := float64(k) / 4
						h, w := p.At(m.at(q.S0 + f*(q.S1-q.S0)))
						chord := q.H0 + f*(q.H1-q.H0)
						if w != On || h > chord+q.Up+p.Allowance() || h < chord-q.Down-p.Allowance() {
							t.Fatalf("%s: %v (%v) at %v of %+v", method, h, w, f, q)
						}
					}
				}
			}
		})
	}
}

// A last row that is the first again counts with it, so that no jump is left.
func TestWrapsClosed(t *testing.T) {
	s := gridOf(t, Header{WrapsYMM: 90}, "y\\x,0,10\n0,1,1\n30,2,2\n60,0,0\n90,1.2,1\n")
	p := mustPlace(t, s, Placement{})
	for _, y := range []float64{0, 90, -90} {
		if h, _ := p.At(0, y); math.Abs(h-1.1) > 1e-12 {
			t.Errorf("height %v at the seam, want the mean 1.1", h)
		}
	}
	if d := p.Surface().Source().Digest; d != s.Source().Digest {
		t.Error("the digest is not that of the file")
	}
}

func TestPlacementOfHeader(t *testing.T) {
	h := Header{Shift: &[2]float64{5, -2.5}, RotateDeg: 90}
	if at := h.Placement(); at.ShiftX != 5 || at.ShiftY != -2.5 || at.RotateDeg != 90 {
		t.Errorf("placement %+v", at)
	}
}
