package sheet

import (
	"bufio"
	"fmt"
	"math"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"sagitta/internal/phrase"
	"sagitta/internal/setup"
	"sagitta/internal/surface"
	"sagitta/internal/svg"
)

const (
	svgText  = 3.0 // height of letters
	svgSmall = 2.4
	svgRow   = 4.5 // of the list
	// svgRows is how many zones it has.
	svgRows = 40
	// svgFine is how far lines may be simplified.
	svgFine  = 0.05
	svgInk   = "#1c1c1c"
	svgFaint = "#8a8a8a"
)

// picture is a page of the map of the zones as it is drawn.
type picture struct {
	svg.Canvas
	layout
	set    *Set
	mesh   *mesh
	window orb.Bound // of the stock
	x, y   float64   // where its upper left corner is on the paper
}

// layout lays out the map.
func (s *Set) layout() layout {
	box := orb.MultiPoint(nil).Bound()
	for i := range s.Zones {
		z := &s.Zones[i]
		box = box.Union(z.Bound).Extend(orb.Point{z.Point.X, z.Point.Y})
	}
	if s.Datum != nil {
		box = box.Extend(*s.Datum)
	}
	rows := min(len(s.Zones), svgRows)
	return layOut(box.Pad(mapPad), float64(rows+2)*svgRow)
}

// writeSVG writes page k of the map: the zones' bands hatched, their burns in the
// colour of each, focus points numbered, and what stands on the stock.
func (s *Set) writeSVG(w *bufio.Writer, l layout, m *mesh, k int) error {
	p := picture{layout: l, set: s, mesh: m, x: mapMargin + mapAxis, y: mapMargin + mapHead}
	wide, tall := l.size()
	p.Text(mapMargin, mapMargin+4, 4.2, svgInk, svg.Bold, "Focus zones of "+setup.Shortened(s.title(), setup.HeadColumns))
	p.Text(wide-mapMargin, mapMargin+4, svgText, svgInk, svg.End, fmt.Sprintf("%s, page %d of %d", l.said(), k+1, l.pages()))
	y := p.y + svgText
	if k < l.across*l.down {
		p.window = l.window(k)
		p.draw()
		y = p.y + p.high() + mapFoot
	}
	if k == l.pages()-1 {
		p.list(y)
	}
	_, err := w.Write(p.Page(wide, tall))
	return err
}

// broad and high are how large the drawing is on the paper.
func (p *picture) broad() float64 { return (p.window.Max[0] - p.window.Min[0]) / p.per }
func (p *picture) high() float64  { return (p.window.Max[1] - p.window.Min[1]) / p.per }

// draw draws the page's window, cut off at its edge.
func (p *picture) draw() {
	zones, n := p.set.Zones, len(p.set.Zones)
	fmt.Fprintf(p, `<svg x="%g" y="%g" width="%.3f" height="%.3f" viewBox="%g %g %.3f %.3f">`+"\n", p.x, p.y, p.broad(), p.high(), p.x, p.y, p.broad(), p.high())
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
		p.datum(*d)
	}
	for i := range zones {
		p.number(i, colour(i, n))
	}
	p.WriteString("</svg>\n")
	p.Rect(p.x, p.y, p.broad(), p.high(), "none", svgInk, 0.2)
	p.axes()
	p.bar(p.y + p.high() + 11)
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
			rings = append(rings, p.places(orb.LineString(ring)))
		}
	}
	p.Paths(fmt.Sprintf(` fill="url(#hatch%d)" fill-rule="evenodd" stroke="%s" stroke-opacity="0.45" stroke-width="0.15"`, i, colour), rings...)
}

// burns draws those of a zone that are on the page.
func (p *picture) burns(lines orb.MultiLineString, colour string) {
	thin := simplify.DouglasPeucker(svgFine * p.per)
	var thinned [][][2]float64
	for _, line := range lines {
		if line.Bound().Intersects(p.window) {
			thinned = append(thinned, p.places(thin.LineString(line.Clone())))
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
		at := p.place(orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2})
		p.Text(at[0], at[1]-0.6, svgText, colour, svg.Middle+svg.Bold+` stroke="#ffffff" stroke-width="0.9" paint-order="stroke"`, strconv.Itoa(z.Order))
	}
	if p.set.SetZ {
		return
	}
	at := p.place(orb.Point{z.Point.X, z.Point.Y})
	p.Line(at[0]-3.4, at[1], at[0]+3.4, at[1], colour, 0.3)
	p.Line(at[0], at[1]-3.4, at[0], at[1]+3.4, colour, 0.3)
	p.Circle(at[0], at[1], 2.2, "#ffffff", colour, 0.5)
	p.Text(at[0], at[1]+0.85, svgSmall, colour, svg.Middle+svg.Bold, strconv.Itoa(z.Order))
}

// datum marks where heights count from.
func (p *picture) datum(xy [2]float64) {
	at := p.place(xy)
	p.Line(at[0]-4, at[1], at[0]+4, at[1], svgInk, 0.3)
	p.Line(at[0], at[1]-4, at[0], at[1]+4, svgInk, 0.3)
	p.Circle(at[0], at[1], 1.3, "none", svgInk, 0.3)
	p.Text(at[0]+1.8, at[1]-1.4, svgSmall, svgInk, "", "datum")
}

