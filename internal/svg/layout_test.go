package svg

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// A map is at its true size where four pages of A4 hold it, and else at a round scale on
// one; its pages show all of the box, and nothing twice.
func TestLayout(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := func(l string) float64 { return rapid.Float64Range(-300, 300).Draw(t, l) }
		size := func(l string) float64 {
			return rapid.SampledFrom([]float64{1, 100, 181, 270, 361, 700, 5000}).Draw(t, l) * rapid.Float64Range(0.5, 1.1).Draw(t, l+" by")
		}
		x, y := at("x"), at("y")
		box := orb.Bound{Min: orb.Point{x, y}, Max: orb.Point{x + size("wide"), y + size("tall")}}
		list := rapid.Float64Range(5, 190).Draw(t, "list")
		l := LayOut(box, list)
		n := l.across * l.down
		area, left := 0.0, math.Inf(1)
		for k := range n {
			w := l.window(k)
			broad, high := w.Max[0]-w.Min[0], w.Max[1]-w.Min[1]
			if broad <= 0 || high <= 0 || broad/l.Per > l.wide+1e-9 || high/l.Per > l.tall+1e-9 || !box.Pad(1e-9).Contains(w.Min) || !box.Pad(1e-9).Contains(w.Max) {
				t.Fatalf("%+v: page %d shows %v", l, k, w)
			}
			area, left = area+broad*high, l.tall-high/l.Per
			for i := range k {
				if v := l.window(i); v.Pad(-1e-9).Intersects(w.Pad(-1e-9)) {
					t.Fatalf("%+v: pages %d and %d show the same", l, i, k)
				}
			}
		}
		if whole := (box.Max[0] - box.Min[0]) * (box.Max[1] - box.Min[1]); math.Abs(area-whole) > 1e-6*whole {
			t.Fatalf("%+v shows %g of %g mm²", l, area, whole)
		}
		wide, tall := l.size()
		if l.wide > wide-2*Margin || l.tall+head+foot > tall-2*Margin+1e-9 || min(wide, tall) != 210 || max(wide, tall) != 297 {
			t.Fatalf("%+v goes beyond its paper, %g by %g", l, wide, tall)
		}
		if l.listed != (list > left) {
			t.Fatalf("%+v: a list of %g mm in %g", l, list, left)
		}
		// The other way round it is no better.
		fits := func(per float64) int {
			best := math.Inf(1)
			for _, p := range [][2]float64{{180, 247}, {267, 160}} {
				best = min(best, math.Ceil((box.Max[0]-box.Min[0])/per/p[0])*math.Ceil((box.Max[1]-box.Min[1])/per/p[1]))
			}
			return int(best)
		}
		switch most := fits(1); {
		case most <= 4 && (l.Per != 1 || n != most), most > 4 && (l.Per == 1 || n != 1):
			t.Fatalf("%+v, where %d pages hold it at 1 : 1", l, most)
		}
		rounds := []float64{1, 2, 5, 10, 20, 50, 100}
		if k := slices.Index(rounds, l.Per); k < 0 || k > 1 && fits(rounds[k-1]) == 1 {
			t.Fatalf("%+v: 1 : %g", l, l.Per)
		}
	})
}
