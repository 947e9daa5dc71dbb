package round

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"
)

// stretch is what one call of Next is given.
type stretch struct{ step, length, steepest, c0, c1 float64 }

// furthest is the greatest a·C + b·P that the path can reach at the end of the stretches, from
// C and P 0, by a linear programme; false where there is no path.
func furthest(ways []stretch, a, b float64) (float64, bool) {
	// The slope of stretch k is u[k] - steepest; C behind it the sum of slopes times
	// lengths. Every limit is a row G·u <= h.
	n := len(ways)
	var g [][]float64
	var h []float64
	row := func(limit float64, at func(k int) float64) {
		r := make([]float64, n)
		for k := range r {
			r[k] = at(k)
			limit += r[k] * ways[k].steepest
		}
		g, h = append(g, r), append(h, limit)
	}
	for q := range ways {
		w := ways[q]
		row(w.steepest, func(k int) float64 { return one(k == q) })
		for _, s := range [2]float64{1, -1} {
			row(w.step, func(k int) float64 { return s * (one(k == q) - one(k == q-1)) })
			limit := w.c1
			if s < 0 {
				limit = -w.c0
			}
			row(limit, func(k int) float64 { return s * ways[k].length * one(k <= q) })
		}
	}
	m := len(g)
	rows, rights := mat.NewDense(m, n+m, nil), make([]float64, m)
	for i := range g {
		s := 1.0
		if h[i] < 0 {
			s = -1
		}
		for k, v := range g[i] {
			rows.Set(i, k, s*v)
		}
		rows.Set(i, n+i, s)
		rights[i] = s * h[i]
	}
	cost, off := make([]float64, n+m), 0.0
	for k := range ways {
		cost[k] = -(a*ways[k].length + b*one(k == n-1))
		off += cost[k] * ways[k].steepest
	}
	least, _, err := lp.Simplex(cost, rows, rights, 1e-10, nil)
	return -(least - off), err == nil
}

func one(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// In every direction a set reaches as far as the best path does.
func TestNextIsWhatCanBeReached(t *testing.T) {
	closed := 0
	rapid.Check(t, func(t *rapid.T) {
		var ways []stretch
		s := Box(0, 0, 0, 0)
		mid := 0.0
		for range rapid.IntRange(1, 7).Draw(t, "stretches") {
			mid += rapid.Float64Range(-0.3, 0.3).Draw(t, "mid")
			half := rapid.SampledFrom([]float64{1e-6, 0.01, 0.1, 0.5, 3}).Draw(t, "half")
			w := stretch{
				step:   rapid.SampledFrom([]float64{1e-3, 0.05, 0.2, 1}).Draw(t, "step"),
				length: rapid.SampledFrom([]float64{0.05, 1, 2.5}).Draw(t, "length"), steepest: rapid.SampledFrom([]float64{0.2, 2}).Draw(t, "steepest"),
				c0: mid - half, c1: mid + half,
			}
			ways = append(ways, w)
			s.Next(&s, w.step, w.length, w.steepest, w.c0, w.c1)
			if s.Empty() {
				break
			}
		}
		a := rapid.Float64Range(0, 2*math.Pi).Draw(t, "direction")
		best, ok := furthest(ways, math.Cos(a), math.Sin(a))
		if !ok && s.Empty() {
			closed++
			return
		}
		if ok == s.Empty() {
			if !ok || len(ways) < 2 { // the solver's own tolerance
				return
			}
			t.Fatalf("%+v: there is a way to %g, and the set is empty", ways, best)
		}
		far := math.Inf(-1)
		for _, q := range s.Pairs() {
			far = max(far, q.C*math.Cos(a)+q.P*math.Sin(a))
		}
		if far > best+1e-7 {
			t.Fatalf("%+v: the set reaches %g, and no path further than %g", ways, far, best)
		}
		if far < best-1e-7-0.01*math.Abs(best)*one(len(s.Pairs()) == Most) {
			t.Fatalf("%+v: the set reaches %g, and a path %g", ways, far, best)
		}
	})
	if closed == 0 {
		t.Log("no way was closed")
	}
}

// Slopes at a C are those on the edges of the set, to the last bit of its bounds.
func TestSlopes(t *testing.T) {
	s := Box(0, 0, 0, 0)
	s.Next(&s, 1, 2, 10, -5, 5) // from (-2, -1) to (2, 1)
	for _, c := range []struct{ c, least, most float64 }{{0, 0, 0}, {1, 0.5, 0.5}, {2, 1, 1}, {9, 1, 1}, {-9, -1, -1}} {
		if least, most := s.Slopes(c.c); least != c.least || most != c.most {
			t.Errorf("slopes at %g: %g to %g, want %g to %g", c.c, least, most, c.least, c.most)
		}
	}
	s.Next(&s, 1, 2, 10, -5, 5)
	least, most := s.Slopes(0)
	if math.Abs(least+most) > 1e-15 || math.Abs(most-0.5) > 1e-12 { // from (1, 0.5) turned by 1
		t.Errorf("slopes at 0: %g to %g, want ±0.5", least, most)
	}
}

// What is empty stays so.
func TestEmpty(t *testing.T) {
	s := Box(1, 0, 0, 0)
	if s.Next(&s, 1, 1, 1, -1, 1); !s.Empty() {
		t.Error("something is reached from nowhere")
	}
	s = Box(0, 0, 0, 0)
	if s.Next(&s, 0.1, 1, 1, 0.2, 3); !s.Empty() {
		t.Error("a window is reached that is out of reach")
	}
}
