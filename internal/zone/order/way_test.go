package order

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// costOf is what a visit's steps take, reckoned anew.
func costOf(parts []part, o Options, v Visit, steps []Step) (c cost) {
	for i, s := range steps {
		to := parts[s.Piece].burns[0]
		if i == 0 {
			if o.From != nil {
				if at, ok := o.From(v.Zone); ok {
					c.length += math.Hypot(to.x0-at[0], to.y0-at[1])
				}
			}
			continue
		}
		burns := parts[steps[i-1].Piece].burns
		from := burns[len(burns)-1]
		a, b := [2]float64{from.x1, from.y1}, [2]float64{to.x0, to.y0}
		length := math.Hypot(a[0]-b[0], a[1]-b[1])
		c.length += length
		side := func(at [2]float64) int {
			if o.Side == nil {
				return -1
			}
			return o.Side(v.Zone, at[0], at[1])
		}
		if s := side(a); length > 1e-5 && (s < 0 || s != side(b)) && (o.Clear == nil || !o.Clear(v.Zone, a, b)) {
			c.lifts++
		}
	}
	return c
}

// A visit takes no more lifts than its pieces in the original's order, and with as
// many no longer way; without rules about marks that order always may be had.
func TestNeverWorseThanTheOriginal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zones := rapid.IntRange(1, 3).Draw(t, "zones")
		parts := drawJob(t, zones)
		o := drawOptions(t, zones)
		o.MarksFirst = false
		for _, v := range jobOf(parts, o).Order().Visits {
			plain := slices.Clone(v.Steps)
			slices.SortFunc(plain, func(a, b Step) int { return a.Piece - b.Piece })
			if slices.ContainsFunc(v.Steps, func(s Step) bool { return s.Joined || parts[s.Piece].last }) {
				continue
			}
			got, was := costOf(parts, o, v, v.Steps), costOf(parts, o, v, plain)
			if got.lifts > was.lifts || got.lifts == was.lifts && got.length > was.length+0.001*float64(len(plain)) {
				t.Fatalf("zone %d takes %v, the original %v", v.Zone, got, was)
			}
		}
	})
}

// One side of a crown is burned wholly, then the other; rows go on as they go in
// the original.
func TestOneSideThenTheOther(t *testing.T) {
	for _, serpentine := range []bool{false, true} {
		j := raster(75, 4, serpentine)
		for _, v := range j.Order().Visits {
			tr := &trip{j: j, zone: v.Zone}
			for _, s := range v.Steps {
				if s.Piece < 75*7 {
					tr.pieces = append(tr.pieces, int32(s.Piece))
				}
			}
			tr.look()
			lifts, turns := 0, 0
			for i := 1; i < len(tr.pieces); i++ {
				lifts += tr.step(int32(i-1), int32(i)).lifts
				if d := j.pieces[tr.pieces[i]].figure - j.pieces[tr.pieces[i-1]].figure; d != 1 && d != -1 {
					turns++
				}
			}
			if lifts > 1 || turns > 1 {
				t.Errorf("serpentine %t: zone %d takes %d lifts, leaves the order of rows %d times", serpentine, v.Zone, lifts, turns)
			}
		}
	}
}

// A closed figure whose ends are in one zone goes through its start, where it may.
func TestClosedFiguresAreJoined(t *testing.T) {
	o := Options{Rank: []int{0, 1}, Lens: []int{0, 0}}
	j := New(o)
	quarter := func(zone, k int) {
		j.Piece(zone, 0, false)
		j.Arc(5, 5, 4, 4, float64(k)*math.Pi/2, math.Pi/2)
	}
	quarter(0, 0)
	quarter(1, 1)
	quarter(0, 2)
	quarter(1, 3)
	// Ends in different zones: nothing to join.
	want := "[{0 [{0 false} {2 false}]} {1 [{1 false} {3 false}]}]"
	if got := fmt.Sprint(j.Order().Visits); got != want {
		t.Errorf("%s, want %s", got, want)
	}
	j = New(o)
	quarter(0, 0)
	quarter(1, 1)
	quarter(0, 2)
	quarter(0, 3)
	want = "[{0 [{3 false} {0 true} {2 false}]} {1 [{1 false}]}]"
	if got := fmt.Sprint(j.Order().Visits); got != want {
		t.Errorf("%s, want %s", got, want)
	}
	// A mark across the start, between the end and the beginning of the figure.
	j = New(o)
	quarter(0, 0)
	quarter(1, 1)
	quarter(0, 2)
	j.Piece(0, 1, false)
	j.Line(8, 6, 10, 6)
	want = "[{0 [{2 false} {0 true} {3 false}]} {1 [{1 false}]}]"
	if got := fmt.Sprint(j.Order().Visits); got == want {
		t.Errorf("%s: a figure that is open is joined", got)
	}
}

// A figure is not left for another where nothing asks for it, and what asks for it
// is met.
func TestFiguresStayWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zones := rapid.IntRange(1, 3).Draw(t, "zones")
		var parts []part
		for f := range rapid.IntRange(1, 8).Draw(t, "figures") {
			// Rows that nothing touches, in several pieces each.
			for k := range rapid.IntRange(1, 5).Draw(t, "pieces") {
				x := float64(4 * k)
				parts = append(parts, part{
					zone: rapid.IntRange(0, zones-1).Draw(t, "zone"), figure: f,
					burns: []burn{{x, float64(f), x + 3, float64(f)}},
				})
			}
		}
		o := drawOptions(t, zones)
		o.Side = nil
		for _, v := range jobOf(parts, o).Order().Visits {
			seen := map[int]bool{}
			for i, s := range v.Steps {
				f := parts[s.Piece].figure
				if i > 0 && parts[v.Steps[i-1].Piece].figure == f {
					if s.Piece < v.Steps[i-1].Piece {
						t.Fatalf("piece %d goes before %d", s.Piece, v.Steps[i-1].Piece)
					}
					continue
				}
				if seen[f] {
					t.Fatalf("figure %d is left and taken up again: %v", f, v)
				}
				seen[f] = true
			}
		}
	})
}
