package report

import (
	"fmt"
	"image/color"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/phrase"
	"sagitta/internal/report/trace"
	"sagitta/internal/surface"
)

// Over is a job as it lies over a surface. Places are in program XY, lengths in mm.
type Over struct {
	// By is what burns are told apart by.
	By    By
	Trace *trace.Trace
	// Stock is the outline of what was measured, and Repeats tells that heights go on beyond
	// it by turns.
	Stock   orb.LineString
	Repeats bool
	Boxes   []surface.Box
	// Measured are places with a known height, of which some are shown.
	Measured []orb.Point
	// Focus is where the focus is set, nil where that is not at a place.
	Focus *[2]float64
	// Beyond says what is not shown, "" where all is.
	Beyond string
}

var (
	// faint is what is there to know where one is, and no more.
	faint = color.NRGBA{12, 12, 12, 0x90}

	stockStyle  = draw.LineStyle{Color: sheetInk, Width: 0.9}
	turnsStyle  = draw.LineStyle{Color: sheetInk, Width: 0.9, Dashes: []vg.Length{3, 3}}
	travelStyle = draw.LineStyle{Color: faint, Width: 0.45, Dashes: []vg.Length{2.5, 2}}
	boxStyle    = draw.LineStyle{Color: sheetInk, Width: 0.9}
	hatchStyle  = draw.LineStyle{Color: sheetInk, Width: 0.4}
)

// hatchEvery is how far apart the lines of a hatch are, along x.
const hatchEvery = vg.Length(5)

// stock draws the outline of what was measured.
func (p *panel) stock() {
	style := stockStyle
	if p.m.Over.Repeats {
		style = turnsStyle
	}
	p.stroke(style, [][]vg.Point{p.line(p.m.Over.Stock)})
}

// measured draws where heights were measured, thinned where that is crowded.
func (p *panel) measured() {
	shown := boxes{}
	for _, q := range p.m.Over.Measured {
		at := p.at(q[0], q[1])
		if room := boxOf(at, crowded/2); p.inside(at) && shown.free(room) {
			shown.take(room)
			measuredMark.draw(p.canvas, at)
		}
	}
}

// boxes draws what stands higher than the stock, hatched, with its height.
func (p *panel) boxes() {
	for _, b := range p.m.Over.Boxes {
		r := vg.Rectangle{Min: p.at(b.X0, b.Y0), Max: p.at(b.X1, b.Y1)}
		p.stroke(boxStyle, [][]vg.Point{{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min}})
		p.stroke(hatchStyle, hatch(r))
		if in := cut(r, p.canvas.Rectangle); in.Min.X < in.Max.X && in.Min.Y < in.Max.Y {
			p.labels.put(fmt.Sprintf("%s high", signed(b.Height, 1)), middle(in))
		}
	}
}

// cut is what two rectangles share.
func cut(a, b vg.Rectangle) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: max(a.Min.X, b.Min.X), Y: max(a.Min.Y, b.Min.Y)}, Max: vg.Point{X: min(a.Max.X, b.Max.X), Y: min(a.Max.Y, b.Max.Y)}}
}

// hatch fills a rectangle with lines at 45°.
func hatch(r vg.Rectangle) (lines [][]vg.Point) {
	wide, high := r.Max.X-r.Min.X, r.Max.Y-r.Min.Y
	every := max(hatchEvery, (wide+high)/400) // of a box beyond the picture few are seen
	for off := every / 2; off < wide+high; off += every {
		lines = append(lines, []vg.Point{
			{X: r.Min.X + max(off-high, 0), Y: r.Min.Y + min(off, high)},
			{X: r.Min.X + min(off, wide), Y: r.Min.Y + max(off-wide, 0)}})
	}
	return lines
}

// travels draws the ways between burns, unless there are so many that nothing else would be
// seen.
func (p *panel) travels() {
	if p.m.Over.shows() {
		var lines [][]vg.Point
		for _, way := range p.m.Over.Trace.Above.Travels {
			lines = append(lines, p.line(way))
		}
		p.stroke(travelStyle, lines)
	}
}

// mostTravels is how many times travels may lead across all that is burned and be drawn.
const mostTravels = 80

