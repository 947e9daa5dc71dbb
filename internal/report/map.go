package report

import (
	"fmt"
	"io"

	"github.com/paulmach/orb"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/fit"
	"sagitta/internal/fit/layout"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Map is what is drawn. Lengths are in mm, places in the surface's own coordinates.
type Map struct {
	Title string
	// At gives the height at x, y, and reports whether there is one. Where there
	// is none it gives one on which contours may run on, out of sight.
	At       func(x, y float64) (z float64, there bool)
	Low, Top [2]float64 // corners of the area
	Places   []Place
	LeftOut  []LeftOut
	Doubts   []fit.Doubt
	// Sure is how sure heights are, nil where all are as sure.
	Sure *Sure
	// Datum is where heights count from, nil where nobody said, and Outline goes around what
	// a job burns, closed, nil without a job.
	Datum   *[2]float64
	Outline []orb.Point
}

// SurfaceMap draws a surface and the points that it was made of as "svg" or "png", with
// the outline of what a job burns, in program XY; nil for none.
func SurfaceMap(w io.Writer, format string, m *fit.Measured, burns orb.MultiLineString) error {
	c, err := mapOf(m, burns)
	if err != nil {
		return err
	}
	return c.Draw(w, format)
}

// mapOf is the map of a surface.
func mapOf(m *fit.Measured, burns orb.MultiLineString) (*Map, error) {
	s := m.Written.Surface
	p, err := surface.Place(s, surface.Placement{Raw: true})
	if err != nil {
		return nil, err
	}
	x, y := s.X(), s.Y()
	c := &Map{
		Title: fmt.Sprintf("%s: %s, %s", phrase.Printable(m.Name), m.Choice.Name, phrase.Count(len(m.Points), "point")),
		At: func(x, y float64) (float64, bool) {
			h, where := p.At(x, y)
			return h, where == surface.On
		},
		Low:   [2]float64{x[0], y[0]},
		Top:   [2]float64{x[len(x)-1], y[len(y)-1]},
		Datum: m.Header.Datum, Doubts: m.Doubts,
	}
	c.Places, c.LeftOut = numbered(m)
	if least, greatest := s.Errors(); greatest > least {
		c.Sure = &Sure{At: p.ErrorAt, Least: least, Greatest: greatest}
	}
	at := m.Header.Placement()
	at.Raw = true
	on, err := surface.Place(s, at)
	if err != nil {
		return nil, err
	}
	for _, q := range layout.Around(burns) {
		x, y := on.Local(q[0], q[1])
		c.Outline = append(c.Outline, orb.Point{x, y})
	}
	return c, nil
}

const (
	// mapSide bounds the map itself, barWidth is beside it.
	mapSide   = 18 * vg.Centimeter
	leastSide = 5 * vg.Centimeter
	barWidth  = 2.6 * vg.Centimeter
	mapMargin = 2.2 * vg.Centimeter
	// edge is white around all.
	edge = 0.3 * vg.Centimeter
)

// size is that of the map itself on paper.
func (m *Map) size() (wide, high vg.Length) {
	width, height := m.Top[0]-m.Low[0], m.Top[1]-m.Low[1]
	per := float64(mapSide) / max(width, height)
	side := func(mm float64) vg.Length { return max(vg.Length(mm*per), leastSide) }
	return side(width), side(height)
}

// per is how many mm of paper a mm along x and along y is.
func (m *Map) per() (x, y float64) {
	wide, high := m.size()
	return float64(wide/vg.Millimeter) / (m.Top[0] - m.Low[0]), float64(high/vg.Millimeter) / (m.Top[1] - m.Low[1])
}

// Draw writes the map as "svg" or "png".
func (m *Map) Draw(w io.Writer, format string) error {
	if !(m.Top[0] > m.Low[0] && m.Top[1] > m.Low[1]) {
		return fmt.Errorf("an area without width cannot be drawn")
	}
	g := m.sample()
	if !(g.low <= g.high) {
		return fmt.Errorf("no height to draw")
	}
	wide, high := m.size()
	wide, high = wide+mapMargin+2*edge, high+mapMargin
	bar := barWidth
	if g.flat() {
		bar = 0
	}
	notes := m.notes(g, wide+bar-2*edge)
	below := noteLine*vg.Length(len(notes)) + 2*edge
	return picture(w, format, wide+bar, high+below, func(c draw.Canvas) {
		above := draw.Crop(c, 0, 0, below, 0)
		m.drawMap(draw.Crop(above, edge, -bar-edge, 0, -edge), m.panel(g))
		if bar > 0 {
			drawBar(draw.Crop(above, wide, -0.4*vg.Centimeter, 1.2*vg.Centimeter, -0.8*vg.Centimeter), g)
		}
		drawNotes(draw.Crop(c, edge, -edge, edge, -high), notes)
	})
}

// panel has the layers over the heights, in order.
func (m *Map) panel(g *sampled) *panel {
	return &panel{m: m, g: g, layers: []layer{
		(*panel).contours, (*panel).lessSure, (*panel).holes, (*panel).outline, (*panel).places, (*panel).particular, (*panel).levels, (*panel).numbers,
	}}
}

// drawMap draws heights and a panel over them.
func (m *Map) drawMap(c draw.Canvas, over *panel) {
	g := over.g
	p := newPlot(11, 9, 8)
	p.Title.Text = m.Title
	p.X.Label.Text, p.Y.Label.Text = "x, mm", "y, mm"
	cm := colours(g.low, g.high)
	heat := plotter.NewHeatMap(g, cm.Palette(256))
	heat.Min, heat.Max, heat.Rasterized = cm.Min(), cm.Max(), true
	p.Add(heat, over)
	dx, dy := 0.02*(m.Top[0]-m.Low[0]), 0.02*(m.Top[1]-m.Low[1])
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = m.Low[0]-dx, m.Top[0]+dx, m.Low[1]-dy, m.Top[1]+dy
	p.Draw(c)
}

// drawBar draws what colours mean.
func drawBar(c draw.Canvas, g *sampled) {
	p := newPlot(11, 9, 8)
	p.Add(&plotter.ColorBar{ColorMap: colours(g.low, g.high), Vertical: true})
	p.HideX()
	p.Y.Label.Text = "height, mm (+ nearer the lens)"
	p.Y.Padding = 0
	p.Draw(c)
}
