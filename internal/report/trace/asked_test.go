package trace

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// Where burns ask for different depths and defocus, however many stretches that makes: what
// is left of the depth, where c may be and the worst place are those of the steps, and a
// stretch that stands for burns of one kind alone has what they ask for.
func TestStretchesOfSeveralKinds(t *testing.T) {
	kinds := []depth{{0.5, 1, 0}, {0.1, 0.2, 0}, {1, 1, 0}, {0.5, 1, -1.5}}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{0, 2, 50, 4001, 15000}).Draw(t, "steps")
		w := &walker{r: rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)), kind: rapid.IntRange(0, 4).Draw(t, "kind")}
		runs := rapid.SampledFrom([]int{1, 5, 300}).Draw(t, "runs")
		k := NewKeeper(true)
		k.Begin(Program{Near: kinds[0].near, Far: kinds[0].far})
		left, right, worst, kind, may := math.Inf(1), math.Inf(1), -1.0, 0, Empty()
		for range n {
			s := w.step()
			if w.r.IntN(runs) == 0 {
				kind = w.r.IntN(len(kinds))
			}
			if d := kinds[kind]; kind > 0 {
				s.Near, s.Far, s.WantedMM = d.near, d.far, d.defocus
			}
			d := kinds[kind]
			if s.Burns && !s.NoHeight {
				for _, e := range []*Extent{&s.Defocus, &s.Spent} {
					e.Lo, e.Hi = e.Lo-d.defocus, e.Hi-d.defocus
				}
				left, right = min(left, d.near+s.Defocus.Lo), min(right, d.far-s.Defocus.Hi)
				worst = max(worst, -d.part(s.Defocus.Lo), d.part(s.Defocus.Hi))
				may.Join(Range{s.Height.Lo + d.defocus - d.near, s.Height.Hi + d.defocus + d.far})
			}
			k.Take(s)
		}
		k.End(n, orb.Bound{})
		tr := k.Trace()
		if len(tr.Stretches) > mostStretches {
			t.Fatalf("%d stretches", len(tr.Stretches))
		}
		left2, right2, may2 := math.Inf(1), math.Inf(1), Empty()
		for i := range tr.Stretches {
			s := &tr.Stretches[i]
			if !s.Burns || s.Height.IsEmpty() {
				continue
			}
			left2, right2 = min(left2, s.Near+s.Defocus.Lo), min(right2, s.Far-s.Defocus.Hi)
			m, must := s.Windows(s.Height)
			may2.Join(m)
			if must.Lo < m.Lo-1e-9 || must.Hi > m.Hi+1e-9 || min(s.Near, s.Far) < 0.1-1e-9 || max(s.Near, s.Far) > 1+1e-9 && !s.Several {
				t.Fatalf("stretch %d: %+v", i, s)
			}
			is := false
			for _, d := range kinds {
				is = is || d == depth{s.Near, s.Far, s.WantedMM}
			}
			if !s.Several && !is || s.Several && s.Line == s.LastLine {
				t.Fatalf("stretch %d is of none of the kinds: %+v", i, s)
			}
		}
		near := func(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-9 }
		if !near(left, left2) || !near(right, right2) || !near(may.Lo, may2.Lo) || !near(may.Hi, may2.Hi) {
			t.Fatalf("left %v and %v within %v, told %v and %v within %v", left, right, may, left2, right2, may2)
		}
		if worst < 0 != (len(tr.Worst) == 0) || worst >= 0 && !near(math.Abs(tr.Worst[0].Defocus)/tr.Worst[0].Depth, worst) {
			t.Fatalf("worst %+v, want %v of the depth", tr.Worst, worst)
		}
	})
}
