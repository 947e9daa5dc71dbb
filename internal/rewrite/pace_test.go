package rewrite

import "testing"

// Lines are counted within any second of the program's own time.
func TestPace(t *testing.T) {
	for _, c := range []struct {
		seconds []float64
		most    int
	}{
		{[]float64{0, 0, 0}, 3},
		{[]float64{2, 2, 2}, 1},
		{[]float64{0.5, 0.5, 0.5, 0.5}, 2},
		{[]float64{0.25, 0.25, 0.25, 0.25, 5, 0, 0.25, 0.25, 0.25, 0.25, 0.25}, 5},
		{[]float64{5, 0, 0, 0, 0, 5, 0.3, 0.3, 0.3, 0.3}, 5},
		{[]float64{1e9, 0.001, 0.001}, 2},
	} {
		var p pace
		for _, s := range c.seconds {
			p.line(s)
		}
		if p.most != c.most {
			t.Errorf("%v: %d, want %d", c.seconds, p.most, c.most)
		}
	}
}
