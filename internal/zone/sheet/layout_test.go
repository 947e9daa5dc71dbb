package sheet

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
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
		l := layOut(box, list)
		n := l.across * l.down
		area, left := 0.0, math.Inf(1)
		for k := range n {
			w := l.window(k)
			broad, high := w.Max[0]-w.Min[0], w.Max[1]-w.Min[1]
			if broad <= 0 || high <= 0 || broad/l.per > l.wide+1e-9 || high/l.per > l.tall+1e-9 || !box.Pad(1e-9).Contains(w.Min) || !box.Pad(1e-9).Contains(w.Max) {
				t.Fatalf("%+v: page %d shows %v", l, k, w)
			}
			area, left = area+broad*high, l.tall-high/l.per
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
		if l.wide > wide-2*mapMargin || l.tall+mapHead+mapFoot > tall-2*mapMargin+1e-9 || min(wide, tall) != 210 || max(wide, tall) != 297 {
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
		case most <= 4 && (l.per != 1 || n != most), most > 4 && (l.per == 1 || n != 1):
			t.Fatalf("%+v, where %d pages hold it at 1 : 1", l, most)
		}
		rounds := []float64{1, 2, 5, 10, 20, 50, 100}
		if k := slices.Index(rounds, l.per); k < 0 || k > 1 && fits(rounds[k-1]) == 1 {
			t.Fatalf("%+v: 1 : %g", l, l.per)
		}
	})
}

// What is drawn is as long on the paper as its scale says, and the axes say where it is.
func TestMapIsToScale(t *testing.T) {
	for _, far := range []float64{0, 1900} {
		s := twoZones(t, 1)
		s.Zones[0].Lines.Straight(60, 10, 60+far, 10)
		s.Zones[0].Bound = s.Zones[0].Lines.Bound()
		l := s.layout()
		text := page(t, s, 0).String()
		burn := regexp.MustCompile(`<path d="M([0-9.]+) ([0-9.]+)L([0-9.]+) ([0-9.]+)[^"]*" fill="none" stroke="#[0-9a-f]+" stroke-width="0.35"`).FindStringSubmatch(text)
		if burn == nil || (l.per != 1) != (far > 0) {
			t.Fatalf("%+v\n%s", l, text)
		}
		var v [4]float64
		for i := range v {
			v[i], _ = strconv.ParseFloat(burn[i+1], 64)
		}
		if long := math.Hypot(v[2]-v[0], v[3]-v[1]); math.Abs(long*l.per-math.Hypot(30, 80)) > 0.002*l.per {
			t.Errorf("1 : %g: %g mm long on the paper", l.per, long)
		}
		// It begins at X60: the tick of the number 60, or of 200 less 140.
		n := map[bool]float64{true: 60, false: 200}[l.per == 1]
		tick := regexp.MustCompile(fmt.Sprintf(`<text x="([0-9.]+)" [^>]*text-anchor="middle">%g<`, n)).FindStringSubmatch(text)
		if tick == nil {
			t.Fatalf("no %g in\n%s", n, text)
		}
		if x, _ := strconv.ParseFloat(tick[1], 64); math.Abs(x-v[0]-(n-60)/l.per) > 0.002 {
			t.Errorf("1 : %g: X60 at %g, the number %g at %g", l.per, v[0], n, x)
		}
	}
}
