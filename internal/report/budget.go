package report

import (
	"fmt"
	"image/color"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/focus"
	"sagitta/internal/phrase"
	"sagitta/internal/report/trace"
)

const (
	budgetHigh = 2.6 * vg.Centimeter
	// budgetBar is half the height of the bar, of the distance between its sides.
	budgetBar = 0.55
)

// part is one of what a depth is made of, from the outside in.
type part struct {
	mm   float64
	text string
	fill color.Color
	// hatched tells it from its neighbours in grey.
	hatched bool
}

// BudgetBar draws the depth of a lens as one bar of its parts: what uncertainty takes, what
// else is lost, what is left to use, and what of that a job spends at most, an empty range
// where that is not known. Its frame is in mm of defocus, minus nearer the lens.
func BudgetBar(b focus.Budget, purpose focus.Purpose, spends trace.Range, width Width) (*Picture, error) {
	if err := b.Lens.Check(); err != nil {
		return nil, err
	}
	parts := budgetParts(b, purpose)
	wide := vg.Length(width) - 2*edge
	title := titled("What becomes of the lens's depth", wide)
	n := &notes{width: wide}
	n.say(nil, fmt.Sprintf("the lens is good for %s mm of defocus", phrase.Sides(b.Lens.Near, b.Lens.Far)))
	for _, p := range parts {
		n.say(func(c draw.Canvas, room vg.Rectangle) { p.draw(c, room) }, p.text)
	}
	if !empty(spends) {
		n.say(sampleLine(draw.LineStyle{Color: chosen, Width: 3}), fmt.Sprintf("spent by the job: %s to %s mm", phrase.Signed(spends.Lo, 3), phrase.Signed(spends.Hi, 3)))
	}
	p := newPlot(11, 9, 8)
	p.X.Label.Text = "defocus, mm: minus nearer the lens, plus further"
	p.HideY()
	p.X.Padding, p.Y.Padding = 0, 0
	p.X.Min, p.X.Max = -b.Lens.Near, b.Lens.Far
	if !empty(spends) {
		p.X.Min, p.X.Max = min(p.X.Min, spends.Lo), max(p.X.Max, spends.Hi)
	}
	p.Y.Min, p.Y.Max = -1, 1
	p.X.Tick.Marker = evenTicks{ticksIn(wide)}
	p.Add(painter(func(c draw.Canvas, p *plot.Plot) { drawBudget(c, p, b.Lens, parts, spends) }))
	head, foot := edge+vg.Length(len(title))*titleLine, noteLine*vg.Length(len(n.lines))+2*edge
	return &Picture{vg.Length(width), head + budgetHigh + foot, func(c draw.Canvas) []Frame {
		drawTitle(draw.Crop(c, edge, -edge, 0, -edge), title)
		frames := drawOver(c, draw.Crop(c, edge+8, -edge-8, foot, -head), []vg.Length{budgetHigh}, p)
		drawNotes(draw.Crop(c, edge, -edge, edge, foot-edge-(c.Max.Y-c.Min.Y)), n.lines)
		return frames
	}}, nil
}

// budgetParts are those of either side, from the outside in; what takes nothing is left out.
func budgetParts(b focus.Budget, purpose focus.Purpose) (parts []part) {
	var terms []string
	for _, t := range []struct {
		name string
		focus.Term
	}{{"heights", b.SurfaceError}, {"setting the focus", b.FocusSetting}, {"the depth itself", b.DepthError}} {
		if t.MM > 0 {
			terms = append(terms, fmt.Sprintf("%s %s", t.name, phrase.Trimmed(t.MM, 4)))
		}
	}
	add := func(mm float64, fill color.Color, hatched bool, text string) {
		if mm > 0 {
			parts = append(parts, part{mm, fmt.Sprintf("%s mm: %s", phrase.Trimmed(mm, 4), text), fill, hatched})
		}
	}
	add(b.Uncertainty(), ink(70), true, "what is not sure, twice the root of the sum of the squares of "+strings.Join(terms, ", "))
	if purpose == focus.Writing {
		add(b.Backlash.MM, ink(150), false, "backlash")
		add(b.HalfDecimal.MM, ink(235), false, "half the last decimal")
	}
	lost := b.Lost(purpose)
	left := fmt.Sprintf("left to use: %s mm", phrase.SidesMM(b.Lens.Near-lost, b.Lens.Far-lost))
	if lost >= min(b.Lens.Near, b.Lens.Far) {
		left = "nothing is left to use of a side"
	}
	return append(parts, part{0, left, ink(22), false})
}

// draw draws the part in a room.
func (p *part) draw(c draw.Canvas, r vg.Rectangle) {
	c.SetColor(p.fill)
	c.Fill(r.Path())
	if p.hatched {
		for _, line := range hatch(r) {
			c.StrokeLines(draw.LineStyle{Color: ink(255), Width: 0.4}, line)
		}
	}
	c.StrokeLines(draw.LineStyle{Color: ink(255), Width: 0.5}, []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min})
}

// drawBudget draws the bar.
func drawBudget(c draw.Canvas, p *plot.Plot, lens focus.Depth, parts []part, spends trace.Range) {
	x, y := p.Transforms(&c)
	box := func(from, to float64) vg.Rectangle {
		return vg.Rectangle{Min: vg.Point{X: x(from), Y: y(-budgetBar)}, Max: vg.Point{X: x(to), Y: y(budgetBar)}}
	}
	near, far := lens.Near, lens.Far
	for k := range parts {
		q := &parts[k]
		if q.mm == 0 { // what is left
			if near > 0 && far > 0 {
				q.draw(c, box(-near, far))
			}
			break
		}
		// More than there is cannot be taken.
		n, f := max(near-q.mm, 0), max(far-q.mm, 0)
		if near > 0 {
			q.draw(c, box(-near, -n))
		}
		if far > 0 {
			q.draw(c, box(f, far))
		}
		near, far = n, f
	}
	c.StrokeLine2(limitStyle, x(0), y(-0.9), x(0), y(0.9))
	if !empty(spends) {
		style := draw.LineStyle{Color: chosen, Width: 4}
		if spends.Lo < -near || spends.Hi > far {
			style.Color = outside
		}
		c.StrokeLine2(style, x(spends.Lo), y(0), max(x(spends.Hi), x(spends.Lo)+1), y(0))
	}
}

// Spends is the range of defocus of what is burned, empty where nothing is.
func (j *Job) Spends() trace.Range {
	r := nothing
	for _, s := range j.Trace.Stretches {
		if s.Burns {
			r = join(r, s.Defocus)
		}
	}
	return r
}
