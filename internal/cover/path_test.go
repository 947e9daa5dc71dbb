package cover

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawn is a step of a drawn path: a stretch of burn number burn.
type drawn struct {
	Stretch
	burn   int
	change int64
}

// The path has the least cost of all ways through the settings that serve each
// step: few cuts first, then few changes in runs, then few on travels. A part
// goes on as long as its setting does, and may reach as far as it serves.
func TestPathIsCheapest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var p Path
		var steps []drawn
		var parts []Part
		base := rapid.IntRange(0, 1).Draw(t, "base")
		burns := rapid.IntRange(1, 5).Draw(t, "burns")
		for b := range burns {
			joined := rapid.Bool().Draw(t, "joined")
			meets := Meeting{Joined: joined, Turn: rapid.SampledFrom([]float64{0, 0, 1}).Draw(t, "turn"), At: rapid.SampledFrom([]float64{0, 0.1, 0.5, 0.9}).Draw(t, "at")}
			list := make([]Stretch, rapid.SampledFrom([]int{1, 1, 2, 3}).Draw(t, "stretches"))
			for k := range list {
				st := Stretch{End: float64(k+1) / float64(len(list)), First: rapid.IntRange(0, 3).Draw(t, "first"),
					N: rapid.SampledFrom([]int{1, 2, 2, 3, 6}).Draw(t, "n"), middle: rapid.Bool().Draw(t, "middle")}
				list[k] = st
				change := cut
				switch {
				case k > 0 && !st.middle:
					change += edge
				case k == 0:
					change = map[bool]int64{false: travel, true: joint}[joined]
				}
				st.First += base
				steps = append(steps, drawn{st, b, change})
			}
			if len(list) == 1 {
				p.Burn(base+list[0].First, list[0].N, meets)
			} else {
				p.Divided(list, base, meets)
			}
			if p.Sure() {
				parts = append(parts, p.Settle()...) // without loss
			}
		}
		parts = append(parts, p.Settle()...)

		cost := func(z []int) (c int64) {
			for i := 1; i < len(z); i++ {
				if z[i] != z[i-1] {
					c += steps[i].change
				}
			}
			return c
		}
		best := int64(math.MaxInt64)
		z := make([]int, len(steps))
		if len(steps) <= 8 {
			var try func(i int)
			try = func(i int) {
				if i == len(steps) {
					best = min(best, cost(z))
					return
				}
				for k := range steps[i].N {
					z[i] = steps[i].First + k
					try(i + 1)
				}
			}
			try(0)
		}
		i := 0
		for n, q := range parts {
			if q.Last != (n+1 == len(parts) || q.End == 1) {
				t.Fatalf("%+v", parts)
			}
			reach := 0.0
			burn := steps[i].burn
			for k := i; k < len(steps) && steps[k].burn == burn; k++ {
				if s := &steps[k]; q.Setting < s.First || q.Setting >= s.First+s.N {
					break
				}
				reach = steps[k].End
			}
			if reach != q.Reach || q.End > reach {
				t.Fatalf("%+v reaches %g", q, reach)
			}
			for ; i < len(steps) && steps[i].burn == burn && steps[i].End <= q.End; i++ {
				z[i] = q.Setting
			}
			if !q.Last && parts[n+1].Setting == q.Setting {
				t.Fatalf("a part goes on: %+v", parts)
			}
		}
		if i != len(steps) {
			t.Fatalf("%d steps of %d are given settings: %+v", i, len(steps), parts)
		}
		if got := cost(z); len(steps) <= 8 && got != best {
			t.Fatalf("%v costs %d, the least is %d", z, got, best)
		}
		if !p.moving || p.at != z[len(z)-1] {
			t.Fatalf("at %d, %v", p.at, p.moving)
		}
	})
}

// Costs are in order: the least of one is more than many of the next.
func TestCostsAreInOrder(t *testing.T) {
	const many = 1 << 19
	if edge >= travel || travel*many >= joint || joint*many >= cut || cut+edge >= never {
		t.Error("costs are out of order")
	}
}

// Where a change costs the same at several meetings, it is at the fraction of them that
// is asked for, else where the path turns most; whether what comes before is settled
// or not.
func TestChangesWhereAsked(t *testing.T) {
	for _, c := range []struct {
		at   float64
		turn int // the meeting at which the path turns
		want int // the burn that changes
	}{{0, 4, 4}, {0, 10, 10}, {0.01, 4, 1}, {0.5, 4, 6}, {0.8, 4, 9}, {0.99, 4, 11}} {
		for _, settled := range []bool{false, true} {
			var p Path
			p.Burn(0, 1, Meeting{})
			var parts []Part
			if settled {
				parts = append(parts, p.Settle()...)
			}
			for k := 1; k <= 10; k++ {
				m := Meeting{Joined: true, At: c.at}
				if k == c.turn {
					m.Turn = 1
				}
				p.Burn(0, 2, m)
			}
			p.Burn(1, 1, Meeting{Joined: true, At: c.at})
			parts = append(parts, p.Settle()...)
			for k, q := range parts {
				if want := map[bool]int{true: 1}[k >= c.want]; len(parts) != 12 || q.Setting != want {
					t.Fatalf("%+v, settled %v: burn %d of %+v", c, settled, k, parts)
				}
			}
		}
	}
}
