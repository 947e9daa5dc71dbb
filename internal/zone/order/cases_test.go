package order

import (
	"fmt"
	"testing"
)

func box(x, y, w, h float64) []burn {
	return []burn{{x, y, x + w, y}, {x + w, y, x + w, y + h}, {x + w, y + h, x, y + h}, {x, y + h, x, y}}
}

func lineOf(at ...float64) (all []burn) {
	for i := 2; i < len(at); i += 2 {
		all = append(all, burn{at[i-2], at[i-1], at[i], at[i+1]})
	}
	return all
}

// What goes first where something lies inside of something else. Each figure is
// one piece; all are in one zone, so that only the order within it says.
func TestWhatGoesFirst(t *testing.T) {
	mark := lineOf(5, 5, 6, 5)
	for _, c := range []struct {
		name    string
		parts   []part
		cutting bool
		earlier [][2]int // pairs of which the first has to go first
		free    [][2]int // pairs of which the first need not
	}{
		{"a mark in a box", []part{{burns: box(0, 0, 9, 9)}, {burns: mark}}, false, [][2]int{{0, 1}}, nil},
		{"a mark beside a box", []part{{burns: box(0, 0, 4, 9)}, {burns: mark}}, false, nil, [][2]int{{0, 1}}},
		{"a mark in a box that is drawn twice round", []part{{burns: append(box(0, 0, 9, 9), box(0, 0, 9, 9)...)}, {burns: mark}}, false, [][2]int{{0, 1}}, nil},
		{"a mark in a box of two lines", []part{{burns: lineOf(0, 0, 9, 0, 9, 9)}, {burns: lineOf(0, 0, 0, 9, 9, 9)}, {burns: mark}}, false, [][2]int{{0, 2}, {1, 2}}, nil},
		{"a mark in a box of two lines that do not meet", []part{{burns: lineOf(0, 0, 9, 0, 9, 9)}, {burns: lineOf(0, 0, 0, 9, 8, 9)}, {burns: mark}}, false, nil, [][2]int{{0, 2}, {1, 2}}},
		{"a mark in the right of two rooms", []part{
			{burns: lineOf(4, 0, 4, 9)}, {burns: lineOf(4, 0, 0, 0, 0, 9, 4, 9)}, {burns: lineOf(4, 0, 9, 0, 9, 9, 4, 9)}, {burns: mark},
		}, false, [][2]int{{0, 3}, {2, 3}}, nil},
		{"the left of two rooms", []part{
			{burns: lineOf(4, 0, 4, 9)}, {burns: lineOf(4, 0, 9, 0, 9, 9, 4, 9)}, {burns: lineOf(4, 0, 0, 0, 0, 9, 4, 9)}, {burns: mark},
		}, false, [][2]int{{0, 3}, {1, 3}}, [][2]int{{2, 3}}},
		{"a room with a tail", []part{{burns: lineOf(0, 0, 9, 0, 9, 9)}, {burns: lineOf(9, 9, 0, 9, 0, 0)}, {burns: lineOf(0, 0, -5, -5)}, {burns: lineOf(-5, -5, -9, -5)}, {burns: mark}}, false, [][2]int{{0, 4}, {1, 4}}, [][2]int{{2, 4}, {3, 4}}},
		{"a box with a way in and a way out", []part{{burns: lineOf(-3, -1, 0, 0, 9, 0, 9, 9, 0, 9, 0, 0, -3, 1)}, {burns: mark}}, false, [][2]int{{0, 1}}, nil},
		{"a mark beside such a box", []part{{burns: lineOf(8, 0, 8, 1, 9, 1, 9, 9, 8, 9, 8, 1, 7, -9)}, {burns: mark}}, false, nil, [][2]int{{0, 1}}},
		{"a box whose end goes on over its beginning", []part{{burns: lineOf(4, 0, 9, 0, 9, 9, 0, 9, 0, 0, 6, 0)}, {burns: mark}}, false, [][2]int{{0, 1}}, nil},
		{"a box whose end lies on it", []part{{burns: lineOf(4, -4, 4, 0, 9, 0, 9, 9, 0, 9, 0, 0, 4, 0, 4, -2)}, {burns: mark}}, false, [][2]int{{0, 1}}, nil},
		{"a hook", []part{{burns: lineOf(0, 0, 9, 0, 9, 9, 0, 9, 0, 1)}, {burns: mark}}, false, nil, [][2]int{{0, 1}}},
		{"a cut around a cut", []part{{cuts: true, burns: box(0, 0, 9, 9)}, {cuts: true, burns: box(4, 4, 2, 2)}}, true, [][2]int{{1, 0}}, nil},
		{"a cut around a cut around a cut", []part{{cuts: true, burns: box(4, 4, 2, 2)}, {cuts: true, burns: box(0, 0, 9, 9)}, {cuts: true, burns: box(3, 3, 4, 4)}}, true, [][2]int{{0, 2}, {2, 1}}, nil},
		{"two cuts across one another", []part{{cuts: true, burns: box(0, 0, 9, 9)}, {cuts: true, burns: box(4, 4, 9, 9)}}, true, [][2]int{{0, 1}}, nil},
		{"a cut that a cut inside touches", []part{{cuts: true, burns: box(0, 0, 9, 9)}, {cuts: true, burns: box(0, 4, 2, 2)}}, true, [][2]int{{0, 1}}, nil},
		{"a mark over a cut", []part{{cuts: true, burns: mark}, {burns: mark}, {burns: lineOf(20, 0, 21, 0)}}, true, [][2]int{{0, 1}, {2, 0}}, nil},
		{"a mark in a cut that a mark before it lies over", []part{{cuts: true, burns: box(0, 0, 9, 9)}, {burns: box(0, 3, 7, 5)}, {burns: mark}}, true, [][2]int{{0, 1}, {2, 0}}, [][2]int{{1, 2}}},
		{"a mark behind a cut", []part{{cuts: true, burns: mark}, {burns: lineOf(20, 0, 21, 0)}}, true, [][2]int{{1, 0}}, nil},
	} {
		for k := range c.parts {
			c.parts[k].figure = k
		}
		g, _ := precedence(jobOf(c.parts, Options{Rank: []int{0}, Lens: []int{0}, MarksFirst: c.cutting}))
		for _, e := range c.earlier {
			if !reachable(g, int32(e[0]), int32(e[1])) {
				t.Errorf("%s: %d need not go before %d", c.name, e[0], e[1])
			}
		}
		for _, e := range c.free {
			if reachable(g, int32(e[0]), int32(e[1])) {
				t.Errorf("%s: %d has to go before %d", c.name, e[0], e[1])
			}
		}
	}
}

