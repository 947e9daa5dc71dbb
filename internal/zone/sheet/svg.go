package sheet

import (
	"bufio"
	"fmt"
	"image/color"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
	"gonum.org/v1/plot/palette"
	"gonum.org/v1/plot/palette/moreland"

	"sagitta/internal/phrase"
	"sagitta/internal/svg"
)

// Sizes of the picture in mm of paper: as wide as A4 lying on its side.
const (
	svgWide   = 190.0 // of the drawing
	svgMargin = 6.0
	svgLegend = 84.0
	svgText   = 3.0 // height of letters
	svgRow    = 4.5 // of the legend
	// svgRows is how many zones the legend lists.
	svgRows = 40
	// svgFine is how far lines may be simplified.
	svgFine = 0.05
	svgInk  = "#1c1c1c"
)

// picture is the map of the zones as it is drawn.
type picture struct {
	svg.Canvas
	box   orb.Bound // of what is drawn, mm
	scale float64   // mm of paper for a mm
}

// writeSVG draws the zones: bands tinted, burns in each zone's colour, focus
// points numbered.
func (s *Set) writeSVG(w *bufio.Writer) error {
	p := picture{}
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
	m := newMesh(s.Surface)
	n := len(s.Zones)
	for i := range s.Zones {
		p.band(m.band(s.Zones[i].Band), colour(i, n))
	}
	for i := range s.Zones {
		p.burns(s.Zones[i].Lines.picture(), colour(i, n))
	}
	for i := range s.Zones {
		at := p.place(orb.Point{s.Zones[i].Point.X, s.Zones[i].Point.Y})
		p.Circle(at[0], at[1], 2.2, "#ffffff", colour(i, n), 0.5)
		p.Text(at[0], at[1]+0.85, 2.4, colour(i, n), svg.Middle+svg.Bold, strconv.Itoa(s.Zones[i].Order))
	}
	rows := min(n, svgRows)
	p.legend(s, wide*p.scale+2*svgMargin, rows)
	height := max(tall*p.scale, float64(rows+6)*svgRow) + 2*svgMargin
	_, err := w.Write(p.Page(wide*p.scale+svgLegend+3*svgMargin, height))
	return err
}

// band draws the outline of a band, tinted.
func (p *picture) band(outline orb.MultiPolygon, colour string) {
	tint := fmt.Sprintf(` fill="%s" fill-opacity="0.09" fill-rule="evenodd" stroke="%s" stroke-opacity="0.45" stroke-width="0.15"`, colour, colour)
	var rings [][][2]float64
	for _, poly := range outline {
		for _, ring := range poly {
			rings = append(rings, p.places(orb.LineString(ring)))
		}
	}
	p.Paths(tint, rings...)
}

// burns draws the burns of a zone.
func (p *picture) burns(lines orb.MultiLineString, colour string) {
	thin := simplify.DouglasPeucker(svgFine / p.scale)
	thinned := make([][][2]float64, len(lines))
	for i, line := range lines {
		thinned[i] = p.places(thin.LineString(line.Clone()))
	}
	p.Paths(` fill="none" stroke="`+colour+`" stroke-width="0.3"`, thinned...)
}

// legend lists the first zones.
func (p *picture) legend(s *Set, x float64, rows int) {
	y := svgMargin + svgText
	line := func(x float64, format string, args ...any) {
		p.Text(x, y, svgText, svgInk, "", fmt.Sprintf(format, args...))
		y += svgRow
	}
	line(x, "Focus zones of %s", s.title())
	line(x, "numbers: where to set the focus, mm over the datum")
	y += svgRow / 2
	for i := range rows {
		z := &s.Zones[i]
		p.Rect(x, y-2.5, svgText, svgText, colour(i, len(s.Zones)), "none", 0)
		line(x+1.7*svgText, "%d  %s, focus %+.3f mm, %s", z.Order, s.Lenses[z.Lens].Name, z.Focus, phrase.Clock(z.Seconds))
	}
	if more := len(s.Zones) - rows; more > 0 {
		line(x, "and %d more: see sheet.txt", more)
	}
}

// place is where a place is on the paper.
func (p *picture) place(at orb.Point) [2]float64 {
	return [2]float64{svgMargin + (at[0]-p.box.Min[0])*p.scale, svgMargin + (p.box.Max[1]-at[1])*p.scale}
}

// places are those of a line string on the paper.
func (p *picture) places(l orb.LineString) [][2]float64 {
	out := make([][2]float64, len(l))
	for i, at := range l {
		out[i] = p.place(at)
	}
	return out
}

// zoneColours run from dark violet for the lowest zone over blue and green to
// ochre for the highest. Their lightness grows evenly, so that they stay in
// order in grey print and in any form of colour blindness, and all are dark
// enough for white paper.
var zoneColours = func() palette.ColorMap {
	m, err := moreland.NewLuminance([]color.Color{
		color.NRGBA{0x22, 0x0c, 0x54, 0xff},
		color.NRGBA{0x24, 0x48, 0x9c, 0xff},
		color.NRGBA{0x20, 0x74, 0x80, 0xff},
		color.NRGBA{0x66, 0x86, 0x24, 0xff},
		color.NRGBA{0xc0, 0x84, 0x14, 0xff},
	})
	if err != nil {
		panic(err) // the colours above are not in order of their lightness
	}
	m.SetMin(0)
	m.SetMax(1)
	return m
}()

// colour is that of zone i of n, the highest first.
func colour(i, n int) string {
	at := 1.0
	if n > 1 {
		at = 1 - float64(i)/float64(n-1)
	}
	c, err := zoneColours.At(at)
	if err != nil {
		return "#1c1c1c" // at lies between the ends
	}
	r, g, b, _ := c.RGBA()
	return fmt.Sprintf("#%02x%02x%02x", r>>8, g>>8, b>>8)
}
