package fit

import (
	"math"
	"testing"

	"sagitta/internal/touch"
)

func TestAlign(t *testing.T) {
	place := func(x, y float64) [2]float64 {
		s, c := math.Sincos(33 * math.Pi / 180)
		return [2]float64{c*x - s*y + 12, s*x + c*y - 4}
	}
	var pairs []touch.Pair
	for _, p := range [][2]float64{{0, 0}, {100, 0}, {100, 80}, {0, 80}} {
		pairs = append(pairs, touch.Pair{From: p, To: place(p[0], p[1])})
	}
	m, err := Align(pairs)
	if err != nil || math.Abs(m.Deg-33) > 1e-9 || math.Hypot(m.Shift[0]-12, m.Shift[1]+4) > 1e-9 || m.ResidualMM > 1e-9 || m.Mirrored {
		t.Errorf("%+v %v", m, err)
	}
	pairs[2].To[0] += 2
	if m, _ = Align(pairs); m.Worst != 2 || m.WorstMM < 1 || m.ResidualMM < 0.5 {
		t.Errorf("a slip of 2 mm: %+v", m)
	}
	for k := range pairs {
		pairs[k].To = [2]float64{-pairs[k].From[0], pairs[k].From[1]}
	}
	if m, _ = Align(pairs); !m.Mirrored {
		t.Errorf("mirrored: %+v", m)
	}
	if _, err := Align(pairs[:2]); err == nil {
		t.Error("two pairs are taken")
	}
}
