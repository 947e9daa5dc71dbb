package setup

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/surface"
)

// From one cell it is as far as sweeps find, over the seam of a turn too.
func TestFarFromOne(t *testing.T) {
	flat := NewMarks(stock(t, func(x, y float64) float64 { return 1 }))
	round := NewMarks(round240(t, surface.Placement{}))
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom([]*Marks{flat, round}).Draw(t, "stock")
		one := rapid.IntRange(0, markCells*markCells-1).Draw(t, "cell")
		from := new(cells)
		from.put(one)
		if c, more := from.first(); c != one || more {
			t.Fatal(c, more)
		}
		swept, far := m.swept(from), m.distances(from)
		for c, want := range swept {
			if got := far(c); math.Abs(got-want) > 1e-9*want {
				t.Fatalf("from %d to %d: %g, not %g", one, c, got, want)
			}
		}
		other := rapid.IntRange(0, markCells*markCells-1).Draw(t, "other")
		from.put(other)
		if c, more := from.first(); more != (one != other) || c != min(one, other) && !more {
			t.Fatal(c, more)
		}
	})
}

// All places of a mesh are there once, those near before those further off.
func TestAround(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		i0, j0 := rapid.IntRange(0, meshSide-1).Draw(t, "i"), rapid.IntRange(0, meshSide-1).Draw(t, "j")
		seen, ring := map[[2]int]bool{}, 0
		for i, j := range around(i0, j0) {
			r := max(i-i0, i0-i, j-j0, j0-j)
			if r < ring || seen[[2]int{i, j}] || min(i, j) < 0 || max(i, j) >= meshSide {
				t.Fatalf("%d, %d at ring %d", i, j, ring)
			}
			ring, seen[[2]int{i, j}] = r, true
		}
		if len(seen) != meshSide*meshSide {
			t.Fatalf("%d places", len(seen))
		}
	})
}
