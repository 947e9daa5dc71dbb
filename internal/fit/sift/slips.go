package sift

import (
	"fmt"

	"sagitta/internal/fit/layout"
	"sagitta/internal/phrase"
	"sagitta/internal/slip"
	"sagitta/internal/surface"
	"sagitta/internal/touch"
)

// Slipped are heights that look written down in wrong places.
type Slipped struct {
	// What says what is doubted and why, Mend what would mend it; sentences without an
	// end.
	What, Mend string
	Points     []int
}

// SlipsMost is how many nodes are looked through at most.
const SlipsMost = slip.Most

// Slips names heights on a lattice, nil for the one that the points lie on, that look
// written down in wrong places. Nothing is mended, and none of them is to be left out,
// as its neighbours would have it. unlooked is how many nodes a lattice has that is too
// large to look through, 0 of others.
func Slips(points []surface.Point, grid *surface.Surface) (all []Slipped, unlooked int) {
	if grid == nil {
		grid = layout.GridOf(points, touch.SamePlaceMM)
	}
	if grid == nil {
		return nil, 0
	}
	if n := len(grid.X()) * len(grid.Y()); n > SlipsMost {
		return nil, n
	}
	l := nodePoints{grid: grid, point: map[int]int{}}
	written := slip.Lattice{X: grid.X(), Y: grid.Y()}
	for j := range grid.Y() {
		for i := range grid.X() {
			written.Z = append(written.Z, grid.Height(i, j))
		}
	}
	for k, p := range points {
		n := layout.Nearest(grid.Y(), p.Y)*len(grid.X()) + layout.Nearest(grid.X(), p.X)
		l.point[n] = k
		written.Order = append(written.Order, n)
	}
	for _, s := range slip.Find(written) {
		d := l.say(s)
		for _, n := range s.Nodes {
			if k, ok := l.point[n]; ok {
				d.Points = append(d.Points, k)
			}
		}
		all = append(all, d)
	}
	return all, 0
}

// nodePoints finds the points of nodes of a grid.
type nodePoints struct {
	grid  *surface.Surface
	point map[int]int
}

// say puts a slip into words.
func (l *nodePoints) say(s slip.Slip) Slipped {
	at := func(n int) string {
		nx := len(l.grid.X())
		return phrase.XY(l.grid.X()[n%nx], l.grid.Y()[n/nx])
	}
	what, where := "row", func(line int) string { return "Y" + phrase.MM(l.grid.Y()[line]) }
	if s.Columns {
		what, where = "column", func(line int) string { return "X" + phrase.MM(l.grid.X()[line]) }
	}
	const agrees, stay = "they would agree with those around", "; they stay as they are"
	said := func(mend, text string, args ...any) Slipped {
		return Slipped{What: fmt.Sprintf(text, args...) + stay, Mend: mend}
	}
	switch s.Kind {
	case slip.Exchanged:
		return said("exchange them in the file, or touch some of them again",
			"the heights of the %ss at %s and %s look exchanged: the other way about %s", what, where(s.First), where(s.Last), agrees)
	case slip.Swapped:
		return said("exchange them in the file, or touch both again",
			"the heights at %s and %s look exchanged: the other way about %s", at(s.First), at(s.Last), agrees)
	case slip.Reversed:
		return said("turn them round in the file, or touch some of them again",
			"the heights of the %s at %s look written from its other end: turned round %s", what, where(s.First), agrees)
	case slip.Alternate:
		return said("turn those round in the file, or touch some of them again",
			"the heights of every second %s, from that at %s on, look written from its other end: turned round %s", what, where(s.First), agrees)
	case slip.Turned:
		return said("give them the other sign in the file, or touch some of them again",
			"the heights of the %s at %s look written with the wrong sign: with the other %s", what, where(s.First), agrees)
	case slip.Repeated:
		return said("take one of the two out of the file and move up those behind; touch the last "+what,
			"the %ss at %s and %s hold the same heights: those behind look one %s late", what, where(s.First), where(s.First+1), what)
	case slip.Late:
		return said("move each back by one in the file, and touch the last place",
			"the heights from %s to %s look written one place late: moved back %s", at(s.First), at(s.Last), agrees)
	}
	return said("move each on by one in the file, and touch the first place",
		"the heights from %s to %s look written one place early: moved on %s", at(s.First), at(s.Last), agrees)
}
