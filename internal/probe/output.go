package probe

import (
	"bytes"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/compose"
	"sagitta/internal/diag"
	"sagitta/internal/record"
	"sagitta/internal/svg"
)

// slowPart is the part of the probe's feed that the datum is touched with:
// everything counts from it.
const slowPart = 0.25

// Program gives the touch-probing program for a bench, its travels clearMM over
// the datum. Z is 0 where the tool touches the datum; the operator sets it so.
// made is the first comment. The error, a *diag.Error, is that Z would leave its
// range, or a line be too long for the controller.
func (p *Probing) Program(m *record.Machine, clearMM float64, made string) ([]byte, error) {
	above, below := m.Sigma()*clearMM, -m.Sigma()*m.ProbeDepthMM
	for _, z := range []float64{above, below} {
		if m.ZMinMM != nil && z < *m.ZMinMM || m.ZMaxMM != nil && z > *m.ZMaxMM {
			return nil, diag.Errorf(diag.Setting, "give a smaller --clear, or another probe_depth_mm or range in the profile",
				"touching would take Z to %g mm, beyond the profile's range", z)
		}
	}
	w := compose.New(m)
	comment := func(format string, args ...any) { w.Comment(fmt.Sprintf(format, args...)) }
	up, down := w.Length(m.ZAxis[0], above), w.Length(m.ZAxis[0], below)
	touch := func(k int, part float64) {
		w.Block("G0", w.Length('X', p.Places[k][0]-m.ProbeOffsetMM[0]), w.Length('Y', p.Places[k][1]-m.ProbeOffsetMM[1]))
		w.Block("G38.2", down, w.Feed(m.ProbeFeedMMMin*part))
		w.Block("G0", up)
	}
	comment("%s", made)
	first, zero := "datum", "where the touch tool meets the datum"
	if p.Zero != "" {
		first, zero = "that at", p.Zero
	}
	comment("touches %d places from X%.3f Y%.3f to X%.3f Y%.3f mm, %s X%.3f Y%.3f, first and last", len(p.Places),
		p.X[0], p.Y[0], p.X[len(p.X)-1], p.Y[len(p.Y)-1], first, p.Places[0][0], p.Places[0][1])
	comment("set %s to 0 %s: between touches it is at %g mm over it", m.ZAxis, zero, clearMM)
	if o := m.ProbeOffsetMM; o != [3]float64{} {
		comment("probe_offset_mm: the touch tool sits at X%g Y%g Z%g from the beam: places logged are those of the beam", o[0], o[1], o[2])
		comment("give --shift %g,%g to the command that makes the surface", o[0], o[1])
	}
	w.Block(w.Off())
	w.Block(w.Unit(), "G90", "G94")
	w.Block(w.Dark())
	w.Block("G0", up)
	touch(0, slowPart)
	for k := 1; k < len(p.Places); k++ {
		touch(k, 1)
	}
	if p.Zero == "" {
		first = "the datum"
	} else {
		first = "the first place"
	}
	comment("%s again: drift shows", first)
	touch(0, slowPart)
	w.Block("M2")
	return w.Text()
}

// Seconds estimates how long that takes, for a surface near the datum.
func (p *Probing) Seconds(m *record.Machine, clearMM float64) float64 {
	n := float64(len(p.Places) + 1)
	return 60 * (n*clearMM/m.ProbeFeedMMMin + 2*clearMM/(slowPart*m.ProbeFeedMMMin) + (p.Travel()+n*clearMM)/m.RapidMMMin)
}

// Sheet gives the places as a CSV with blank heights, numbered as on the map.
// The first is to be measured again at the end.
func (p *Probing) Sheet() []byte {
	var out bytes.Buffer
	out.WriteString("# heights in mm, larger is nearer the lens; measure place 1 first, and once more at the end\n")
	if p.Zero != "" {
		fmt.Fprintf(&out, "# set the zero %s\n", p.Zero)
	}
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
