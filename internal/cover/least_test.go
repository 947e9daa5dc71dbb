package cover

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/surface"
)

// changed counts changes of setting: within burns, between burns that join, and
// on travels.
type changed struct{ cuts, joints, travels int }

// worth is worth less the fewer cuts there are, then joints, then travels.
func (c changed) worth() int { return c.cuts*1e8 + c.joints*1e4 + c.travels }

// stroke is a burn through heights in eighths of a mm, evenly apart along it.
type stroke struct {
	heights []int
	joined  bool
}

// leastChanges finds by dynamic programming over steps of a sixteenth in height
// which settings, with ends in eighths, serve strokes with the least changes. Where a
// change is worth anything, it is as good at an end of a setting.
func leastChanges(strokes []stroke, s Bands) int {
	var best []int // by setting
	for _, k := range strokes {
		for i := range k.heights[1:] {
			from, to := 2*k.heights[i], 2*k.heights[i+1] // in sixteenths
			for step := range max(1, max(from-to, to-from)) {
				a, b := from, to
				if from != to {
					way := (to - from) / max(from-to, to-from)
					a, b = from+way*step, from+way*(step+1)
				}
				change := changed{travels: 1}
				switch {
				case step > 0 || i > 0:
					change = changed{cuts: 1}
				case k.joined:
					change = changed{joints: 1}
				}
				next := make([]int, len(s))
				for z, band := range s {
					next[z] = math.MaxInt / 2
					if float64(min(a, b))/16 < band.Lo || float64(max(a, b))/16 > band.Hi {
						continue
					}
					if best == nil {
						next[z] = 0
					}
					for y, cost := range best {
						if y != z {
							cost += change.worth()
						}
						next[z] = min(next[z], cost)
					}
				}
				best = next
			}
		}
	}
	least := math.MaxInt
	for _, c := range best {
		least = min(least, c)
	}
	return least
}

// Strokes up and down through settings are cut in as few places as can be, then
// change within figures as rarely, then on travels.
func TestChangesAreLeast(t *testing.T) {
	var d Divider
	cut := 0
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.IntRange(2, 12).Draw(t, "width")
		var s Bands
		low := 0
		for range rapid.IntRange(1, 5).Draw(t, "settings") {
			s = append(s, Span{float64(low) / 8, float64(low+width) / 8})
			low += rapid.IntRange(1, width-1).Draw(t, "pitch")
		}
		top := int(s[len(s)-1].Hi * 8)
		var strokes []stroke
		for k := range rapid.IntRange(1, 6).Draw(t, "strokes") {
			b := stroke{joined: k > 0 && rapid.Bool().Draw(t, "joined")}
			for range rapid.IntRange(2, 5).Draw(t, "heights") {
				b.heights = append(b.heights, rapid.IntRange(0, top).Draw(t, "height"))
			}
			if b.joined {
				last := strokes[k-1].heights
				b.heights[0] = last[len(last)-1]
			}
			strokes = append(strokes, b)
		}
		var p Path
		for _, b := range strokes {
			var pieces []surface.Piece
			seen, n := Span{math.Inf(1), math.Inf(-1)}, float64(len(b.heights)-1)
			for i := range b.heights[1:] {
				h0, h1 := float64(b.heights[i])/8, float64(b.heights[i+1])/8
				pieces = append(pieces, surface.Piece{S0: float64(i) / n, S1: float64(i+1) / n, H0: h0, H1: h1})
				seen = Span{min(seen.Lo, h0, h1), max(seen.Hi, h0, h1)}
			}
			meets := Meeting{b.joined, rapid.Float64Range(0, 3).Draw(t, "turn"), rapid.SampledFrom([]float64{0, 0.2, 0.7}).Draw(t, "at")}
			d.At = meets.At
			if first, n := s.Serving(seen); n > 0 {
				p.Burn(first, n, meets)
			} else {
				p.Divided(d.Divide(pieces, s, 0), 0, meets)
			}
		}
		var got changed
		at, last, begins := 0, -1, true // begins tells that a part is the first of its stroke
		for _, q := range p.Settle() {
			switch {
			case last < 0 || q.Setting == last:
			case !begins:
				got.cuts++
			case strokes[at].joined:
				got.joints++
			default:
				got.travels++
			}
			if last, begins = q.Setting, q.Last; begins {
				at++
			}
		}
		if at != len(strokes) {
			t.Fatalf("%d strokes of %d", at, len(strokes))
		}
		if want := leastChanges(strokes, s); got.worth() != want {
			t.Fatalf("%+v for %+v through %v, the least is worth %d", got, strokes, s, want)
		}
		cut += min(got.cuts, 1)
	})
	if cut < 10 {
		t.Errorf("only %d drawn cases were cut", cut)
	}
}
