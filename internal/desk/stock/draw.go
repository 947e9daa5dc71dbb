package stock

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Drawing is what lies on the bench; each may be nil.
type Drawing struct {
	Job    *Job
	Stock  *surface.Placed
	Boxes  []surface.Box
	Travel bool // draw the ways between burns as well
}

// pad is how much is drawn around all, in parts of the longer side.
const pad = 0.06

// Box is what all lies in; it has no area where there is nothing to draw.
func (d *Drawing) Box() orb.Bound {
	b := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	if d.Stock != nil {
		for _, c := range d.Stock.Bounds() {
			b = b.Extend(c)
		}
	}
	if d.Job != nil && d.Job.Burns > 0 {
		b = b.Union(d.Job.Box)
	}
	for _, x := range d.Boxes {
		b = b.Union(orb.Bound{Min: orb.Point{x.X0, x.Y0}, Max: orb.Point{x.X1, x.Y1}})
	}
	if b.IsEmpty() {
		return orb.Bound{}
	}
	return b.Pad(pad * max(b.Right()-b.Left(), b.Top()-b.Bottom(), 1))
}

// SVG draws it, "" where there is nothing to draw. Y goes up: places are drawn at -Y.
func (d *Drawing) SVG() string {
	b := d.Box()
	if b.Right() <= b.Left() {
		return ""
	}
	var s strings.Builder
	fmt.Fprintf(&s, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="%s %s %s %s" role="img" aria-label="%s">`,
		mm(b.Left()), mm(-b.Top()), mm(b.Right()-b.Left()), mm(b.Top()-b.Bottom()), d.says())
	if d.Stock != nil {
		path(&s, "stock", []orb.LineString{outline(d.Stock)})
		d.contours(&s)
	}
	if d.Job != nil {
		if d.Travel {
			path(&s, "travel", d.Job.travels.all)
		}
		path(&s, "burn", d.Job.burns.all)
	}
	for _, x := range d.Boxes {
		path(&s, "box", []orb.LineString{{{x.X0, x.Y0}, {x.X1, x.Y0}, {x.X1, x.Y1}, {x.X0, x.Y1}, {x.X0, x.Y0}}})
		text(&s, "figure", orb.Point{(x.X0 + x.X1) / 2, (x.Y0 + x.Y1) / 2}, phrase.Signed(x.Height, 1))
	}
	s.WriteString("</svg>")
	return s.String()
}

// says is the drawing in words.
func (d *Drawing) says() string {
	var parts []string
	if d.Stock != nil {
		low, high, _, _ := d.Stock.Range()
		parts = append(parts, fmt.Sprintf("the stock, with contours of heights from %s to %s mm", phrase.Signed(low, 2), phrase.Signed(high, 2)))
	}
	if d.Job != nil && d.Job.Burns > 0 {
		parts = append(parts, fmt.Sprintf("%s from X%s Y%s to X%s Y%s", phrase.Count(d.Job.Burns, "burn"), mm(d.Job.Box.Left()), mm(d.Job.Box.Bottom()), mm(d.Job.Box.Right()), mm(d.Job.Box.Top())))
	}
	if len(d.Boxes) > 0 {
		parts = append(parts, phrase.Count(len(d.Boxes), "box"))
	}
	return "Seen from above: " + phrase.List(parts)
}

// outline goes around a surface.
func outline(p *surface.Placed) orb.LineString {
	var l orb.LineString
	for _, c := range p.Bounds() {
		l = append(l, c)
	}
	return append(l, l[0])
}

// path draws lines as one path.
func path(s *strings.Builder, class string, all []orb.LineString) {
	if len(all) == 0 {
		return
	}
	fmt.Fprintf(s, `<path class="%s" d="`, class)
	for _, l := range all {
		for k, at := range l {
			letter := "L"
			if k == 0 {
				letter = "M"
			}
			s.WriteString(letter + mm(at[0]) + " " + mm(-at[1]))
		}
	}
	s.WriteString(`"/>`)
}

// text writes a text at a place.
func text(s *strings.Builder, class string, at orb.Point, words string) {
	fmt.Fprintf(s, `<text class="%s" x="%s" y="%s">%s</text>`, class, mm(at[0]), mm(-at[1]), words)
}

// mm writes a length as drawings need it.
func mm(v float64) string { return phrase.Trimmed(v, 2) }