// clamp draws a box that stands above the stock.
func (p *picture) clamp(b surface.Box) {
	if !(orb.Bound{Min: orb.Point{b.X0, b.Y0}, Max: orb.Point{b.X1, b.Y1}}).Intersects(p.window) {
		return
	}
	// What is far outside is left out, so that its middle is on the page.
	at := p.place(orb.Point{max(b.X0, p.window.Min[0]-mapPad), min(b.Y1, p.window.Max[1]+mapPad)})
	to := p.place(orb.Point{min(b.X1, p.window.Max[0]+mapPad), max(b.Y0, p.window.Min[1]-mapPad)})
	p.Rect(at[0], at[1], to[0]-at[0], to[1]-at[1], "#dddddd", svgInk, 0.4)
	p.Line(at[0], at[1], to[0], to[1], svgFaint, 0.2)
	p.Line(at[0], to[1], to[0], at[1], svgFaint, 0.2)
	p.Text((at[0]+to[0])/2, (at[1]+to[1])/2+0.8, svgSmall, svgInk, svg.Middle, phrase.Trimmed(b.Height, 1)+" mm high")
}

// axes draws ticks and numbers along the page's window.
func (p *picture) axes() {
	const tick, numbered = 10, 2 // mm of paper between ticks, and each of which has a number
	bottom := p.y + p.high()
	for k := math.Ceil(p.window.Min[0]/p.per/tick - 1e-9); k*tick*p.per <= p.window.Max[0]+1e-9; k++ {
		x := p.place(orb.Point{k * tick * p.per, 0})[0]
		p.Line(x, bottom, x, bottom+1.5, svgInk, 0.2)
		if math.Mod(k, numbered) == 0 {
			p.Text(x, bottom+4.4, svgSmall, svgInk, svg.Middle, phrase.Trimmed(k*tick*p.per, 0))
		}
	}
	for k := math.Ceil(p.window.Min[1]/p.per/tick - 1e-9); k*tick*p.per <= p.window.Max[1]+1e-9; k++ {
		y := p.place(orb.Point{0, k * tick * p.per})[1]
		p.Line(p.x-1.5, y, p.x, y, svgInk, 0.2)
		if math.Mod(k, numbered) == 0 {
			p.Text(p.x-2.2, y+0.8, svgSmall, svgInk, svg.End, phrase.Trimmed(k*tick*p.per, 0))
		}
	}
	p.Text(p.x+p.broad(), bottom+7.6, svgSmall, svgInk, svg.End, "X, mm")
	p.Text(p.x, p.y-1, svgSmall, svgInk, svg.End, "Y, mm")
}

// bar draws a length to hold a rule against.
func (p *picture) bar(y float64) {
	const long = 50.0
	x := p.x
	p.Line(x, y, x+long, y, svgInk, 0.3)
	for i := 0.0; i <= long; i += 10 {
		p.Line(x+i, y-1.2, x+i, y+1.2, svgInk, 0.3)
	}
	text := "50 mm, when printed at 100 %"
	if p.per != 1 {
		text += fmt.Sprintf(": %g mm of the stock, as the map is %s", long*p.per, p.said())
	}
	p.Text(x, y+4, svgSmall, svgInk, "", text)
}

// list lists the first zones.
func (p *picture) list(y float64) {
	s, n := p.set, len(p.set.Zones)
	rows := min(n, svgRows)
	if y += svgRow; !s.SetZ {
		p.Text(mapMargin, y-svgRow, svgText, svgInk, "", "In a ring: where the focus is set for the zone of that number.")
	}
	for i := range rows {
		z := &s.Zones[i]
		fmt.Fprintf(p, `<g>`)
		p.hatch(i, colour(i, n))
		p.Rect(mapMargin, y-2.6, 8, svgText+0.4, fmt.Sprintf("url(#hatch%d)", i), colour(i, n), 0.4)
		p.WriteString("</g>\n")
		p.Text(mapMargin+10, y, svgText, svgInk, "", fmt.Sprintf("%d  %s, focus %s, %s", z.Order, setup.Unbound(s.Lenses[z.Lens].called(false)), setup.Level(z.Focus), phrase.Clock(z.Seconds)))
		y += svgRow
	}
	if more := n - rows; more > 0 {
		p.Text(mapMargin, y, svgText, svgInk, "", fmt.Sprintf("and %d more: see sheet.txt", more))
	}
}

// place is where a place is on the paper.
func (p *picture) place(at orb.Point) [2]float64 {
	return [2]float64{p.x + (at[0]-p.window.Min[0])/p.per, p.y + (p.window.Max[1]-at[1])/p.per}
}

// places are those of a line string on the paper.
func (p *picture) places(l orb.LineString) [][2]float64 {
	out := make([][2]float64, len(l))
	for i, at := range l {
		out[i] = p.place(at)
	}
	return out
}
