package report

import (
	"math"

	"sagitta/internal/fit"
	"sagitta/internal/surface"
)

// blankHeight is why lines of a sheet that were left blank are ignored.
const blankHeight = "the height is blank"

// numbered are the points of a surface, and what it leaves out, with their numbers: those of a
// sheet that is filled in, whose lines are numbered, also where some are left blank; else in
// the order of touching.
func numbered(m *fit.Measured) (places []Place, out []LeftOut) {
	of := numbers(m)
	for _, p := range m.Points {
		places = append(places, Place{p, of(p)})
	}
	for _, b := range m.LeftOut {
		out = append(out, LeftOut{b, of(b.Point), m.PlaceOf(b.Point)})
	}
	return places, out
}

// nearMM is more than places move that are averaged.
const nearMM = 0.05

// numbers gives the number of a point.
func numbers(m *fit.Measured) func(surface.Point) int {
	read := m.Reading.Points
	blank := 0
	for _, i := range m.Reading.Ignored {
		if i.Why == blankHeight {
			blank = i.Count
		}
	}
	byLine := map[int][]Place{}
	used := map[int]bool{}
	for _, p := range m.Points {
		used[p.Line] = true
	}
	for _, b := range m.LeftOut {
		used[b.Line] = used[b.Line] || !b.Stray
	}
	n := 0
	lines := blank > 0 && m.Reading.Grid == nil && read[len(read)-1].Line-read[0].Line+1 <= len(read)+blank
	for _, p := range read {
		if !used[p.Line] {
			continue
		}
		if n++; lines {
			n = p.Line - read[0].Line + 1
		}
		byLine[p.Line] = append(byLine[p.Line], Place{p, n})
	}
	return func(p surface.Point) int {
		for _, q := range byLine[p.Line] {
			if math.Abs(p.X-q.X) <= nearMM && math.Abs(p.Y-q.Y) <= nearMM {
				return q.Number
			}
		}
		return 0
	}
}
