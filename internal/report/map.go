package report

import (
	"cmp"
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"sagitta/internal/fit"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Map is what is drawn.
type Map struct {
	Title string
	// At gives the height at x, y, and reports whether there is one. Where there
	// is none it gives one on which contours may run on, out of sight.
	At       func(x, y float64) (z float64, there bool)
	Low, Top [2]float64 // corners of the area, mm
	Points   []surface.Point
	LeftOut  []fit.LeftOut
}

// SurfaceMap draws a surface and the points that it was made of as "svg" or "png".
func SurfaceMap(w io.Writer, format string, m *fit.Measured) error {
	s := m.Written.Surface
	p, err := surface.Place(s, surface.Placement{Raw: true})
	if err != nil {
		return err
	}
	x, y := s.X(), s.Y()
	c := &Map{
		Title: fmt.Sprintf("%s: %s, %s", phrase.Printable(m.Name), m.Choice.Name, phrase.Count(len(m.Points), "point")),
		At: func(x, y float64) (float64, bool) {
			h, where := p.At(x, y)
			return h, where == surface.On
		},
		Low:     [2]float64{x[0], y[0]},
		Top:     [2]float64{x[len(x)-1], y[len(y)-1]},
		Points:  m.Points,
		LeftOut: m.LeftOut,
	}
	return c.Draw(w, format)
}

const (
	// mapSide bounds the map itself, barWidth is beside it.
	mapSide   = 18 * vg.Centimeter
	leastSide = 5 * vg.Centimeter
	barWidth  = 2.6 * vg.Centimeter
	// cells of the picture along its longer side.
	cells = 160
	// labelled is how many points get their residual written beside them:
	// more would hide the map.
	labelled = 80
)

// Draw writes the map as "svg" or "png".
func (m *Map) Draw(w io.Writer, format string) error {
	width, height := m.Top[0]-m.Low[0], m.Top[1]-m.Low[1]
	if !(width > 0 && height > 0) {
		return fmt.Errorf("an area without width cannot be drawn")
	}
	per := float64(mapSide) / max(width, height)
	side := func(mm float64) vg.Length { return max(vg.Length(mm*per), leastSide) }
	margin := 2.2 * vg.Centimeter
	w0, h0 := side(width)+margin, side(height)+margin
	grid := m.sample()
	if !(grid.low <= grid.high) {
		return fmt.Errorf("no height to draw")
	}
	return picture(w, format, w0+barWidth, h0, func(c draw.Canvas) {
		m.drawMap(draw.Crop(c, 0, -barWidth, 0, 0), grid)
		drawBar(draw.Crop(c, w0, -0.4*vg.Centimeter, 1.2*vg.Centimeter, -0.8*vg.Centimeter), grid)
	})
}

// sampled is a plotter.GridXYZ of heights.
type sampled struct {
	x, y, z   []float64
	low, high float64
	mask      *image.NRGBA // white where there is no height, clear elsewhere; nil without such places
}

func (s *sampled) Dims() (c, r int)   { return len(s.x), len(s.y) }
func (s *sampled) Z(c, r int) float64 { return s.z[r*len(s.x)+c] }
func (s *sampled) X(c int) float64    { return s.x[c] }
func (s *sampled) Y(r int) float64    { return s.y[r] }

func (m *Map) sample() *sampled {
	w, h := m.Top[0]-m.Low[0], m.Top[1]-m.Low[1]
	step := math.Max(w, h) / cells
	nx, ny := max(int(w/step), 4), max(int(h/step), 4)
	s := &sampled{low: math.Inf(1), high: math.Inf(-1)}
	for i := range nx {
		s.x = append(s.x, m.Low[0]+w*(float64(i)+0.5)/float64(nx))
	}
	for j := range ny {
		s.y = append(s.y, m.Low[1]+h*(float64(j)+0.5)/float64(ny))
		for i := range nx {
			z, there := m.At(s.x[i], s.y[j])
			s.z = append(s.z, z)
			if there {
				s.low, s.high = min(s.low, z), max(s.high, z)
				continue
			}
			if s.mask == nil {
				s.mask = image.NewNRGBA(image.Rect(0, 0, nx, ny))
			}
			s.mask.Set(i, ny-1-j, color.White)
		}
	}
	return s
}

// inOrder draws contours in the same order each time: the library keeps them in
// a map.
type inOrder struct{ *plotter.Contour }

// Plot draws the contours.
func (o inOrder) Plot(c draw.Canvas, p *plot.Plot) {
	var drawn recorder.Canvas
	o.Contour.Plot(draw.Canvas{Canvas: &drawn, Rectangle: c.Rectangle}, p)
	var lines []vg.Path
	for _, a := range drawn.Actions {
		if stroke, ok := a.(*recorder.Stroke); ok {
			lines = append(lines, stroke.Path)
		}
	}
	slices.SortFunc(lines, func(a, b vg.Path) int {
		return slices.CompareFunc(a, b, func(a, b vg.PathComp) int {
			return cmp.Or(cmp.Compare(a.Pos.X, b.Pos.X), cmp.Compare(a.Pos.Y, b.Pos.Y))
		})
	})
	c.SetLineStyle(o.LineStyles[0])
	for _, line := range lines {
		c.Stroke(line)
	}
}

func (m *Map) drawMap(c draw.Canvas, g *sampled) {
	p := newPlot(11, 9, 8)
	p.Title.Text = m.Title
	p.X.Label.Text, p.Y.Label.Text = "x, mm", "y, mm"
	cm := colours(g.low, g.high)
	heat := plotter.NewHeatMap(g, cm.Palette(256))
	heat.Min, heat.Max, heat.Rasterized = cm.Min(), cm.Max(), true
	p.Add(heat)
	if g.low < g.high {
		var levels []float64
		for _, t := range (evenTicks{}).Ticks(g.low, g.high) {
			levels = append(levels, t.Value)
		}
		lines := plotter.NewContour(g, levels, nil)
		lines.LineStyles = []draw.LineStyle{{Color: color.Black, Width: 0.5}}
		p.Add(inOrder{lines})
	}
	if g.mask != nil {
		p.Add(plotter.NewImage(g.mask, m.Low[0], m.Low[1], m.Top[0], m.Top[1]))
	}
	m.addMarks(p, g)
	dx, dy := 0.02*(m.Top[0]-m.Low[0]), 0.02*(m.Top[1]-m.Low[1])
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = m.Low[0]-dx, m.Top[0]+dx, m.Low[1]-dy, m.Top[1]+dy
	p.Draw(c)
}

// addMarks draws points as rings, with how far they are off the surface, and those
// left out as crosses.
func (m *Map) addMarks(p *plot.Plot, g *sampled) {
	var good, bad plotter.XYs
	labels := &plotter.Labels{Offset: vg.Point{X: vg.Points(4), Y: vg.Points(3)}}
	mark := func(to *plotter.XYs, p surface.Point, label string) {
		at := plotter.XY{X: p.X, Y: p.Y}
		*to = append(*to, at)
		labels.XYs = append(labels.XYs, at)
		labels.Labels = append(labels.Labels, strings.Replace(label, "-", "\u2212", 1))
		style := beside(7)
		style.Color = color.Black
		// Beside the map, and over holes, it is white.
		if z, there := m.At(at.X, at.Y); there && z < g.low+darkPart*(g.high-g.low) && at.X < m.Top[0] && at.Y < m.Top[1] {
			style.Color = color.White
		}
		labels.TextStyle = append(labels.TextStyle, style)
	}
	for _, q := range m.Points {
		if h, there := m.At(q.X, q.Y); there {
			mark(&good, q, fmt.Sprintf("%+.3f", q.Z-h))
		}
	}
	size := vg.Points(2.5)
	if len(good)+len(m.LeftOut) > labelled {
		size = vg.Points(1)
		labels.XYs, labels.Labels, labels.TextStyle = nil, nil, nil
	}
	for _, b := range m.LeftOut {
		label := fmt.Sprintf("left out: %+.2f", b.OffMM)
		if b.Line > 0 {
			label = fmt.Sprintf("line %d %s", b.Line, label)
		}
		mark(&bad, b.Point, label)
	}
	// A white ring around a black one shows on dark and light.
	for _, g := range []struct {
		at    plotter.XYs
		style draw.GlyphStyle
	}{
		{good, draw.GlyphStyle{Color: color.White, Radius: size + vg.Points(0.8), Shape: draw.CircleGlyph{}}},
		{good, draw.GlyphStyle{Color: color.Black, Radius: size, Shape: draw.CircleGlyph{}}},
		{bad, draw.GlyphStyle{Color: color.White, Radius: vg.Points(6), Shape: draw.CircleGlyph{}}},
		{bad, draw.GlyphStyle{Color: color.Black, Radius: vg.Points(5), Shape: draw.CrossGlyph{}}},
	} {
		p.Add(&plotter.Scatter{XYs: g.at, GlyphStyle: g.style})
	}
	p.Add(labels)
}

// darkPart is the part of the scale on which white reads better than black.
const darkPart = 0.45

func drawBar(c draw.Canvas, g *sampled) {
	p := newPlot(11, 9, 8)
	p.Add(&plotter.ColorBar{ColorMap: colours(g.low, g.high), Vertical: true})
	p.HideX()
	p.Y.Label.Text = "height, mm (+ nearer the lens)"
	p.Y.Padding = 0
	p.Draw(c)
}
