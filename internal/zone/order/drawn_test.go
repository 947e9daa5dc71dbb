package order

import (
	"math"
	"slices"

	"pgregory.net/rapid"
)

// burn is a straight burn of a drawn job.
type burn struct{ x0, y0, x1, y1 float64 }

// part is a piece of a drawn job.
type part struct {
	zone, figure int
	cuts, last   bool
	burns        []burn
}

// drawJob draws figures on a coarse grid, so that much meets, coincides and lies
// in line, nearly or exactly, and cuts them among zones.
func drawJob(t *rapid.T, zones int) []part {
	at := rapid.Custom(func(t *rapid.T) float64 {
		return float64(rapid.IntRange(0, 8).Draw(t, "n")) + rapid.SampledFrom([]float64{0, 0, 0, 0.002, -0.003, 0.006}).Draw(t, "off")
	})
	var parts []part
	for f := range rapid.IntRange(1, 9).Draw(t, "figures") {
		var line [][2]float64
		switch rapid.IntRange(0, 4).Draw(t, "kind") {
		case 0: // a box
			x, y := at.Draw(t, "x"), at.Draw(t, "y")
			w, h := at.Draw(t, "w"), at.Draw(t, "h")
			line = [][2]float64{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}, {x, y}}
		case 1: // a burn without length
			p := [2]float64{at.Draw(t, "x"), at.Draw(t, "y")}
			line = [][2]float64{p, p}
		case 2: // a row
			y := at.Draw(t, "y")
			line = [][2]float64{{at.Draw(t, "x0"), y}, {at.Draw(t, "x1"), y}}
		default:
			for range rapid.IntRange(2, 6).Draw(t, "points") {
				line = append(line, [2]float64{at.Draw(t, "x"), at.Draw(t, "y")})
			}
			if rapid.Bool().Draw(t, "closed") {
				line = append(line, line[0])
			}
		}
		if rapid.Bool().Draw(t, "back") {
			slices.Reverse(line)
		}
		cuts := rapid.Bool().Draw(t, "cuts")
		zone := rapid.IntRange(0, zones-1).Draw(t, "zone")
		parts = append(parts, part{zone: zone, figure: f, cuts: cuts})
		for k := 1; k < len(line); k++ {
			a, b := line[k-1], line[k]
			last := &parts[len(parts)-1]
			if next := rapid.IntRange(0, zones-1).Draw(t, "zone"); next != zone && rapid.IntRange(0, 2).Draw(t, "cut") == 0 {
				m := [2]float64{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}
				last.burns = append(last.burns, burn{a[0], a[1], m[0], m[1]})
				zone, a = next, m
				cuts = cuts != (rapid.IntRange(0, 6).Draw(t, "other kind") == 0)
				parts = append(parts, part{zone: zone, figure: f, cuts: cuts})
				last = &parts[len(parts)-1]
			}
			last.burns = append(last.burns, burn{a[0], a[1], b[0], b[1]})
		}
	}
	if rapid.IntRange(0, 5).Draw(t, "any last") == 0 {
		parts[rapid.IntRange(0, len(parts)-1).Draw(t, "last")].last = true
	}
	return parts
}

func drawOptions(t *rapid.T, zones int) Options {
	o := Options{MarksFirst: rapid.Bool().Draw(t, "marks first")}
	o.Rank = rapid.Permutation([]int{0, 1, 2, 3, 4}[:zones]).Draw(t, "rank")
	for range zones {
		o.Lens = append(o.Lens, rapid.IntRange(0, 1).Draw(t, "lens"))
	}
	if rapid.Bool().Draw(t, "sides") {
		o.Side = func(zone int, x, _ float64) int {
			return int(math.Floor(x/3))%3 - zone%2
		}
		o.Clear = func(_ int, a, b [2]float64) bool { return math.Abs(a[1]-b[1]) < 1e-5 }
	}
	if rapid.Bool().Draw(t, "from") {
		o.From = func(zone int) ([2]float64, bool) { return [2]float64{float64(zone), 3}, zone > 0 }
	}
	return o
}

func jobOf(parts []part, o Options) *Job {
	j := New(o)
	for _, p := range parts {
		j.Piece(p.zone, p.figure, p.cuts)
		if p.last {
			j.MustBeLast()
		}
		for _, b := range p.burns {
			j.Line(b.x0, b.y0, b.x1, b.y1)
		}
	}
	return j
}

// times says when each piece is burned.
func times(r Result, n int) []int {
	at := make([]int, n)
	for i := range at {
		at[i] = -1
	}
	k := 0
	for _, v := range r.Visits {
		for _, s := range v.Steps {
			at[s.Piece] = k
			k++
		}
	}
	return at
}
