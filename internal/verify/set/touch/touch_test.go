package touch

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// shape is a drawn line or arc of a stretch.
type shape struct {
	rank   int
	arc    bool
	v      [6]float64
	points [][2]float64 // close along it
}

func drawShape(t *rapid.T, rank int) shape {
	s := shape{rank: rank, arc: rapid.IntRange(0, 3).Draw(t, "arc") == 0}
	at := func(label string) float64 { return float64(rapid.IntRange(0, 40).Draw(t, label)) / 2 }
	s.v = [6]float64{at("x0"), at("y0"), at("x1"), at("y1")}
	way := func(u float64) [2]float64 {
		return [2]float64{s.v[0] + u*(s.v[2]-s.v[0]), s.v[1] + u*(s.v[3]-s.v[1])}
	}
	if s.arc {
		r := 0.5 + at("r")/4
		s.v = [6]float64{s.v[0], s.v[1], r, r, at("a0"), rapid.SampledFrom([]float64{1, -2, 5, 2 * math.Pi}).Draw(t, "sweep")}
		a := arc{s.v[0], s.v[1], s.v[2], s.v[3], s.v[4], s.v[5]}
		way = func(u float64) [2]float64 { p := a.at(u); return [2]float64{p.x, p.y} }
	}
	const n = 1600
	for i := range n + 1 {
		s.points = append(s.points, way(float64(i)/n))
	}
	return s
}

func (s *shape) put(l *Lines, stretch int) error {
	l.Begin(stretch, s.rank)
	if s.arc {
		return l.Arc(s.v[0], s.v[1], s.v[2], s.v[3], s.v[4], s.v[5], uint32(stretch))
	}
	return l.Line(s.v[0], s.v[1], s.v[2], s.v[3], uint32(stretch))
}

// near is the least distance between samples of two shapes.
func (s *shape) near(o *shape) float64 {
	best := math.Inf(1)
	for i := 0; i < len(s.points); i += 8 {
		for k := 0; k < len(o.points); k += 8 {
			best = min(best, math.Hypot(s.points[i][0]-o.points[k][0], s.points[i][1]-o.points[k][1]))
		}
	}
	return best
}

// Pairs in the wrong order are found where they touch, by samples of them, and nowhere
// else; however many are put in between.
func TestPairsThatTouch(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(2, 30).Draw(rt, "shapes")
		ranks := rapid.Permutation(make([]int, n)).Draw(rt, "ranks")
		order := rapid.Permutation(func() []int {
			for i := range ranks {
				ranks[i] = i
			}
			return ranks
		}()).Draw(rt, "order")
		var l Lines
		var all []shape
		for i := range n {
			s := drawShape(rt, order[i])
			all = append(all, s)
			if err := s.put(&l, i); err != nil {
				rt.Fatal(err)
			}
		}
		work := MostWork
		pairs, whole := l.Check(func(a, b int) [][2]float64 { return nil }, &work)
		if !whole {
			rt.Fatal("not whole")
		}
		found := map[[2]int]bool{}
		for _, p := range pairs {
			found[[2]int{p.First, p.Second}] = true
			a, b := &all[p.First], &all[p.Second]
			if p.First >= p.Second || a.rank < b.rank {
				rt.Fatalf("%+v is in the right order", p)
			}
			for _, s := range []*shape{a, b} {
				best := math.Inf(1)
				for _, q := range s.points {
					best = min(best, math.Hypot(q[0]-p.X, q[1]-p.Y))
				}
				if best > 0.05 {
					rt.Fatalf("%+v is %g off %v", p, best, s.v)
				}
			}
		}
		for i := range all {
			for k := i + 1; k < n; k++ {
				if all[i].rank > all[k].rank && len(pairs) < mostPairs && all[i].near(&all[k]) < 0.0005 && !found[[2]int{i, k}] {
					rt.Fatalf("%v and %v touch", all[i].v, all[k].v)
				}
			}
		}
	})
}

// A plain gap of less than Near is a touch, and one of a little more is none.
func TestNear(t *testing.T) {
	for gap, want := range map[float64]int{0: 1, 0.0008: 1, 0.0013: 0, 0.004: 0} {
		for _, far := range []float64{0, 700, -1900} {
			var l Lines
			l.Begin(0, 1)
			_ = l.Line(far, 0, far+10, 0, 0)
			l.Begin(1, 0)
			_ = l.Line(far+3, gap, far+5, 5, 1)
			l.Begin(2, -1)
			_ = l.Arc(far+7, 1+gap, 1, 1, 0, 7, 2)
			work := MostWork
			if pairs, _ := l.Check(func(a, b int) [][2]float64 { return nil }, &work); len(pairs) != 2*want {
				t.Errorf("gap %g at %g: %v", gap, far, pairs)
			}
		}
	}
}