func reachable(g *graph, a, b int32) bool {
	if a == b {
		return true
	}
	for _, to := range g.after(a) {
		if reachable(g, to, b) {
			return true
		}
	}
	return false
}

// A figure is left where something else has to come in between, and its ends are
// joined only where nothing has to.
func TestWhatComesInBetween(t *testing.T) {
	one := Options{Rank: []int{0, 1}, Lens: []int{0, 0}}
	away := part{zone: 1, burns: lineOf(2, 0, 3, 0)}
	parts := []part{
		{burns: lineOf(0, 0, 2, 0)}, away, {burns: lineOf(3, 0, 5, 0, 5, 5)},
		{figure: 1, burns: lineOf(1, -1, 1, 6)},
		{figure: 2, burns: lineOf(0, 1, 6, 1)},
	}
	// Nothing asks for it.
	if got, want := fmt.Sprint(jobOf(parts, one).Order().Visits[0].Steps), "[{0 false} {2 false} {3 false} {4 false}]"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	// A line over the first part and under the second, as if a figure went on later.
	g := newGraph([]int32{0, 1, 0, 0, 0}, []edge{{0, 3}, {3, 2}, {2, 4}})
	j := jobOf(parts, one)
	v := one.plan(g, -1)
	j.trips(g, &v, func(tr *trip) {
		if tr.zone == 0 {
			if got, want := fmt.Sprint(tr.steps().Steps[:3]), "[{0 false} {3 false} {2 false}]"; got != want {
				t.Errorf("%s, want %s", got, want)
			}
		}
	})
	// The end of a box goes over a line that goes over its beginning.
	ring := []part{
		{burns: lineOf(0, 0, 9, 0)}, {zone: 1, burns: lineOf(9, 0, 9, 9)}, {burns: lineOf(9, 9, 0, 9, 0, 0)},
		{figure: 1, burns: lineOf(20, 0, 21, 0)},
	}
	for _, c := range []struct {
		edges []edge
		want  string
	}{
		{nil, "[{2 false} {0 true} {3 false}]"},
		{[]edge{{0, 3}, {3, 2}}, "[{0 false} {3 false} {2 false}]"},
		{[]edge{{0, 2}}, "[{0 false} {2 false} {3 false}]"},
	} {
		g := newGraph([]int32{0, 1, 0, 0}, c.edges)
		j := jobOf(ring, one)
		v := one.plan(g, -1)
		j.trips(g, &v, func(tr *trip) {
			if got := fmt.Sprint(tr.steps().Steps); tr.zone == 0 && got != c.want {
				t.Errorf("%s, want %s", got, c.want)
			}
		})
	}
}
