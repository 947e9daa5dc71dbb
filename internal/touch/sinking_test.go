package touch

import (
	"math"
	"math/rand/v2"
	"testing"

	"sagitta/internal/surface"
)

// Places that give way to the probe are told from those that scatter.
func TestSinking(t *testing.T) {
	r := rand.New(rand.NewPCG(81, 82))
	log := func(sinks, noise float64) (p []surface.Point) {
		for range 2 {
			for k := range 9 {
				x, y := float64(k%3), float64(k/3)
				give := sinks * (1 - math.Hypot(x-1, y-1)/3) // most in the middle
				if len(p) < 9 {
					give = 0
				}
				p = append(p, surface.Point{X: 50 * x, Y: 40 * y, Z: 0.1*x - give + noise*r.NormFloat64(), Line: len(p) + 1})
			}
		}
		return p
	}
	alarms := 0
	for range 300 {
		if _, rep := Merge(log(0, 0.2)); rep.Sinking != nil {
			alarms++
		}
		_, rep := Merge(log(0.2, 0.02))
		switch s := rep.Sinking; {
		case s == nil:
			t.Fatal("0.2 mm in the middle are not told")
		case s.MM < 0.08 || s.MM > 0.2 || len(s.Places) != 9 || s.Places[0].Line < 10:
			t.Fatalf("%+v", s)
		}
		if _, rep := Merge(log(-0.2, 0.02)); rep.Sinking != nil {
			t.Fatal("what rises is said to sink")
		}
	}
	if alarms > 3 {
		t.Errorf("%d of 300 that only scatter are said to sink", alarms)
	}
}
