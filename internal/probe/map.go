package probe

import (
	"strconv"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"sagitta/internal/svg"
)

const (
	// numberSize is the height of numbers on the map, in mm of paper, and numberGap what
	// there is at least between them.
	numberSize, numberGap = 3.0, 0.4
	crossArm, crossRing   = 1.8, 1.0
	datumArm, datumRing   = 4.0, 1.6
	// burnFine is how far burns may be simplified, in mm of paper, and mostBurns about how
	// many there are drawn: they only show where the job lies.
	burnFine  = 0.1
	mostBurns = 5000
)

// Map gives the pages of a numbered map, to scale on A4, as SVG.
func (p *Probing) Map(title string) [][]byte {
	box := orb.MultiPoint(p.Places).Bound()
	if len(p.Burns) > 0 {
		box = box.Union(p.Burns.Bound())
	}
	l := svg.LayOut(box.Pad(svg.Pad), 2*numberSize)
	pages := make([][]byte, l.Pages())
	for k := range pages {
		leaf := l.Leaf(k, title)
		y := leaf.Draw(func() { p.draw(leaf) })
		if leaf.Last() {
			note := "Place 1 is touched first, and once more at the end"
			if p.lattice() {
				note += "; numbers go row by row"
			}
			leaf.Text(svg.Margin, y, svg.TextSize, svg.Ink, "", note+".")
		}
		pages[k] = leaf.Bytes()
	}
	return pages
}

// draw draws what lies on a page: burns faint, places by crosses with their numbers.
func (p *Probing) draw(leaf *svg.Leaf) {
	thin := simplify.DouglasPeucker(burnFine * leaf.Per)
	var burns [][][2]float64
	for k := 0; k < len(p.Burns); k += 1 + len(p.Burns)/mostBurns {
		if line := p.Burns[k]; line.Bound().Intersects(leaf.Window) {
			burns = append(burns, leaf.Places(thin.LineString(line.Clone())))
		}
	}
	leaf.Paths(` fill="none" stroke="`+svg.Faint+`" stroke-width="0.2"`, burns...)
	for k, q := range p.Places {
		arm, ring := crossArm, crossRing
		if k == 0 {
			arm, ring = datumArm, datumRing
		}
		if leaf.Window.Pad(arm * leaf.Per).Contains(q) {
			leaf.Cross(q, arm, ring)
		}
	}
	p.number(leaf)
}

// number writes the numbers of places that are on a page beside them: those for which there
// is room, so that none lies over another. Numbers that are left out follow from those of
// their row.
func (p *Probing) number(leaf *svg.Leaf) {
	low, high := leaf.Place(leaf.Window.Min), leaf.Place(leaf.Window.Max)
	var taken []orb.Bound
	for k, q := range p.Places {
		if !leaf.Window.Contains(q) {
			continue
		}
		text, at := strconv.Itoa(k+1), leaf.Place(q)
		wide := float64(len(text)) * svg.BoldWidth * numberSize
		// Right above the cross, or where the page ends there, left or below.
		x, y := at[0]+crossRing+0.4, at[1]-crossRing-0.2
		if x+wide > high[0] {
			x = at[0] - crossRing - 0.4 - wide
		}
		if y-numberSize < high[1] {
			y = at[1] + crossRing + 0.2 + numberSize
		}
		if y > low[1] {
			y = low[1]
		}
		room := orb.Bound{Min: orb.Point{x, y - numberSize}, Max: orb.Point{x + wide, y}}
		free := true
		for _, t := range taken {
			free = free && !t.Intersects(room.Pad(numberGap))
		}
		if free {
			taken = append(taken, room)
			leaf.Text(x, y, numberSize, svg.Ink, ` stroke="#ffffff" stroke-width="0.8" paint-order="stroke"`, text)
		}
	}
}
