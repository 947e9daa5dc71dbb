package report

import (
	"fmt"
	"io"

	"github.com/paulmach/orb"
	"gonum.org/v1/plot"
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
	// Width is how wide the picture is: 0 for as wide as the map wants it.
	Width Width
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
	// Over is a job over the heights, which are then drawn lighter; nil for none.
	Over *Over
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
	// barHeight is below a map that has no room beside it.
	barHeight = 1.5 * vg.Centimeter
	// axisRoom is what axes take of a width.
	axisRoom = 1.6 * vg.Centimeter
	// highest is how high a map is at most, of its width.
	highest = 1.4
	// edge is white around all.
	edge = 0.3 * vg.Centimeter
)

// size is that of the map itself on paper.
func (m *Map) size() (wide, high vg.Length) {
	mostWide, mostHigh, least := mapSide, mapSide, leastSide
	if m.Width > 0 {
		mostWide = vg.Length(m.Width) - axisRoom - 2*edge
		if !m.narrow() {
			mostWide -= barWidth
		}
		mostHigh = mostWide * highest
		least = mostWide / 4
	}
	width, height := m.Top[0]-m.Low[0], m.Top[1]-m.Low[1]
	per := min(float64(mostWide)/width, float64(mostHigh)/height)
	return max(vg.Length(width*per), least), max(vg.Length(height*per), least)
}

// narrow reports whether there is no room beside the map.
func (m *Map) narrow() bool { return m.Width > 0 && m.Width < Wide }

// per is how many mm of paper a mm along x and along y is.
func (m *Map) per() (x, y float64) {
	wide, high := m.size()
	return float64(wide/vg.Millimeter) / (m.Top[0] - m.Low[0]), float64(high/vg.Millimeter) / (m.Top[1] - m.Low[1])
}

// Draw writes the map as "svg" or "png".
func (m *Map) Draw(w io.Writer, format string) error {
	p, err := m.Picture()
	if err != nil {
		return err
	}
	return p.Write(w, format)
}

// Picture is the map with what colours and marks of it mean.
func (m *Map) Picture() (*Picture, error) {
	if !(m.Top[0] > m.Low[0] && m.Top[1] > m.Low[1]) {
		return nil, fmt.Errorf("an area without width cannot be drawn")
	}
	g := m.sample()
	if !(g.low <= g.high) && m.Over == nil {
		return nil, fmt.Errorf("no height to draw")
	}
	axes := m.axes(g)
	dataWide, dataHigh := m.size()
	mapWide, mapHigh := canvasFor(axes, dataWide, dataHigh)
	var beside, below vg.Length // of the map, for the bar
	switch {
	case g.flat():
	case m.narrow():
		below = barHeight
	default:
		beside = barWidth
	}
	wide := max(mapWide+beside+2*edge, vg.Length(m.Width))
	title := titled(m.Title, wide-2*edge)
	head := edge + vg.Length(len(title))*titleLine
	notes := m.notes(g, wide-2*edge)
	foot := noteLine*vg.Length(len(notes)) + 2*edge
	return &Picture{wide, head + mapHigh + below + foot, func(c draw.Canvas) []Frame {
		drawTitle(draw.Crop(c, edge, -edge, 0, -edge), title)
		all := draw.Crop(c, edge, -edge, foot, -head)
		over := m.panel(g)
		axes := m.drawMap(draw.Crop(all, 0, mapWide-(all.Max.X-all.Min.X), below, 0), over)
		switch {
		case beside > 0:
			drawBar(draw.Crop(all, mapWide+edge, mapWide+beside-0.6*vg.Centimeter-(all.Max.X-all.Min.X), over.canvas.Min.Y-all.Min.Y, over.canvas.Max.Y-all.Max.Y), g, true)
		case below > 0:
			left := over.canvas.Min.X - all.Min.X
			drawBar(draw.Crop(all, left, mapWide-(all.Max.X-all.Min.X), 0, barHeight-0.2*vg.Centimeter-(all.Max.Y-all.Min.Y)), g, false)
		}
		drawNotes(draw.Crop(c, edge, -edge, edge, foot-edge-(c.Max.Y-c.Min.Y)), notes)
		return []Frame{frameOf(c, over.canvas, axes)}
	}}, nil
}

// panel has the layers over the heights, in order.
func (m *Map) panel(g *sampled) *panel {
	if m.Over != nil {
		return &panel{m: m, g: g, layers: []layer{
			(*panel).contours, (*panel).holes, (*panel).measured, (*panel).stock, (*panel).boxes, (*panel).travels, (*panel).burns,
			(*panel).job, (*panel).particular, (*panel).names, (*panel).levels, (*panel).lessSure,
		}}
	}
	return &panel{m: m, g: g, layers: []layer{
		(*panel).contours, (*panel).holes, (*panel).outline, (*panel).places, (*panel).particular, (*panel).levels, (*panel).numbers, (*panel).lessSure,
	}}
}

// drawMap draws heights and a panel over them.
func (m *Map) drawMap(c draw.Canvas, over *panel) *plot.Plot {
	p := m.axes(over.g)
	p.Add(over)
	p.Draw(c)
	return p
}

// axes are those of the map, with the heights.
func (m *Map) axes(g *sampled) *plot.Plot {
	p := newPlot(11, 9, 8)
	p.X.Label.Text, p.Y.Label.Text = "x, mm", "y, mm"
	p.Add(sheet{})
	if g.low <= g.high {
		cm := g.colours()
		heat := plotter.NewHeatMap(g, cm.Palette(256))
		heat.Min, heat.Max, heat.Rasterized = cm.Min(), cm.Max(), true
		p.Add(heat)
	}
	dx, dy := 0.02*(m.Top[0]-m.Low[0]), 0.02*(m.Top[1]-m.Low[1])
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = m.Low[0]-dx, m.Top[0]+dx, m.Low[1]-dy, m.Top[1]+dy
	wide, high := m.size()
	p.X.Tick.Marker, p.Y.Tick.Marker = evenTicks{ticksIn(wide)}, evenTicks{ticksIn(high)}
	return p
}

// sheet is the light ground of a map, whatever the page is.
type sheet struct{}

func (sheet) Plot(c draw.Canvas, _ *plot.Plot) {
	c.SetColor(sheetPaper)
	c.Fill(c.Rectangle.Path())
}

// drawBar draws what colours mean.
func drawBar(c draw.Canvas, g *sampled, upright bool) {
	p := newPlot(11, 9, 8)
	p.Add(&plotter.ColorBar{ColorMap: g.colours(), Vertical: upright})
	const what = "height, mm (+ nearer the lens)"
	if upright {
		p.HideX()
		p.Y.Label.Text, p.Y.Padding, p.Y.Tick.Marker = what, 0, evenTicks{ticksIn(c.Max.Y - c.Min.Y)}
	} else {
		p.HideY()
		p.X.Label.Text, p.X.Padding, p.X.Tick.Marker = what, 0, evenTicks{ticksIn(c.Max.X - c.Min.X)}
	}
	p.Draw(c)
}
