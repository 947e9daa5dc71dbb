package order

import (
	"testing"

	"pgregory.net/rapid"
)

// drawGraph draws pieces in zones, of which some must wait for earlier ones, now
// and then by way of a node of no zone.
func drawGraph(t *rapid.T, zones, most int) *graph {
	n := rapid.IntRange(1, most).Draw(t, "pieces")
	zone := make([]int32, n)
	for i := range zone {
		zone[i] = int32(rapid.IntRange(0, zones-1).Draw(t, "zone"))
	}
	var edges []edge
	for b := range n {
		for a := range b {
			if rapid.IntRange(0, 5).Draw(t, "edge") == 0 {
				edges = append(edges, edge{int32(a), int32(b)})
			}
		}
	}
	if mid := rapid.IntRange(0, n-1).Draw(t, "gate"); mid > 0 {
		gate := int32(n)
		zone = append(zone, -1)
		for i := range n {
			switch rapid.IntRange(0, 3).Draw(t, "at the gate") {
			case 0:
				if i < mid {
					edges = append(edges, edge{int32(i), gate})
				} else {
					edges = append(edges, edge{gate, int32(i)})
				}
			}
		}
	}
	return newGraph(zone, edges)
}

// fewestVisits is the least number of visits, found by trying all.
func fewestVisits(g *graph, zones int, late int32) int {
	reach := func(done uint32, z int32) uint32 {
		for again := true; again; {
			again = false
			for n := range g.zone {
				if done>>n&1 != 0 || g.zone[n] >= 0 && g.zone[n] != z {
					continue
				}
				free := true
				for m := range g.zone {
					for _, to := range g.after(int32(m)) {
						free = free && (int(to) != n || done>>m&1 != 0)
					}
				}
				if free {
					done |= 1 << n
					again = true
				}
			}
		}
		return done
	}
	type state struct {
		done uint32
		zone int32
	}
	all := uint32(1)<<len(g.zone) - 1
	now := map[state]bool{{reach(0, -1), -1}: true}
	for n := 0; ; n++ {
		some := false
		for s := range now {
			if s.done == all && (late < 0 || s.zone == late) {
				return n
			}
			some = some || s.done == all
		}
		if some {
			return n + 1
		}
		next := map[state]bool{}
		for s := range now {
			for z := range zones {
				if done := reach(s.done, int32(z)); done != s.done {
					next[state{done, int32(z)}] = true
				}
			}
		}
		now = next
	}
}

// Each piece is in a visit of its zone, none before what it waits for, and there
// are as few visits as trying all finds, nearly always.
func TestVisits(t *testing.T) {
	cases, more, hard := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		zones := rapid.IntRange(1, 4).Draw(t, "zones")
		g := drawGraph(t, zones, 12)
		o := drawOptions(t, zones)
		late := int32(rapid.IntRange(-1, zones-1).Draw(t, "late"))
		v := o.plan(g, late)
		for n, z := range g.zone {
			if z >= 0 && (v.of[n] < 0 || v.zones[v.of[n]] != z) {
				t.Fatalf("node %d of zone %d is in visit %d of %v", n, z, v.of[n], v.zones)
			}
			for _, to := range g.after(int32(n)) {
				if v.of[n] > v.of[to] {
					t.Fatalf("node %d comes behind %d", n, to)
				}
			}
		}
		got, want := settings(v.zones, late), fewestVisits(g, zones, late)
		if got < want {
			t.Fatalf("%d visits, where there must be %d", got, want)
		}
		cases++
		if want > 3 {
			hard++
		}
		if got > want {
			more++
			if got > want+1 {
				t.Fatalf("%d visits where %d would do", got, want)
			}
		}
	})
	t.Logf("of %d cases, %d of which need more than three, %d have a visit more than needed", cases, hard, more)
	if more*10 > cases {
		t.Errorf("of %d cases %d have a visit more than needed", cases, more)
	}
}