// shows reports whether travels are drawn.
func (o *Over) shows() bool {
	if len(o.Trace.Above.Travels) == 0 {
		return false
	}
	b := o.Trace.Travels
	across, long := max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]), 0.0
	for _, way := range o.Trace.Above.Travels {
		long += finiteOr0(planar.Length(way))
	}
	return !(long > mostTravels*across)
}

// line is where places are drawn, up to the first that is none.
func (p *panel) line(places orb.LineString) (line []vg.Point) {
	for _, q := range places {
		if !finite(q[0]) || !finite(q[1]) {
			break
		}
		line = append(line, p.at(q[0], q[1]))
	}
	return line
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// stroke draws what is within the axes of lines as one path, so that a picture of many is
// not large.
func (p *panel) stroke(style draw.LineStyle, lines [][]vg.Point) {
	var path vg.Path
	for _, line := range p.canvas.ClipLinesXY(lines...) {
		for k, at := range simplified(line) {
			if k == 0 {
				path.Move(at)
			} else {
				path.Line(at)
			}
		}
	}
	if len(path) > 0 {
		p.canvas.SetLineStyle(style)
		p.canvas.Stroke(path)
	}
}

// job draws the places of a job that a person looks for: where the focus is set, and where
// most of the depth is spent.
func (p *panel) job() {
	if p.m.Over == nil {
		return
	}
	if w := p.m.Over.worst(); w != nil {
		at := p.at(w.At[0], w.At[1])
		p.mark(worstMark, at)
		amount := signed(w.Defocus, 2) + " mm"
		p.labels.beside(at, worstMark.radius, fmt.Sprintf("%s, line %d", amount, w.Line), amount)
	}
	if f := p.m.Over.Focus; f != nil {
		at := p.at(f[0], f[1])
		p.mark(focusMark, at)
		p.labels.beside(at, focusMark.radius, "focus")
	}
}

// worst is the worst place, nil where there is none.
func (o *Over) worst() *trace.Place {
	if len(o.Trace.Worst) == 0 || !finite(o.Trace.Worst[0].At[0]) || !finite(o.Trace.Worst[0].At[1]) {
		return nil
	}
	return &o.Trace.Worst[0]
}

// notes say what is drawn of the job.
func (o *Over) notes(n *notes) {
	g := o.groups()
	drawn := g.drawn(&o.Trace.Above)
	for k, c := range g.classes {
		if drawn[k] {
			n.say(onSheet(c.sample(o.Trace.Above.Cells != nil)), c.text)
		}
	}
	if w := o.worst(); w != nil {
		side := "further"
		if w.Defocus < 0 {
			side = "nearer"
		}
		n.say(onSheet(worstMark.sample), fmt.Sprintf("most of the depth is spent here: %s mm defocus, of %s mm usable %s, line %d", signed(w.Defocus, 3), phrase.Trimmed(w.Depth, 3), side, w.Line))
	}
	if o.Focus != nil {
		n.say(onSheet(focusMark.sample), "the focus is set on the stock here")
	}
	if o.shows() {
		n.say(onSheet(sampleLine(travelStyle)), "travels, the beam off")
	}
	if len(o.Boxes) > 0 {
		n.say(onSheet(func(c draw.Canvas, room vg.Rectangle) {
			c.StrokeLines(boxStyle, []vg.Point{room.Min, {X: room.Max.X, Y: room.Min.Y}, room.Max, {X: room.Min.X, Y: room.Max.Y}, room.Min})
			c.StrokeLines(hatchStyle, hatch(room)...)
		}), "kept clear of: what stands higher than the stock, with its height over the datum in mm")
	}
	if len(o.Measured) > 0 {
		n.say(onSheet(measuredMark.sample), "a height was measured here; thinned where crowded")
	}
	if len(o.Stock) > 0 {
		style, text := stockStyle, "edge of what was measured"
		if o.Repeats {
			style, text = turnsStyle, "one turn of what was measured: it repeats beyond"
		}
		n.say(onSheet(sampleLine(style)), text)
	}
	if o.Beyond != "" {
		n.say(nil, o.Beyond)
	}
}
