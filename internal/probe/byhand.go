package probe

import (
	"bytes"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/svg"
)

// Sheet gives the places as a CSV with blank heights, numbered as on the map.
// The first is to be measured again at the end.
func (p *Probing) Sheet() []byte {
	var out bytes.Buffer
	out.WriteString("# heights in mm, larger is nearer the lens; measure place 1 first, and once more at the end\n")
	out.WriteString("nr,x_mm,y_mm,height_mm\n")
	for k := range len(p.Places) + 1 {
		q := p.Places[k%len(p.Places)]
		fmt.Fprintf(&out, "%d,%.3f,%.3f,\n", k+1, q[0], q[1])
	}
	return out.Bytes()
}

const (
	// mapMargin is around the map, mm of paper.
	mapMargin = 12.0
	// barMM is the length to check the print's scale by.
	barMM = 100.0
)

// Map gives a numbered map as SVG, one mm of paper for each mm of the bench, Y
// upwards. It has a bar to check the print by.
func (p *Probing) Map(title string) []byte {
	const ink, faint = "#000", "#999"
	x0, x1 := p.X[0], p.X[len(p.X)-1]
	y0, y1 := p.Y[0], p.Y[len(p.Y)-1]
	place := func(q orb.Point) (x, y float64) { return q[0] - x0 + mapMargin, y1 - q[1] + 2*mapMargin }
	c := &svg.Canvas{}
	c.Text(mapMargin, 6, 4, ink, "", title)
	for _, x := range []float64{mapMargin, mapMargin + barMM} {
		c.Line(x, mapMargin-1.5, x, mapMargin+1.5, ink, 0.3)
	}
	c.Line(mapMargin, mapMargin, mapMargin+barMM, mapMargin, ink, 0.3)
	c.Text(mapMargin, 10.5, 3, ink, "", fmt.Sprintf("%.0f mm: check the print; heights up, X%.3f Y%.3f at place 1", barMM, p.Places[0][0], p.Places[0][1]))
	for _, line := range p.Burns {
		points := make([][2]float64, len(line))
		for k, q := range line {
			points[k][0], points[k][1] = place(q)
		}
		c.Path(points, faint, 0.2)
	}
	for k, q := range p.Places {
		x, y := place(q)
		c.Line(x-2, y, x+2, y, ink, 0.25)
		c.Line(x, y-2, x, y+2, ink, 0.25)
		c.Circle(x, y, 1.2, "none", ink, 0.25)
		c.Text(x+1.6, y-1.4, 3.2, ink, "", fmt.Sprint(k+1))
	}
	return c.Page(math.Max(x1-x0, barMM)+2*mapMargin, y1-y0+3*mapMargin)
}