// Two stretches that join do not touch at their joint, at whatever angle they meet, but
// do where they come back to one another.
func TestJoints(t *testing.T) {
	joint := func(a, b int) [][2]float64 { return [][2]float64{{10, 0}} }
	for _, degrees := range []float64{0, 1, 45, 90, 170, 178, 182} {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		for back, want := range map[bool]int{false: 0, true: 1} {
			var l Lines
			l.Begin(0, 1)
			_ = l.Line(0, 0, 10, 0, 0)
			l.Begin(1, 0)
			x, y := 10+9*cos, 9*sin
			_ = l.Line(10, 0, x, y, 1)
			if back {
				_ = l.Line(x, y, 5, -3, 1)
				_ = l.Line(5, -3, 5, 3, 1)
			}
			work := MostWork
			if pairs, _ := l.Check(joint, &work); len(pairs) != want {
				t.Errorf("%g degrees, back %v: %v", degrees, back, pairs)
			}
		}
	}
	// Straight back over the same way is a touch.
	var l Lines
	l.Begin(0, 1)
	_ = l.Line(0, 0, 10, 0, 0)
	l.Begin(1, 0)
	_ = l.Line(10, 0, 4, 0, 1)
	work := MostWork
	if pairs, _ := l.Check(joint, &work); len(pairs) != 1 {
		t.Errorf("straight back: %v", pairs)
	}
}

// A line that is cut does not touch itself but at the cut, in whatever direction it goes,
// and however the points of its parts are rounded.
func TestPartsOfALine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := func(label string, lo, hi int) float64 { return float64(rapid.IntRange(lo, hi).Draw(t, label)) }
		// In steps of the grid, so that the cut lies on the line, or nearly so.
		a, way := vec{whole("x", -500, 500), whole("y", -500, 500)}, vec{whole("dx", -9, 9), whole("dy", 1, 9)}
		step := func(n float64) vec { return vec{a.x + way.x*n/perMM, a.y + way.y*n/perMM} }
		n := whole("long", 5000, 200000)
		m := math.Floor(n * rapid.Float64Range(0.1, 0.9).Draw(t, "cut"))
		b := step(n)
		for k := range 30 {
			cut, l := step(m+float64(k)/30), Lines{Overlap: float64(k%3) / 10}
			l.Begin(0, 1)
			_ = l.Line(a.x, a.y, cut.x, cut.y, 0)
			l.Begin(1, 0)
			_ = l.Line(cut.x, cut.y, b.x, b.y, 1)
			work := MostWork
			if pairs, _ := l.Check(func(_, _ int) [][2]float64 { return [][2]float64{{cut.x, cut.y}} }, &work); len(pairs) != 0 {
				t.Fatalf("%v to %v, cut at %v: %v", a, b, cut, pairs)
			}
		}
	})
}

// Like lines that lie on one another change places, also where others come between.
func TestLikeLinesChangePlaces(t *testing.T) {
	for last, want := range map[uint32]int{0: 0, 1: 2} {
		var l Lines
		for i, rank := range []int{2, 1, 0} { // the third is the first, over the second
			l.Begin(i, rank)
			hash := uint32(0)
			if i == 2 {
				hash = last
			}
			if i == 1 {
				_ = l.Line(5, -5, 5, 5, 7)
				continue
			}
			_ = l.Line(0, 0, 10, 0, hash)
			_ = l.Line(10, 0, 10, 3, hash)
		}
		work := MostWork
		pairs, whole := l.Check(func(a, b int) [][2]float64 { return nil }, &work)
		if want > 0 {
			want = 3 // each pair
		}
		if len(pairs) != want || !whole {
			t.Errorf("last %d: %v", last, pairs)
		}
	}
}

// Within windows the same pairs are found, each where its window is.
func TestWindowsFindThemAll(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(rt, "shapes")
		var all []shape
		for i := range n {
			all = append(all, drawShape(rt, n-i))
		}
		find := func(from, to float64, found map[[2]int]bool) {
			var l Lines
			l.Reset(from, to)
			for i := range all {
				if err := all[i].put(&l, i); err != nil {
					rt.Fatal(err)
				}
			}
			work := MostWork
			pairs, _ := l.Check(func(a, b int) [][2]float64 { return nil }, &work)
			for _, p := range pairs {
				found[[2]int{p.First, p.Second}] = true
			}
		}
		whole, parts := map[[2]int]bool{}, map[[2]int]bool{}
		find(math.Inf(-1), math.Inf(1), whole)
		find(math.Inf(-1), 6, parts)
		find(6, 13.25, parts)
		find(13.25, math.Inf(1), parts)
		for p := range whole {
			if !parts[p] && len(whole) < mostPairs {
				rt.Fatalf("%v and %v are not found", all[p[0]].v, all[p[1]].v)
			}
		}
	})
}
