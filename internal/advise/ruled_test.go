package advise

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/focus"
)

// The best focus spends no more of the depths than any other, and of one kind it is the
// closed form, to the last bit.
func TestBestFocus(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm, side := rapid.Float64Range(-3, 3), rapid.Float64Range(0.1, 4)
		j, l := Metrics{}, Optic{Checking: focus.Depth{Near: side.Draw(t, "near"), Far: side.Draw(t, "far")}, Defocus: mm.Draw(t, "defocus")}
		for k := range rapid.IntRange(1, 4).Draw(t, "kinds") {
			low := mm.Draw(t, "low")
			j.ruled = append(j.ruled, span{low, low + rapid.Float64Range(0, 2).Draw(t, "range")})
			if k > 0 {
				l.Ruled = append(l.Ruled, focus.Aim{Depth: focus.Depth{Near: side.Draw(t, "near"), Far: side.Draw(t, "far")}, Defocus: mm.Draw(t, "defocus")})
			}
		}
		s := l.serves(&j)
		best := s.best()
		for d := -2.0; d <= 2; d += 0.001 {
			if s.part(best+d) < s.part(best)-1e-12 {
				t.Fatalf("at %g the part is %g, at %g %g", best, s.part(best), best+d, s.part(best+d))
			}
		}
		if (s.part(best) <= 1-1e-12) && s.least > s.most || s.part(best) > 1+1e-12 && s.least <= s.most {
			t.Fatalf("%g of the depth at best, from %g to %g", s.part(best), s.least, s.most)
		}
		if d := l.Checking; len(j.ruled) == 1 {
			high, low := j.ruled[0].high+l.Defocus, j.ruled[0].low+l.Defocus
			if best != (high*d.Far+low*d.Near)/(d.Near+d.Far) || l.flatWidth(&j) != d.Near+d.Far {
				t.Fatalf("%g of one kind", best)
			}
		}
		if w := l.flatWidth(&j); math.IsInf(w, 0) || w > l.Checking.Near+l.Checking.Far {
			t.Fatalf("%g mm wide", w)
		}
	})
}
