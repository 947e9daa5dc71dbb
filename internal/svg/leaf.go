package svg

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/phrase"
)

// Of drawings to scale, in mm of paper and as colours.
const (
	TextSize  = 3.0 // height of letters
	SmallSize = 2.4
	Ink       = "#1c1c1c"
	Faint     = "#8a8a8a"
)

// Leaf is a page of a drawing to scale, Y upwards in mm of the bench.
type Leaf struct {
	Canvas
	Layout
	Window orb.Bound // of the bench
	x, y   float64   // where its upper left corner is on the paper
	k      int
}

// Leaf begins page k: with its title, the scale and which of the pages it is.
func (l *Layout) Leaf(k int, title string) *Leaf {
	p := &Leaf{Layout: *l, x: Margin + axis, y: Margin + head, k: k}
	wide, _ := l.size()
	p.Text(Margin, Margin+4, 4.2, Ink, Bold, title)
	p.Text(wide-Margin, Margin+4, TextSize, Ink, End, fmt.Sprintf("%s, page %d of %d", l.Scale(), k+1, l.Pages()))
	return p
}

// Draw has the page's part of the drawing drawn, cut off at its edge, and gives where the
// paper below is free. A page for a list alone has no such part.
func (p *Leaf) Draw(draw func()) float64 {
	if p.k >= p.across*p.down {
		return p.y + TextSize
	}
	p.Window = p.window(p.k)
	fmt.Fprintf(p, `<svg x="%g" y="%g" width="%.3f" height="%.3f" viewBox="%g %g %.3f %.3f">`+"\n", p.x, p.y, p.broad(), p.high(), p.x, p.y, p.broad(), p.high())
	draw()
	p.WriteString("</svg>\n")
	p.Rect(p.x, p.y, p.broad(), p.high(), "none", Ink, 0.2)
	p.axes()
	p.bar(p.y + p.high() + 11)
	return p.y + p.high() + foot
}

// Last reports whether it is the last page, that with the list.
func (p *Leaf) Last() bool { return p.k == p.Pages()-1 }

// Bytes gives the page.
func (p *Leaf) Bytes() []byte { return p.Page(p.size()) }

// broad and high are how large the drawing is on the paper.
func (p *Leaf) broad() float64 { return (p.Window.Max[0] - p.Window.Min[0]) / p.Per }
func (p *Leaf) high() float64  { return (p.Window.Max[1] - p.Window.Min[1]) / p.Per }

// Place is where a place is on the paper.
func (p *Leaf) Place(at orb.Point) [2]float64 {
	return [2]float64{p.x + (at[0]-p.Window.Min[0])/p.Per, p.y + (p.Window.Max[1]-at[1])/p.Per}
}

// Places are those of a line string on the paper.
func (p *Leaf) Places(l orb.LineString) [][2]float64 {
	out := make([][2]float64, len(l))
	for i, at := range l {
		out[i] = p.Place(at)
	}
	return out
}

// Cross marks a place by a cross with so many mm of paper to each side, and a ring.
func (p *Leaf) Cross(at orb.Point, arm, ring float64) [2]float64 {
	q := p.Place(at)
	p.Line(q[0]-arm, q[1], q[0]+arm, q[1], Ink, 0.3)
	p.Line(q[0], q[1]-arm, q[0], q[1]+arm, Ink, 0.3)
	p.Circle(q[0], q[1], ring, "none", Ink, 0.3)
	return q
}

// axes draws ticks and numbers along the page's window.
func (p *Leaf) axes() {
	const tick, numbered = 10, 2 // mm of paper between ticks, and each of which has a number
	bottom := p.y + p.high()
	for k := math.Ceil(p.Window.Min[0]/p.Per/tick - 1e-9); k*tick*p.Per <= p.Window.Max[0]+1e-9; k++ {
		x := p.Place(orb.Point{k * tick * p.Per, 0})[0]
		p.Line(x, bottom, x, bottom+1.5, Ink, 0.2)
		if math.Mod(k, numbered) == 0 {
			p.Text(x, bottom+4.4, SmallSize, Ink, Middle, phrase.Trimmed(k*tick*p.Per, 0))
		}
	}
	for k := math.Ceil(p.Window.Min[1]/p.Per/tick - 1e-9); k*tick*p.Per <= p.Window.Max[1]+1e-9; k++ {
		y := p.Place(orb.Point{0, k * tick * p.Per})[1]
		p.Line(p.x-1.5, y, p.x, y, Ink, 0.2)
		if math.Mod(k, numbered) == 0 {
			p.Text(p.x-2.2, y+0.8, SmallSize, Ink, End, phrase.Trimmed(k*tick*p.Per, 0))
		}
	}
	p.Text(p.x+p.broad(), bottom+7.6, SmallSize, Ink, End, "X, mm")
	p.Text(p.x, p.y-1, SmallSize, Ink, End, "Y, mm")
}

// bar draws a length to hold a rule against.
func (p *Leaf) bar(y float64) {
	const long = 50.0
	x := p.x
	p.Line(x, y, x+long, y, Ink, 0.3)
	for i := 0.0; i <= long; i += 10 {
		p.Line(x+i, y-1.2, x+i, y+1.2, Ink, 0.3)
	}
	text := "50 mm, when printed at 100 %"
	if p.Per != 1 {
		text += fmt.Sprintf(": %g mm of the stock, as the map is %s", long*p.Per, p.Scale())
	}
	p.Text(x, y+4, SmallSize, Ink, "", text)
}
