package surface

import (
	"math"
	"testing"
)

// TestLowered: all that tells heights tells them lower, by as much.
func TestLowered(t *testing.T) {
	s, err := New([]float64{0, 10, 30}, []float64{0, 20, 50}, []float64{1, 2, 4, 0, -1, 3, 2, 5, math.NaN()})
	if err != nil {
		t.Fatal(err)
	}
	p, err := Place(s, Placement{RotateDeg: 20})
	if err != nil {
		t.Fatal(err)
	}
	q := p.Lowered(1.5).Lowered(-0.25)
	for _, at := range [][2]float64{{1, 5}, {-3, 30}, {200, 0}, {12, 41}} {
		h, w := p.At(at[0], at[1])
		if g, v := q.At(at[0], at[1]); v != w || math.Abs(h-1.25-g) > 1e-12 {
			t.Errorf("at %v: %g, lowered %g", at, h, g)
		}
	}
	a, b := p.AppendLine(nil, -3, 0, 20, 45, 1e-3, 0), q.AppendLine(nil, -3, 0, 20, 45, 1e-3, 0)
	for k := range a {
		if len(a) != len(b) || math.Abs(a[k].H0-1.25-b[k].H0) > 1e-9 || math.Abs(a[k].H1-1.25-b[k].H1) > 1e-9 {
			t.Fatalf("along a line: %v, lowered %v", a, b)
		}
	}
	low, high, _, _ := p.Range()
	if l, h, _, _ := q.Range(); math.Abs(low-1.25-l) > 1e-12 || math.Abs(high-1.25-h) > 1e-12 {
		t.Errorf("range %g to %g, lowered %g to %g", low, high, l, h)
	}
}
