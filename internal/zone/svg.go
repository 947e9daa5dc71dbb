package zone

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"image/color"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"gonum.org/v1/plot/palette"
	"gonum.org/v1/plot/palette/moreland"

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
)

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

// writeSVG draws the zones: bands tinted, burns in each zone's colour, focus
// points numbered.
func (s *splitter) writeSVG(w io.Writer) error {
	out := bufio.NewWriter(w)
	box := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, c := range s.opt.Surface.Bounds() {
		box = grown(box, orb.Point{c[0], c[1]})
	}
	for _, o := range s.outs {
		if o.drawn.any {
			box = grown(grown(box, o.z.Bound.Min), o.z.Bound.Max)
		}
	}
	wide, tall := box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]
	scale := svgWide / max(wide, tall, 1e-6)
	at := func(p orb.Point) string {
		return coordinate(svgMargin+(p[0]-box.Min[0])*scale) + " " + coordinate(svgMargin+(box.Max[1]-p[1])*scale)
	}
	rows := min(len(s.outs), svgRows)
	height := max(tall*scale, float64(rows+6)*svgRow) + 2*svgMargin
	width := wide*scale + svgLegend + 3*svgMargin
	fmt.Fprintf(out, `<svg xmlns="http://www.w3.org/2000/svg" width="%.0f" height="%.0f" viewBox="0 0 %.0f %.0f" font-family="Helvetica, Arial, sans-serif" font-size="12">`+"\n", width, height, width, height)
	fmt.Fprintf(out, `<rect width="%.0f" height="%.0f" fill="#ffffff"/>`+"\n", width, height)
	m := newMesh(s.opt.Surface)
	n := len(s.outs)
	for i, o := range s.outs {
		d := ""
		for _, poly := range m.band(o.z.Band) {
			for _, ring := range poly {
				d += pathOf(orb.LineString(ring), at) + "Z"
			}
		}
		fmt.Fprintf(out, `<path d="%s" fill="%s" fill-opacity="0.09" fill-rule="evenodd" stroke="%s" stroke-opacity="0.45" stroke-width="0.7"/>`+"\n", d, colour(i, n), colour(i, n))
	}
	for i, o := range s.outs {
		fmt.Fprintf(out, `<path fill="none" stroke="%s" stroke-width="1.3" d="`, colour(i, n))
		for _, l := range o.drawn.keep.lines {
			_, _ = out.WriteString(pathOf(l, at))
		}
		_, _ = out.WriteString("\"/>\n")
	}
	for i, o := range s.outs {
		x, y, _ := strings.Cut(at(orb.Point{o.z.Point.X, o.z.Point.Y}), " ")
		fx, _ := strconv.ParseFloat(x, 64)
		fy, _ := strconv.ParseFloat(y, 64)
		fmt.Fprintf(out, `<circle cx="%s" cy="%s" r="9" fill="#ffffff" stroke="%s" stroke-width="2"/><text x="%.1f" y="%.1f" text-anchor="middle" font-size="10" font-weight="bold" fill="%s">%d</text>`+"\n",
			x, y, colour(i, n), fx, fy+3.5, colour(i, n), o.z.Order)
	}
	s.svgText(out, wide*scale+2*svgMargin, rows)
	_, _ = out.WriteString("</svg>\n")
	return out.Flush()
}

// svgText writes the legend.
func (s *splitter) svgText(out *bufio.Writer, x float64, rows int) {
	y := svgMargin + 12
	line := func(format string, args ...any) {
		var b strings.Builder
		_ = xml.EscapeText(&b, fmt.Appendf(nil, format, args...))
		fmt.Fprintf(out, `<text x="%.1f" y="%.1f" fill="#1c1c1c">%s</text>`+"\n", x, y, b.String())
		y += svgRow
	}
	line("Focus zones of %s", s.p.stem())
	line("numbers: where to set the focus, mm over the datum")
	y += svgRow / 2
	for i := range rows {
		o := s.outs[i]
		fmt.Fprintf(out, `<rect x="%.1f" y="%.1f" width="12" height="12" fill="%s"/>`+"\n", x, y-10, colour(i, len(s.outs)))
		x += 20
		line("%d  %s, focus %+.3f mm, %s", o.z.Order, o.lens.Name, o.z.Focus, phrase.Clock(o.z.Seconds))
		x -= 20
	}
	if more := len(s.outs) - rows; more > 0 {
		line("and %d more: see sheet.txt", more)
	}
}

func grown(b orb.Bound, p orb.Point) orb.Bound {
	return orb.Bound{Min: orb.Point{min(b.Min[0], p[0]), min(b.Min[1], p[1])}, Max: orb.Point{max(b.Max[0], p[0]), max(b.Max[1], p[1])}}
}

// pathOf spells a line string as SVG path data.
func pathOf(l orb.LineString, at func(orb.Point) string) string {
	var b strings.Builder
	for i, p := range l {
		if i == 0 {
			b.WriteByte('M')
		} else {
			b.WriteByte('L')
		}
		b.WriteString(at(p))
	}
	return b.String()
}

func coordinate(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) }
