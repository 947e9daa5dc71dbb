package report

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/phrase"
	"sagitta/internal/report/trace"
)

const (
	shareHigh = 6 * vg.Centimeter
	// shareReach is how many times the depth the bins go, either side.
	shareReach = 2
)

// Shares draws how much of what is burned has how much defocus: now, and as the original
// would have had it. Its frame is in parts of the usable depth, and in percent.
func (j *Job) Shares(width Width) (*Picture, error) {
	after, before := &j.Trace.Share, j.Trace.Before
	wide := vg.Length(width) - 2*edge
	title := titled("Share of the burned length by its defocus", wide)
	n := &notes{width: wide}
	says := func(what string, s *trace.Share) string {
		if !(s.Total > 0) {
			return what + "nothing burns"
		}
		return fmt.Sprintf("%s%s %% of %s m within the depth", what, percent(s.Within, s.Total), phrase.Short(s.Total/1000))
	}
	if before == nil {
		n.say(barSample(afterStyle, true), says("", after))
	} else {
		n.say(barSample(afterStyle, true), says("now: ", after))
		n.say(barSample(beforeStyle, false), says("before, as the original would run flat with the focus set at the datum: ", before))
	}
	n.say(sampleLine(limitStyle), "the limits of the usable depth; minus is nearer the lens; the outermost bars have all beyond as well")
	p := barPlot("defocus, in parts of the usable depth")
	p.X.Min, p.X.Max, p.Y.Max = -shareReach, shareReach, 1
	for _, s := range []*trace.Share{after, before} {
		if s != nil && s.Total > 0 {
			for _, mm := range s.MM {
				p.Y.Max = max(p.Y.Max, 105*finiteOr0(mm/s.Total))
			}
		}
	}
	p.X.Tick.Marker, p.Y.Tick.Marker = evenTicks{5}, evenTicks{5}
	p.Add(bars(func(c draw.Canvas, x, y func(float64) vg.Length) { drawShares(c, x, y, after, before) }))
	return barPicture(width, shareHigh, title, p, n), nil
}

// barPlot is a plot of bars of the burned length, in percent, over x.
func barPlot(x string) *plot.Plot {
	p := newPlot(11, 9, 8)
	p.X.Label.Text, p.Y.Label.Text = x, "of the burned length, %"
	p.X.Padding, p.Y.Padding, p.Y.LineStyle.Width = 0, 0, 0
	return p
}

// bars paints what is drawn, as x and y tell where, over lines of the grid and within a border.
func bars(drawn func(c draw.Canvas, x, y func(float64) vg.Length)) painter {
	return func(c draw.Canvas, p *plot.Plot) {
		x, y := p.Transforms(&c)
		for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
			c.StrokeLine2(gridStyle, c.Min.X, y(t.Value), c.Max.X, y(t.Value))
		}
		drawn(c, x, y)
		r := c.Rectangle
		c.StrokeLines(borderStyle, []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min})
	}
}

// barPicture is the picture of a plot that is so high, between its title and its notes.
func barPicture(width Width, high vg.Length, title []string, p *plot.Plot, n *notes) *Picture {
	head, foot := edge+vg.Length(len(title))*titleLine, noteLine*vg.Length(len(n.lines))+2*edge
	return &Picture{vg.Length(width), head + high + foot, func(c draw.Canvas) []Frame {
		drawTitle(draw.Crop(c, edge, -edge, 0, -edge), title)
		frames := drawOver(c, draw.Crop(c, edge, -edge-4, foot, -head), []vg.Length{high}, p)
		drawNotes(draw.Crop(c, edge, -edge, edge, foot-edge-(c.Max.Y-c.Min.Y)), n.lines)
		return frames
	}}
}

// percent is a part of a whole, which is all only where nothing is missing.
func percent(part, whole float64) string {
	const rounding = 1e-6 // of sums of many lengths
	switch p := 100 * part / whole; {
	case part < whole*(1-rounding) && p > 99.9:
		return "99.9"
	case part > 0 && p < 0.1:
		return "less than 0.1"
	default:
		return phrase.Trimmed(p, 1)
	}
}

var (
	afterStyle  = draw.LineStyle{Color: chosen, Width: 0.8}
	beforeStyle = draw.LineStyle{Color: ink(255), Width: 0.8, Dashes: []vg.Length{2, 1.2}}
)

// barSample is a bar as a sample.
func barSample(style draw.LineStyle, full bool) sample {
	return func(c draw.Canvas, room vg.Rectangle) { drawShareBar(c, style, full, room) }
}

// drawShareBar draws a bar: full, or its outline with a light hatch.
func drawShareBar(c draw.Canvas, style draw.LineStyle, full bool, r vg.Rectangle) {
	if full {
		c.SetColor(style.Color)
		c.Fill(r.Path())
	} else {
		c.SetColor(ink(24))
		c.Fill(r.Path())
	}
	c.StrokeLines(style, []vg.Point{r.Min, {X: r.Min.X, Y: r.Max.Y}, r.Max, {X: r.Max.X, Y: r.Min.Y}})
}

// drawShares draws the bars of both: those of before behind, and wider.
func drawShares(c draw.Canvas, x, y func(float64) vg.Length, after, before *trace.Share) {
	of := func(s *trace.Share, style draw.LineStyle, full bool, inset float64) {
		if s == nil || !(s.Total > 0) {
			return
		}
		bin := 2 * shareReach / float64(len(s.MM))
		for k, mm := range s.MM {
			if high := 100 * finiteOr0(mm/s.Total); high > 0 {
				from := -shareReach + bin*float64(k)
				drawShareBar(c, style, full, vg.Rectangle{Min: vg.Point{X: x(from + inset*bin), Y: y(0)}, Max: vg.Point{X: x(from + (1-inset)*bin), Y: max(y(high), y(0)+0.8)}})
			}
		}
	}
	of(before, beforeStyle, false, 0)
	of(after, afterStyle, true, 0.2)
	for _, limit := range []float64{-1, 1} {
		c.StrokeLine2(limitStyle, x(limit), c.Min.Y, x(limit), c.Max.Y)
	}
}

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
	p := barPlot("speed lost against the original, %")
	by := j.LostBy()
	p.X.Max, p.Y.Max = float64(10*len(by)), 1
	for _, mm := range by {
		p.Y.Max = max(p.Y.Max, 105*finiteOr0(mm/j.BurnedMM))
	}
	p.X.Tick.Marker, p.Y.Tick.Marker = evenTicks{10}, evenTicks{5}
	p.Add(bars(func(c draw.Canvas, x, y func(float64) vg.Length) {
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
	}))
	return barPicture(width, speedHigh, title, p, n), nil
}

// slowerStyle is that of bars of what goes slower.
var slowerStyle = draw.LineStyle{Color: slower, Width: 0.8}
