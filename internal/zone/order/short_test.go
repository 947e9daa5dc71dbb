package order

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The nearest is what looking at all finds.
func TestNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		drawn := rapid.Custom(func(t *rapid.T) point {
			return point{int32(rapid.IntRange(-4, 4).Draw(t, "x")), int32(rapid.IntRange(-9, 9).Draw(t, "y"))}
		})
		pts := rapid.SliceOfN(drawn, 1, 40).Draw(t, "points")
		ids := make([]int32, len(pts))
		for i := range ids {
			ids[i] = int32(i)
		}
		n := newNearest(pts, ids, make([]int32, len(pts)))
		in := map[int32]bool{}
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			id := int32(rapid.IntRange(0, len(pts)-1).Draw(t, "id"))
			in[id] = !in[id]
			n.put(id, in[id])
			p := drawn.Draw(t, "from")
			squared := func(q point) float64 {
				x, y := float64(q.x-p.x), float64(q.y-p.y)
				return x*x + y*y
			}
			least := math.Inf(1)
			for id, yes := range in {
				if yes {
					least = min(least, squared(pts[id]))
				}
			}
			if n.any() != !math.IsInf(least, 1) {
				t.Fatal("what is in is not known")
			}
			if n.any() && squared(pts[n.to(p)]) != least {
				t.Fatalf("%v is not the nearest to %v", pts[n.to(p)], p)
			}
		}
	})
}

// strip is what a test of one zone burns.
func strip(o Options, burns ...burn) Result {
	o.Rank, o.Lens = []int{0}, []int{0}
	var parts []part
	for f, b := range burns {
		parts = append(parts, part{figure: f, burns: []burn{b}})
	}
	return jobOf(parts, o).Order()
}

func pieces(r Result) (all []int) {
	for _, v := range r.Visits {
		for _, s := range v.Steps {
			all = append(all, s.Piece)
		}
	}
	return all
}

// A way between places is not longer than need be: a comb that is drawn with its
// teeth out of order.
func TestTheWayIsShort(t *testing.T) {
	r := strip(Options{}, burn{0, 0, 0, 5}, burn{40, 0, 40, 5}, burn{10, 0, 10, 5}, burn{30, 0, 30, 5}, burn{20, 0, 20, 5})
	if got, want := fmt.Sprint(pieces(r)), "[0 2 4 3 1]"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	r = strip(Options{From: func(int) ([2]float64, bool) { return [2]float64{50, 0}, true }},
		burn{0, 0, 0, 5}, burn{40, 0, 40, 5}, burn{10, 0, 10, 5}, burn{30, 0, 30, 5}, burn{20, 0, 20, 5})
	if got, want := fmt.Sprint(pieces(r)), "[1 3 4 2 0]"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// Among few burns that may go in any order the way is hardly ever longer than the
// shortest, found by trying all.
func TestTheWayIsNearlyTheShortest(t *testing.T) {
	var got, least float64
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 7).Draw(t, "burns")
		var burns []burn
		for k := range n {
			x, y := rapid.Float64Range(0, 100).Draw(t, "x"), 100*float64(k)
			burns = append(burns, burn{x, y, x + rapid.Float64Range(-90, 90).Draw(t, "to"), y + 1})
		}
		burns = rapid.Permutation(burns).Draw(t, "order")
		way := pieces(strip(Options{}, burns...))
		got += lengthOf(burns, way)
		best := math.Inf(1)
		all := make([]int, n)
		for i := range all {
			all[i] = i
		}
		permute(all, 0, func(way []int) { best = min(best, lengthOf(burns, way)) })
		least += best
		if l := lengthOf(burns, way); l > 1.6*best+1 {
			t.Fatalf("%v is %.0f mm, the shortest %.0f", way, l, best)
		}
	})
	t.Logf("in all %.3f of the shortest", got/least)
	if got > 1.05*least {
		t.Errorf("in all %.3f of the shortest", got/least)
	}
}

func lengthOf(burns []burn, way []int) (sum float64) {
	for i := 1; i < len(way); i++ {
		a, b := burns[way[i-1]], burns[way[i]]
		sum += math.Hypot(a.x1-b.x0, a.y1-b.y0)
	}
	return sum
}

func permute(all []int, k int, f func([]int)) {
	if k == len(all) {
		f(all)
		return
	}
	for i := k; i < len(all); i++ {
		all[k], all[i] = all[i], all[k]
		permute(all, k+1, f)
		all[k], all[i] = all[i], all[k]
	}
}
