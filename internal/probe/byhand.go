package probe

import (
	"bufio"
	"fmt"
	"io"
	"math"

	"github.com/paulmach/orb"
)

// WriteSheet writes the places as a CSV with blank heights, numbered as on
// the map. The first is to be measured again at the end.
func (p *Plan) WriteSheet(w io.Writer) error {
	out := bufio.NewWriter(w)
	out.WriteString("# heights in mm, larger is nearer the lens; measure place 1 first, and once more at the end\n")
	out.WriteString("nr,x_mm,y_mm,height_mm\n")
	for k, q := range p.Places {
		fmt.Fprintf(out, "%d,%.3f,%.3f,\n", k+1, q[0], q[1])
	}
	if len(p.Places) > 0 {
		fmt.Fprintf(out, "%d,%.3f,%.3f,\n", len(p.Places)+1, p.Places[0][0], p.Places[0][1])
	}
	return out.Flush()
}

const (
	// mapMargin is around the map, mm of paper.
	mapMargin = 12.0
	// barMM is the length to check the print's scale by.
	barMM = 100.0
)

// WriteMap writes a numbered map as SVG, one mm of paper for each mm of the
// bench, Y upwards. It has a bar to check the print by.
func (p *Plan) WriteMap(w io.Writer, title string) error {
	out := bufio.NewWriter(w)
	x0, x1 := p.X[0], p.X[len(p.X)-1]
	y0, y1 := p.Y[0], p.Y[len(p.Y)-1]
	width, height := math.Max(x1-x0, barMM)+2*mapMargin, y1-y0+3*mapMargin
	fmt.Fprintf(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.3fmm\" height=\"%.3fmm\" viewBox=\"0 0 %.3f %.3f\" font-family=\"sans-serif\">\n",
		width, height, width, height)
	fmt.Fprintf(out, "<rect width=\"%.3f\" height=\"%.3f\" fill=\"#fff\"/>\n", width, height)
	place := func(q orb.Point) (float64, float64) { return q[0] - x0 + mapMargin, y1 - q[1] + 2*mapMargin }
	fmt.Fprintf(out, "<text x=\"%.1f\" y=\"6\" font-size=\"4\">%s</text>\n", mapMargin, escape(title))
	fmt.Fprintf(out, "<path d=\"M%.3f 12h%.0fm0 -1.5v3m-%.0f 0v-3\" stroke=\"#000\" stroke-width=\"0.3\" fill=\"none\"/>\n", mapMargin, barMM, barMM)
	fmt.Fprintf(out, "<text x=\"%.1f\" y=\"10.5\" font-size=\"3\">%.0f mm: check the print; heights up, X%.3f Y%.3f at place 1</text>\n",
		mapMargin, barMM, p.Places[0][0], p.Places[0][1])
	out.WriteString("<g fill=\"none\" stroke=\"#999\" stroke-width=\"0.2\">\n")
	for _, line := range p.Area.Burns {
		out.WriteString("<path d=\"")
		for k, q := range line {
			x, y := place(q)
			c := byte('L')
			if k == 0 {
				c = 'M'
			}
			fmt.Fprintf(out, "%c%.2f %.2f", c, x, y)
		}
		out.WriteString("\"/>\n")
	}
	out.WriteString("</g>\n<g font-size=\"3.2\" stroke=\"#000\" stroke-width=\"0.25\">\n")
	for k, q := range p.Places {
		x, y := place(q)
		fmt.Fprintf(out, "<path d=\"M%.3f %.3fh4m-2 -2v4\" fill=\"none\"/><circle cx=\"%.3f\" cy=\"%.3f\" r=\"1.2\" fill=\"none\"/>", x-2, y, x, y)
		fmt.Fprintf(out, "<text x=\"%.3f\" y=\"%.3f\" stroke=\"none\">%d</text>\n", x+1.6, y-1.4, k+1)
	}
	out.WriteString("</g>\n</svg>\n")
	return out.Flush()
}

func escape(s string) string {
	out := make([]rune, 0, len(s))
	for _, r := range s {
		switch {
		case r == '&' || r == '<' || r == '>' || r < ' ':
			out = append(out, []rune(fmt.Sprintf("&#%d;", max(r, ' ')))...)
		default:
			out = append(out, r)
		}
	}
	return string(out)
}
