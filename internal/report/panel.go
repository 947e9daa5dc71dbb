package report

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// layer is something that is drawn over the heights, in order. Texts are only placed
// meanwhile, and drawn over all layers.
type layer func(*panel)

// panel is the map's area while it is drawn: a plotter, whose layers share the room for
// texts.
type panel struct {
	m      *Map
	g      *sampled
	layers []layer

	canvas draw.Canvas
	plot   *plot.Plot
	x, y   func(float64) vg.Length
	labels labels
	lines  []contour
	shown  []Place      // with a mark
	has    map[int]bool // numbers that are written
	naming []func()     // write the names of what is burned
}

// Plot draws the layers.
func (p *panel) Plot(c draw.Canvas, plt *plot.Plot) {
	p.canvas, p.plot = c, plt
	p.x, p.y = plt.Transforms(&c)
	p.has = map[int]bool{}
	p.labels = labels{within: c.Rectangle, taken: boxes{}, places: boxes{}}
	for _, draw := range p.layers {
		draw(p)
	}
	p.labels.draw(c)
}

// at is where a place is drawn.
func (p *panel) at(x, y float64) vg.Point { return vg.Point{X: p.x(x), Y: p.y(y)} }

// back is the place that is drawn at a point.
func (p *panel) back(at vg.Point) (x, y float64) {
	x0, y0 := p.x(p.m.Low[0]), p.y(p.m.Low[1])
	x1, y1 := p.x(p.m.Top[0]), p.y(p.m.Top[1])
	return p.m.Low[0] + (p.m.Top[0]-p.m.Low[0])*float64((at.X-x0)/(x1-x0)), p.m.Low[1] + (p.m.Top[1]-p.m.Low[1])*float64((at.Y-y0)/(y1-y0))
}

// contours draws lines of equal height.
func (p *panel) contours() {
	p.lines = p.g.contours(p.canvas, p.plot)
	style := contourStyle
	if p.m.Over != nil {
		style = underStyle
	}
	for _, c := range p.lines {
		p.stroke(style, c.lines)
	}
}

// levels places the heights of contours on them.
func (p *panel) levels() { p.label(p.lines) }

// holes hides what was drawn where there is no height.
func (p *panel) holes() {
	if p.g.mask != nil {
		plotter.NewImage(p.g.mask, p.m.Low[0], p.m.Low[1], p.m.Top[0], p.m.Top[1]).Plot(p.canvas, p.plot)
	}
}

// inside reports whether a point is within the axes.
func (p *panel) inside(at vg.Point) bool { return p.canvas.Contains(at) }
