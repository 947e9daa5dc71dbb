package sheet

import (
	"bufio"
	"fmt"
	"slices"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"sagitta/internal/phrase"
	"sagitta/internal/setup"
	"sagitta/internal/surface"
	"sagitta/internal/svg"
)

const (
	svgRow = 4.5 // of the list, in mm of paper
	// svgRows is how many zones it has.
	svgRows = 40
	// svgFine is how far lines may be simplified.
	svgFine = 0.05
	// mapFirst is the first page of the map.
	mapFirst = "zones.svg"
)

// IsPage reports whether a file is a page of a map by its name.
func IsPage(name string) bool {
	for k := range svg.MostLeaves + 1 {
		if name == svg.PageName(mapFirst, k) {
			return true
		}
	}
	return false
}

// picture is a page of the map of the zones as it is drawn.
type picture struct {
	*svg.Leaf
	set  *Set
	mesh *mesh
}

// layout lays out the map.
func (s *Set) layout() svg.Layout {
	box := orb.MultiPoint(nil).Bound()
	for i := range s.Zones {
		z := &s.Zones[i]
		box = box.Union(z.Bound).Extend(orb.Point{z.Point.X, z.Point.Y})
	}
	if s.Datum != nil {
		box = box.Extend(*s.Datum)
	}
	rows := min(len(s.Zones), svgRows)
	if s.leftOut() {
		rows++
	}
	return svg.LayOut(box.Pad(svg.Pad), float64(rows+2)*svgRow)
}

// writeSVG writes page k of the map: the zones' bands hatched, their burns in the
// colour of each, focus points numbered, and what stands on the stock.
func (s *Set) writeSVG(w *bufio.Writer, l svg.Layout, m *mesh, k int) error {
	p := picture{l.Leaf(k, "Focus zones of "+setup.Shortened(s.title(), setup.HeadColumns)), s, m}
	y := p.Draw(p.zones)
	if p.Last() {
		p.list(y)
	}
	_, err := w.Write(p.Bytes())
	return err
}

// zones draws what is on the page's window.
func (p *picture) zones() {
	zones, n := p.set.Zones, len(p.set.Zones)
	for i := range zones {
		p.hatch(i, colour(i, n))
	}
	for i := range zones {
		p.band(i, colour(i, n))
	}
	for i := range zones {
		p.burns(zones[i].Lines.picture(), colour(i, n))
	}
	for _, b := range p.set.Boxes {
		p.clamp(b)
	}
	if d := p.set.Datum; d != nil {
		at := p.Cross(*d, 4, 1.3)
		p.Text(at[0]+1.8, at[1]-1.4, svg.SmallSize, svg.Ink, "", "datum")
	}
	for i := range zones {
		p.number(i, colour(i, n))
	}
}

// hatch prepares the hatching of zone i: those after each other differ in its direction,
// and others in how wide it is.
func (p *picture) hatch(i int, colour string) {
	angles := [...]int{45, 135, 0, 90, 20, 110, 70, 160}
	apart := 2.4 + 0.8*float64(i/len(angles)%3)
	fmt.Fprintf(p, `<pattern id="hatch%d" width="%.1f" height="%.1f" patternUnits="userSpaceOnUse" patternTransform="rotate(%d)">`+
		`<line x1="0" y1="0" x2="0" y2="%.1f" stroke="%s" stroke-width="0.4" stroke-opacity="0.55"/></pattern>`+"\n",
		i, apart, apart, angles[i%len(angles)], apart, colour)
}

// band draws the outline of zone i's band, hatched.
func (p *picture) band(i int, colour string) {
	var rings [][][2]float64
	for _, poly := range p.mesh.band(p.set.Zones[i].Band) {
		for _, ring := range poly {
			rings = append(rings, p.Places(orb.LineString(ring)))
		}
	}
	p.Paths(fmt.Sprintf(` fill="url(#hatch%d)" fill-rule="evenodd" stroke="%s" stroke-opacity="0.45" stroke-width="0.15"`, i, colour), rings...)
}

// burns draws those of a zone that are on the page.
func (p *picture) burns(lines orb.MultiLineString, colour string) {
	thin := simplify.DouglasPeucker(svgFine * p.Per)
	var thinned [][][2]float64
	for _, line := range lines {
		if line.Bound().Intersects(p.Window) {
			thinned = append(thinned, p.Places(thin.LineString(line.Clone())))
		}
	}
	p.Paths(` fill="none" stroke="`+colour+`" stroke-width="0.35"`, thinned...)
}

