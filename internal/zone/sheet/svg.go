package sheet

import (
	"fmt"
	"io"
	"strconv"

	svg "github.com/ajstarks/svgo/float"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"

	"sagitta/internal/phrase"
)

// Sizes of the picture, in its own units.
const (
	svgWide   = 900.0 // of the drawing
	svgMargin = 24.0
	svgRow    = 18.0 // of the legend
	svgLegend = 330.0
	// svgRows is how many zones the legend lists.
	svgRows = 40
	// svgFine is how far lines may be simplified.
	svgFine = 0.25
	// svgPoints is about how many points the burns of all zones have: of more,
	// only every second line is drawn, or every third, and so on.
	svgPoints = 120_000
)

// picture is the map of the zones as it is drawn.
type picture struct {
	*svg.SVG
	box   orb.Bound // of what is drawn, mm
	scale float64   // units for a mm
}

// writeSVG draws the zones: bands tinted, burns in each zone's colour, focus
// points numbered.
func (s *Set) writeSVG(w io.Writer) error {
	p := picture{SVG: svg.New(w)}
	corners := orb.MultiPoint{}
	for _, c := range s.Surface.Bounds() {
		corners = append(corners, c)
	}
	p.box = corners.Bound()
	for i := range s.Zones {
		p.box = p.box.Union(s.Zones[i].Bound)
	}
	wide, tall := p.box.Max[0]-p.box.Min[0], p.box.Max[1]-p.box.Min[1]
	p.scale = svgWide / max(wide, tall, 1e-6)
	rows := min(len(s.Zones), svgRows)
	height := max(tall*p.scale, float64(rows+6)*svgRow) + 2*svgMargin
	width := wide*p.scale + svgLegend + 3*svgMargin
	p.Start(width, height, fmt.Sprintf(`viewBox="0 0 %.0f %.0f"`, width, height), `font-family="Helvetica, Arial, sans-serif"`, `font-size="12"`)
	p.Rect(0, 0, width, height, `fill="#ffffff"`)
	m := newMesh(s.Surface)
	n := len(s.Zones)
	for i := range s.Zones {
		var d []byte
		for _, poly := range m.band(s.Zones[i].Band) {
			for _, ring := range poly {
				d = append(p.path(d, orb.LineString(ring)), 'Z')
			}
		}
		c := colour(i, n)
		p.Path(string(d), `fill="`+c+`"`, `fill-opacity="0.09"`, `fill-rule="evenodd"`, `stroke="`+c+`"`, `stroke-opacity="0.45"`, `stroke-width="0.7"`)
	}
	for i := range s.Zones {
		if err := p.burns(s.Zones[i].Lines, colour(i, n), svgPoints/n); err != nil {
			return err
		}
	}
	for i := range s.Zones {
		x, y := p.place(orb.Point{s.Zones[i].Point.X, s.Zones[i].Point.Y})
		p.Circle(x, y, 9, `fill="#ffffff"`, `stroke="`+colour(i, n)+`"`, `stroke-width="2"`)
		p.Text(x, y+3.5, strconv.Itoa(s.Zones[i].Order), `text-anchor="middle"`, `font-size="10"`, `font-weight="bold"`, `fill="`+colour(i, n)+`"`)
	}
	p.legend(s, wide*p.scale+2*svgMargin, rows)
	p.End()
	return nil
}

// burns draws the burns of a zone, about so many points of them at most.
func (p *picture) burns(l *Lines, colour string, most int) error {
	every := 1 + (l.total+len(l.points))/max(most, leastAtHand)
	var d []byte
	n := 0
	err := l.each(func(list orb.MultiLineString) error {
		for _, line := range list {
			if n++; n%every == 0 {
				d = p.path(d, simplify.DouglasPeucker(svgFine/p.scale).LineString(line.Clone()))
			}
		}
		return nil
	})
	p.Path(string(d), `fill="none"`, `stroke="`+colour+`"`, `stroke-width="1.3"`)
	return err
}

// legend lists the first zones.
func (p *picture) legend(s *Set, x float64, rows int) {
	y := svgMargin + 12
	line := func(x float64, format string, args ...any) {
		p.Text(x, y, fmt.Sprintf(format, args...), `fill="#1c1c1c"`)
		y += svgRow
	}
	line(x, "Focus zones of %s", s.title())
	line(x, "numbers: where to set the focus, mm over the datum")
	y += svgRow / 2
	for i := range rows {
		z := &s.Zones[i]
		p.Rect(x, y-10, 12, 12, `fill="`+colour(i, len(s.Zones))+`"`)
		line(x+20, "%d  %s, focus %+.3f mm, %s", z.Order, s.Lenses[z.Lens].Name, z.Focus, phrase.Clock(z.Seconds))
	}
	if more := len(s.Zones) - rows; more > 0 {
		line(x, "and %d more: see sheet.txt", more)
	}
}

// place is where a place is in the picture.
func (p *picture) place(at orb.Point) (x, y float64) {
	return svgMargin + (at[0]-p.box.Min[0])*p.scale, svgMargin + (p.box.Max[1]-at[1])*p.scale
}

// path spells a line string as SVG path data.
func (p *picture) path(d []byte, l orb.LineString) []byte {
	for i, at := range l {
		x, y := p.place(at)
		d = append(d, "ML"[min(i, 1)])
		d = strconv.AppendFloat(d, x, 'f', 1, 64)
		d = append(d, ' ')
		d = strconv.AppendFloat(d, y, 'f', 1, 64)
	}
	return d
}
