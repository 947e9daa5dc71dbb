package order

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// apart is how far two burns are from one another, by nothing but sampling of
// one and the nearest point of the other.
func apart(a, b burn) float64 {
	least := math.Inf(1)
	for _, ab := range [][2]burn{{a, b}, {b, a}} {
		a, b := ab[0], ab[1]
		const n = 2000
		for i := range n + 1 {
			f := float64(i) / n
			least = min(least, distance(a.x0+f*(a.x1-a.x0), a.y0+f*(a.y1-a.y0), b))
		}
	}
	return least
}

func distance(x, y float64, b burn) float64 {
	dx, dy := b.x1-b.x0, b.y1-b.y0
	f := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		f = min(max(((x-b.x0)*dx+(y-b.y0)*dy)/l, 0), 1)
	}
	return math.Hypot(x-b.x0-f*dx, y-b.y0-f*dy)
}

// touching reports whether two pieces certainly touch.
func touching(a, b part) bool {
	for _, p := range a.burns {
		for _, q := range b.burns {
			if apart(p, q) < 0.0025 {
				return true
			}
		}
	}
	return false
}

// waiting tells of each piece whether it cuts, or may have to wait for one that does:
// all that overlaps one such that is burned earlier, or is of a figure that does.
func waiting(parts []part) []bool {
	box := func(p part) (x0, y0, x1, y1 float64) {
		x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
		for _, b := range line(parts, ofFigure(parts, p.figure)) {
			x0, y0 = min(x0, b.x0, b.x1), min(y0, b.y0, b.y1)
			x1, y1 = max(x1, b.x0, b.x1), max(y1, b.y0, b.y1)
		}
		return
	}
	waits := make([]bool, len(parts))
	for again := true; again; {
		again = false
		for b, q := range parts {
			for a, p := range parts {
				if waits[b] || !(q.cuts || waits[a] && (a < b || p.figure == q.figure)) {
					continue
				}
				x0, y0, x1, y1 := box(p)
				u0, v0, u1, v1 := box(q)
				const d = 0.01
				if q.cuts || x0-d <= u1 && u0-d <= x1 && y0-d <= v1 && v0-d <= y1 {
					waits[b], again = true, true
				}
			}
		}
	}
	return waits
}

func ofFigure(parts []part, figure int) (all []int) {
	for i, p := range parts {
		if p.figure == figure {
			all = append(all, i)
		}
	}
	return all
}

// Every piece is burned once, in its zone, and pieces of different figures that
// touch keep the original's order. Marks go before cuts, as far as that lets them.
func TestOrderIsKeptWhereBurnsTouch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zones := rapid.IntRange(1, 4).Draw(t, "zones")
		parts := drawJob(t, zones)
		o := drawOptions(t, zones)
		r := jobOf(parts, o).Order()
		if r.Original != "" {
			t.Fatalf("the original's order: %s", r.Original)
		}
		at := times(r, len(parts))
		n := 0
		for i, v := range r.Visits {
			if i > 0 && v.Zone == r.Visits[i-1].Zone {
				t.Fatalf("zone %d is set twice at once", v.Zone)
			}
			for _, s := range v.Steps {
				if n++; parts[s.Piece].zone != v.Zone {
					t.Fatalf("piece %d is burned in zone %d", s.Piece, v.Zone)
				}
			}
		}
		if n != len(parts) {
			t.Fatalf("%d steps for %d pieces", n, len(parts))
		}
		waits := waiting(parts)
		for b := range parts {
			if at[b] < 0 {
				t.Fatalf("piece %d is not burned", b)
			}
			for a := range b {
				p, q := parts[a], parts[b]
				switch {
				case p.last != q.last:
					if p.last == (at[a] < at[b]) {
						t.Fatalf("%d and %d: the last is not last", a, b)
					}
				case o.MarksFirst && p.cuts && !waits[b] && at[a] < at[b]:
					t.Fatalf("%d and %d: a cut goes before a mark", a, b)
				case o.MarksFirst && q.cuts && !waits[a] && at[b] < at[a]:
					t.Fatalf("%d and %d: a cut goes before a mark", b, a)
				case at[a] > at[b] && p.figure != q.figure && touching(p, q):
					t.Fatalf("%d and %d touch, and change their order", a, b)
				}
			}
		}
	})
}