// number writes the number of zone i where its focus is set, and again among what it
// burns.
func (p *picture) number(i int, colour string) {
	z := &p.set.Zones[i]
	if lines := z.Lines.picture(); len(lines) > 0 {
		line := lines[len(lines)/2]
		a, b := line[(len(line)-1)/2], line[len(line)/2]
		at := p.Place(orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2})
		p.Text(at[0], at[1]-0.6, svg.TextSize, colour, svg.Middle+svg.Bold+` stroke="#ffffff" stroke-width="0.9" paint-order="stroke"`, strconv.Itoa(z.Order))
	}
	if p.set.SetZ {
		return
	}
	at := p.Place(orb.Point{z.Point.X, z.Point.Y})
	p.Line(at[0]-3.4, at[1], at[0]+3.4, at[1], colour, 0.3)
	p.Line(at[0], at[1]-3.4, at[0], at[1]+3.4, colour, 0.3)
	p.Circle(at[0], at[1], 2.2, "#ffffff", colour, 0.5)
	p.Text(at[0], at[1]+0.85, svg.SmallSize, colour, svg.Middle+svg.Bold, strconv.Itoa(z.Order))
}

// clamp draws a box that stands above the stock.
func (p *picture) clamp(b surface.Box) {
	if !(orb.Bound{Min: orb.Point{b.X0, b.Y0}, Max: orb.Point{b.X1, b.Y1}}).Intersects(p.Window) {
		return
	}
	// What is far outside is left out, so that its middle is on the page.
	at := p.Place(orb.Point{max(b.X0, p.Window.Min[0]-svg.Pad), min(b.Y1, p.Window.Max[1]+svg.Pad)})
	to := p.Place(orb.Point{min(b.X1, p.Window.Max[0]+svg.Pad), max(b.Y0, p.Window.Min[1]-svg.Pad)})
	p.Rect(at[0], at[1], to[0]-at[0], to[1]-at[1], "#dddddd", svg.Ink, 0.4)
	p.Line(at[0], at[1], to[0], to[1], svg.Faint, 0.2)
	p.Line(at[0], to[1], to[0], at[1], svg.Faint, 0.2)
	p.Text((at[0]+to[0])/2, (at[1]+to[1])/2+0.8, svg.SmallSize, svg.Ink, svg.Middle, phrase.Trimmed(b.Height, 1)+" mm high")
}

// leftOut reports whether there are burns that are not drawn.
func (s *Set) leftOut() bool {
	return slices.ContainsFunc(s.Zones, func(z Zone) bool { return z.Lines.every > 1 })
}

// list lists the first zones.
func (p *picture) list(y float64) {
	s, n := p.set, len(p.set.Zones)
	rows := min(n, svgRows)
	if y += svgRow; !s.SetZ {
		p.Text(svg.Margin, y-svgRow, svg.TextSize, svg.Ink, "", "In a ring: where the focus is set for the zone of that number.")
	}
	for i := range rows {
		z := &s.Zones[i]
		fmt.Fprintf(p, `<g>`)
		p.hatch(i, colour(i, n))
		p.Rect(svg.Margin, y-2.6, 8, svg.TextSize+0.4, fmt.Sprintf("url(#hatch%d)", i), colour(i, n), 0.4)
		p.WriteString("</g>\n")
		text := fmt.Sprintf("%d  %s, focus %s, %s", z.Order, setup.Unbound(s.Lenses[z.Lens].called(false)), setup.Level(z.Focus), phrase.Clock(z.Seconds))
		if every := z.Lines.every; every > 1 {
			text += fmt.Sprintf("; one of %d lines is drawn", every)
		}
		p.Text(svg.Margin+10, y, svg.TextSize, svg.Ink, "", text)
		y += svgRow
	}
	if s.leftOut() {
		p.Text(svg.Margin, y, svg.TextSize, svg.Ink, "", "There are too many burns to draw all of them here; all are burned.")
		y += svgRow
	}
	if more := n - rows; more > 0 {
		p.Text(svg.Margin, y, svg.TextSize, svg.Ink, "", fmt.Sprintf("and %d more: see sheet.txt", more))
	}
}
