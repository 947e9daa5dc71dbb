package nearby

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// What is nearest is that of a search through all, near-degenerate places included: on
// a lattice, on a line, at one place, and one far off.
func TestNearest(t *testing.T) {
	r := rand.New(rand.NewPCG(35, 36))
	for run := range 120 {
		at := make([][2]float64, 1+r.IntN(200))
		for k := range at {
			switch run % 4 {
			case 0:
				at[k] = [2]float64{math.Floor(12 * r.Float64()), math.Floor(9 * r.Float64())}
			case 1:
				at[k] = [2]float64{3 * r.Float64(), 0}
			case 2:
				at[k] = [2]float64{1e6 * math.Floor(r.Float64()+0.02), 1e-9 * r.Float64()}
			default:
				at[k] = [2]float64{r.Float64(), r.NormFloat64()}
			}
		}
		p := New(at)
		k := r.IntN(len(at))
		var want []int32
		for m := range at {
			if m != k {
				want = append(want, int32(m))
			}
		}
		slices.SortStableFunc(want, func(a, b int32) int { return cmp.Compare(p.Apart(k, int(a)), p.Apart(k, int(b))) })
		if got := p.Nearest(k); !slices.Equal(got, want[:min(Count, len(want))]) {
			t.Fatalf("run %d, %d places: %v, want %v", run, len(at), got, want[:min(Count, len(want))])
		}
		var seen []int32
		for _, b := range p.Blocks(30) {
			if len(b) > 30 || len(b) < min(15, len(at)) {
				t.Fatalf("a block of %d places", len(b))
			}
			seen = append(seen, b...)
		}
		slices.Sort(seen)
		if seen = slices.Compact(seen); len(seen) != len(at) {
			t.Fatalf("the blocks hold %d of %d places", len(seen), len(at))
		}
	}
}

// Beside a node of a lattice are the eight around it, at a corner three.
func TestBeside(t *testing.T) {
	var at [][2]float64
	for k := range 30 {
		at = append(at, [2]float64{float64(k % 6), float64(k / 6)})
	}
	p := New(at)
	if n := len(p.Beside(14)); n != 8 {
		t.Errorf("%d beside a node", n)
	}
	if got := slices.Sorted(slices.Values(p.Beside(0))); !slices.Equal(got, []int32{1, 6, 7}) {
		t.Errorf("%v beside a corner", got)
	}
}
