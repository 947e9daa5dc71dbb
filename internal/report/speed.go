package report

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/phrase"
)

// speedHigh is how high its bars are.
const speedHigh = 5 * vg.Centimeter

// LostBy gives how much of the burned length loses from so many tenths of its speed to one
// more, in mm: the first has what loses less than a tenth.
func (j *Job) LostBy() []float64 {
	var by []float64
	beyond := j.BurnedMM
	for _, mm := range j.Lost {
		by, beyond = append(by, max(0, beyond-mm)), mm
	}
	return append(by, beyond)
}

// Speeds draws the job by speed lost: how much of what is burned goes how much slower than in
// the original, for what the axes can do; nil where that is not known. Its frame is in percent
// of the speed, and of the burned length.
func (j *Job) Speeds(width Width) (*Picture, error) {
	if j.Lost == nil || !(j.BurnedMM > 0) {
		return nil, nil
	}
	wide := vg.Length(width) - 2*edge
	title := titled("Share of the burned length by the speed that it loses", wide)
	n := &notes{width: wide}
	n.say(barSample(slowerStyle, true), fmt.Sprintf("more than a tenth slower than in the original: %s %% of %s m", percent(j.Lost[0], j.BurnedMM), phrase.Short(j.BurnedMM/1000)))
	n.say(barSample(afterStyle, true), "as fast, or less than a tenth slower")
	p := newPlot(11, 9, 8)
	p.X.Label.Text, p.Y.Label.Text = "speed lost against the original, %", "of the burned length, %"
	p.X.Padding, p.Y.Padding, p.Y.LineStyle.Width = 0, 0, 0
	by := j.LostBy()
	p.X.Max, p.Y.Max = float64(10*len(by)), 1
	for _, mm := range by {
		p.Y.Max = max(p.Y.Max, 105*finiteOr0(mm/j.BurnedMM))
	}
	p.X.Tick.Marker, p.Y.Tick.Marker = evenTicks{10}, evenTicks{5}
	p.Add(painter(func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
			c.StrokeLine2(gridStyle, c.Min.X, y(t.Value), c.Max.X, y(t.Value))
		}
		for k, mm := range by {
			style := slowerStyle
			if k == 0 {
				style = afterStyle
			}
			if high := 100 * finiteOr0(mm/j.BurnedMM); high > 0 {
				from := float64(10 * k)
				drawShareBar(c, style, true, vg.Rectangle{Min: vg.Point{X: x(from + 1), Y: y(0)}, Max: vg.Point{X: x(from + 9), Y: max(y(high), y(0)+0.8)}})
			}
		}
		r := c.Rectangle
		c.StrokeLines(borderStyle, []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min})
	}))
	head, foot := edge+vg.Length(len(title))*titleLine, noteLine*vg.Length(len(n.lines))+2*edge
	return &Picture{vg.Length(width), head + speedHigh + foot, func(c draw.Canvas) []Frame {
		drawTitle(draw.Crop(c, edge, -edge, 0, -edge), title)
		frames := drawOver(c, draw.Crop(c, edge, -edge-4, foot, -head), []vg.Length{speedHigh}, p)
		drawNotes(draw.Crop(c, edge, -edge, edge, foot-edge-(c.Max.Y-c.Min.Y)), n.lines)
		return frames
	}}, nil
}

// slowerStyle is that of bars of what goes slower.
var slowerStyle = draw.LineStyle{Color: slower, Width: 0.8}
