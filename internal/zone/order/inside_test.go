package order

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// around is how often a closed line goes around a place, by the angles under which
// its points are seen.
func around(line []burn, x, y float64) float64 {
	sum := 0.0
	for _, b := range line {
		a0, a1 := math.Atan2(b.y0-y, b.x0-x), math.Atan2(b.y1-y, b.x1-x)
		sum += math.Remainder(a1-a0, 2*math.Pi)
	}
	return math.Abs(sum) / (2 * math.Pi)
}

// A closed figure, or four lines that close, keeps its order against what has a
// place inside of it, over all pieces.
func TestWhatLiesInsideKeepsItsOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const zones = 3
		parts := drawJob(t, zones)
		o := drawOptions(t, zones)
		o.MarksFirst = false
		lines := rapid.Bool().Draw(t, "lines")
		if lines {
			n := parts[len(parts)-1].figure
			for k, b := range []burn{{0.5, 0.5, 6.5, 0.5}, {6.5, 7.5, 6.5, 0.5}, {6.5, 7.5, 0.5, 7.5}, {0.5, 0.502, 0.5, 7.5}} {
				parts = append(parts, part{zone: k % zones, figure: n + 1 + k, burns: []burn{b}})
			}
		}
		at := times(jobOf(parts, o).Order(), len(parts))
		var figures [][]int
		for i, p := range parts {
			if i == 0 || p.figure != parts[i-1].figure {
				figures = append(figures, nil)
			}
			figures[len(figures)-1] = append(figures[len(figures)-1], i)
		}
		hold := func(loop []burn, of, in []int) {
			if within(loop, parts, in) {
				for _, i := range of {
					for _, k := range in {
						if (i < k) != (at[i] < at[k]) && !parts[i].last && !parts[k].last {
							t.Fatalf("%d and %d, one around the other, change their order", i, k)
						}
					}
				}
			}
		}
		for f, of := range figures {
			loop := line(parts, of)
			if a, b := loop[0], loop[len(loop)-1]; math.Hypot(b.x1-a.x0, b.y1-a.y0) > 0.002 {
				continue
			}
			for g, in := range figures {
				if g != f {
					hold(loop, of, in)
				}
			}
		}
		if n := len(figures); lines {
			var of []int
			for _, f := range figures[n-4:] {
				of = append(of, f...)
			}
			for _, in := range figures[:n-4] {
				hold([]burn{{0.5, 0.5, 6.5, 0.5}, {6.5, 0.5, 6.5, 7.5}, {6.5, 7.5, 0.5, 7.5}, {0.5, 7.5, 0.5, 0.5}}, of, in)
			}
		}
	})
}

func line(parts []part, of []int) (all []burn) {
	for _, i := range of {
		all = append(all, parts[i].burns...)
	}
	return
}

// within reports whether pieces have a place certainly inside of a loop.
func within(loop []burn, parts []part, of []int) bool {
	for _, b := range line(parts, of) {
		const n = 16
		for i := range n + 1 {
			f := float64(i) / n
			x, y := b.x0+f*(b.x1-b.x0), b.y0+f*(b.y1-b.y0)
			far := math.Inf(1)
			for _, l := range loop {
				far = min(far, distance(x, y, l))
			}
			if far > 0.1 && around(loop, x, y) > 0.5 {
				return true
			}
		}
	}
	return false
}
