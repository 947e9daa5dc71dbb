package report

import (
	"cmp"
	"fmt"
	"image/color"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/phrase"
	"sagitta/internal/report/trace"
)

const (
	// columnWide is how wide a column of a picture along the path is.
	columnWide = vg.Length(0.5)
	// Heights of what is drawn over each other.
	windowHigh  = 6 * vg.Centimeter
	defocusHigh = 3 * vg.Centimeter
	zSpeedHigh  = 3.6 * vg.Centimeter
	// longestProgram is how long the name of a program is at most that is written out.
	longestProgram = 80
	// linesHigh is room for the numbers of lines.
	linesHigh = vg.Length(12)
)

// Colours that show on white paper and on dark.
var (
	chosen  = color.NRGBA{0, 114, 178, 255}
	outside = outColour
	slower  = color.NRGBA{0, 158, 115, 255}
	stepped = color.NRGBA{204, 121, 167, 255}
)

// ink is the ink of the page, so strong.
func ink(strength uint8) color.NRGBA { return color.NRGBA{0, 0, 0, strength} }

var (
	gridStyle   = draw.LineStyle{Color: ink(34), Width: 0.4}
	borderStyle = draw.LineStyle{Color: ink(255), Width: 0.5}
	heightStyle = draw.LineStyle{Color: ink(255), Width: 0.7}
	chosenStyle = draw.LineStyle{Color: chosen, Width: 1.3}
	awayStyle   = draw.LineStyle{Color: ink(130), Width: 0.45, Dashes: []vg.Length{2.5, 2}}
	limitStyle  = draw.LineStyle{Color: ink(255), Width: 0.6, Dashes: []vg.Length{4, 2}}
	outStyle    = draw.LineStyle{Color: outside, Width: 2.2}
	stepStyle   = draw.LineStyle{Color: stepped, Width: 1}
	mostStyle   = draw.LineStyle{Color: stepped, Width: 0.8, Dashes: []vg.Length{4, 2}}
	slowStyle   = draw.LineStyle{Color: slower, Width: 3}
	zoneStyle   = draw.LineStyle{Color: ink(255), Width: 0.7, Dashes: []vg.Length{6, 2}}
	stopStyle   = draw.LineStyle{Color: ink(255), Width: 0.7, Dashes: []vg.Length{1.5, 1.5}}
)

// along is a picture along the path while it is drawn.
type along struct {
	*trace.Trace
	// zSpeed and zStep are those of Z that the bench can do, see Job.
	zSpeed, zStep float64

	cols []column
	x    func(float64) vg.Length // of seconds
	y    func(float64) vg.Length
	c    draw.Canvas
}

// Along draws the job along its path, against time: where the focus may stand and where it
// does, how much defocus that leaves, and how fast Z goes. Frames are in s, from top to
// bottom in mm, mm and mm/s.
func (j *Job) Along(width Width) (*Picture, error) {
	a := &along{Trace: j.Trace, zSpeed: j.ZSpeed, zStep: j.ZStep}
	a.cols = columns(j.Trace, int(vg.Length(width)/columnWide))
	wide := vg.Length(width) - 2*edge
	title := titled("Along the path: where the focus may stand, and where it does", wide)
	n := &notes{width: wide}
	a.notes(n)
	head, foot := edge+vg.Length(len(title))*titleLine, noteLine*vg.Length(len(n.lines))+2*edge
	heights := []vg.Length{windowHigh, defocusHigh, zSpeedHigh}
	total := head + linesHigh + foot
	for _, h := range heights {
		total += h
	}
	return &Picture{vg.Length(width), total, func(c draw.Canvas) []Frame {
		drawTitle(draw.Crop(c, edge, -edge, 0, -edge), title)
		frames := drawOver(c, draw.Crop(c, edge, -edge-4, foot, -head-linesHigh), heights, a.plots(wide)...)
		drawNotes(draw.Crop(c, edge, -edge, edge, foot-edge-(c.Max.Y-c.Min.Y)), n.lines)
		return frames
	}}, nil
}

// plots are those of windows, of defocus and of the speed of Z.
func (a *along) plots(wide vg.Length) []*plot.Plot {
	window, defocus, speed := a.plot("over the datum, mm", a.window), a.plot("defocus, mm", a.defocus), a.plot("Z speed, mm/s", a.speed)
	window.Y.Min, window.Y.Max = a.span(func(c *column) []trace.Range { return []trace.Range{c.may, c.height, c.c} })
	defocus.Y.Min, defocus.Y.Max = a.span(func(c *column) []trace.Range {
		if !c.burns {
			return nil
		}
		return []trace.Range{c.defocus, {Lo: -c.near, Hi: c.far}}
	})
	speed.Y.Min, speed.Y.Max = 0, a.topSpeed()
	for _, p := range []*plot.Plot{window, defocus, speed} {
		p.X.Min, p.X.Max = 0, a.seconds()
		p.X.Padding, p.Y.Padding = 0, 0
		p.Y.Tick.Marker = evenTicks{6}
	}
	speed.Y.Tick.Marker = evenTicks{4}
	if a.fastest() == 0 {
		speed.Y.Tick.Marker = plot.ConstantTicks{{Value: 0, Label: "0"}}
	}
	window.HideX()
	defocus.HideX()
	unit, per := timeUnit(a.seconds())
	speed.X.Label.Text = "time, " + unit
	speed.X.Tick.Marker = timeTicks{evenTicks{ticksIn(wide - 2*axisRoom)}, per}
	speed.X.LineStyle.Width = 0
	return []*plot.Plot{window, defocus, speed}
}

// topSpeed is the end of the scale of speeds of Z: travels may go far faster than any burn, and
// are cut off there. What the bench can do is on it where that is not far off.
func (a *along) topSpeed() float64 {
	var burns, all float64
	for _, c := range a.cols {
		burns, all = max(burns, c.burnSpeed, c.zStep), max(all, c.zSpeed)
	}
	const above, near = 1.15, 3
	top := cmp.Or(burns, all)
	for _, most := range a.limits() {
		if most.mmS < near*top {
			top = max(top, most.mmS)
		}
	}
	return cmp.Or(above*top, 1)
}

// limit is what the bench can do of a speed of Z, or of a step of it, in mm/s.
type limit struct {
	mmS   float64
	style draw.LineStyle
	what  string
}

// limits are those that are known.
func (a *along) limits() []limit {
	return slices.DeleteFunc([]limit{
		{a.zSpeed, limitStyle, "the greatest speed of Z that the bench has"},
		{a.zStep, mostStyle, "the greatest step of it that the bench takes"},
	}, func(l limit) bool { return l.mmS <= 0 })
}

// seconds are how long the path takes, at least a little.
func (a *along) seconds() float64 {
	if a.Seconds > 0 && finite(a.Seconds) {
		return a.Seconds
	}
	return 1
}

// within reports whether a time is one of the path's.
func (a *along) within(seconds float64) bool { return seconds >= 0 && seconds <= a.seconds() }

// plot is an empty one, on which paint draws within a frame.
func (a *along) plot(label string, paint func()) *plot.Plot {
	p := newPlot(11, 9, 8)
	p.Y.Label.Text = label
	p.Y.LineStyle.Width = 0
	p.Add(painter(func(c draw.Canvas, p *plot.Plot) {
		a.c = c
		a.x, a.y = p.Transforms(&c)
		for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
			c.StrokeLine2(gridStyle, c.Min.X, a.y(t.Value), c.Max.X, a.y(t.Value))
		}
		_, per := timeUnit(a.seconds())
		for _, t := range (timeTicks{evenTicks{ticksIn(c.Max.X - c.Min.X)}, per}).Ticks(p.X.Min, p.X.Max) {
			c.StrokeLine2(gridStyle, a.x(t.Value), c.Min.Y, a.x(t.Value), c.Max.Y)
		}
		paint()
		a.programs()
		r := c.Rectangle
		c.StrokeLines(borderStyle, []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min})
	}))
	return p
}

// span is from the least to the greatest of what columns have, with a little around.
func (a *along) span(of func(*column) []trace.Range) (low, high float64) {
	r := nothing
	for k := range a.cols {
		for _, is := range of(&a.cols[k]) {
			r = join(r, is)
		}
	}
	if empty(r) {
		return 0, 1
	}
	pad := max(0.05*(r.Hi-r.Lo), 1e-3)
	return r.Lo - pad, r.Hi + pad
}

// window draws where the focus may stand, the surface, and where the focus does.
func (a *along) window() {
	burns := func(of func(*column) trace.Range) func(*column) trace.Range {
		return func(c *column) trace.Range {
			if !c.burns {
				return nothing
			}
			return of(c)
		}
	}
	a.band(burns(func(c *column) trace.Range { return c.may }), ink(22), nil)
	a.band(burns(func(c *column) trace.Range { return c.must }), ink(30), nil)
	a.band(burns(func(c *column) trace.Range { return c.height }), ink(120), &heightStyle)
	a.band(func(c *column) trace.Range {
		if c.burns {
			return nothing
		}
		return c.c
	}, nil, &awayStyle)
	a.band(burns(func(c *column) trace.Range { return c.c }), color.NRGBA{chosen.R, chosen.G, chosen.B, 110}, &chosenStyle)
	a.strip(outStyle, a.c.Max.Y-outStyle.Width/2, func(c *column) bool { return c.out || c.blind })
	a.lines()
	a.waits()
}

// defocus draws what is left of that between the limits of the depth.
func (a *along) defocus() {
	within := func(c *column) trace.Range {
		if !c.burns || !finite(c.near) {
			return nothing
		}
		return trace.Range{Lo: -c.near, Hi: c.far}
	}
	a.band(within, ink(40), nil)
	a.c.StrokeLine2(gridStyle, a.c.Min.X, a.y(0), a.c.Max.X, a.y(0))
	of := func(out bool) func(c *column) trace.Range {
		return func(c *column) trace.Range {
			if !c.burns || c.out != out {
				return nothing
			}
			return c.defocus
		}
	}
	a.band(of(false), color.NRGBA{chosen.R, chosen.G, chosen.B, 110}, &chosenStyle)
	a.band(of(true), outside, &outStyle)
	for _, side := range []func(c *column) float64{func(c *column) float64 { return within(c).Lo }, func(c *column) float64 { return within(c).Hi }} {
		a.band(func(c *column) trace.Range { return trace.Range{Lo: side(c), Hi: side(c)} }, nil, &limitStyle)
	}
}

// speed draws how fast Z goes and by how much that steps, below what the bench can do of both,
// and where burns are slowed.
func (a *along) speed() {
	a.band(func(c *column) trace.Range {
		if !c.burns && !c.travels {
			return nothing
		}
		return trace.Range{Lo: 0, Hi: c.zSpeed}
	}, ink(90), &draw.LineStyle{Color: ink(200), Width: 0.5})
	per := a.seconds() / float64(len(a.cols))
	for k, c := range a.cols {
		if c.zStep > 0 {
			x := a.x((float64(k) + 0.5) * per)
			a.c.StrokeLine2(stepStyle, x, a.y(0), x, a.y(c.zStep))
		}
	}
	for _, most := range a.limits() {
		if y := a.y(most.mmS); y <= a.c.Max.Y {
			a.c.StrokeLine2(most.style, a.c.Min.X, y, a.c.Max.X, y)
		}
	}
	if s := &a.ZStep; s.MMS > 0 && a.within(s.Seconds) {
		x, y := a.x(s.Seconds), a.y(min(s.MMS, a.topSpeed()))
		stepMark.draw(a.c, vg.Point{X: x, Y: y})
	}
	a.strip(slowStyle, a.c.Max.Y-slowStyle.Width/2, (*column).slow)
}

// isOut reports whether burns of a column are out of focus.
func isOut(c *column) bool { return c.out }

// slow reports whether a burn of the column is slowed.
func (c *column) slow() bool { return c.burns && c.slowed < leastSlowed }

// leastSlowed is the share of a feed from which on a burn counts as slowed: where F counts
// the way of Z as well, any burn that Z moves in is a little slower.
const leastSlowed = 0.995

// notes say what is drawn.
func (a *along) notes(n *notes) {
	any := func(is func(*column) bool) bool {
		return slices.ContainsFunc(a.cols, func(c column) bool { return is(&c) })
	}
	fill := func(c color.Color) sample {
		return func(on draw.Canvas, room vg.Rectangle) {
			on.SetColor(c)
			on.Fill(room.Path())
		}
	}
	if any(func(c *column) bool { return c.burns }) {
		n.say(fill(ink(52)), "where the focus may stand while the beam is on: the focus window; lighter, where only some of the burns drawn in one place allow it")
		n.say(sampleLine(chosenStyle), "where it stands: the correction; below, the defocus that is left, between the limits of the depth")
		n.say(sampleLine(heightStyle), "the surface under the beam")
	} else {
		n.say(nil, "nothing burns")
	}
	if any(func(c *column) bool { return !c.burns && c.travels }) {
		n.say(sampleLine(awayStyle), "the correction on travels, where there is no window")
	}
	if any(isOut) {
		n.say(sampleLine(outStyle), "OUT OF FOCUS: a burn beyond the depth")
	}
	if any(func(c *column) bool { return c.blind }) {
		n.say(sampleLine(outStyle), "at the top: no height is known under the burn")
	}
	if any((*column).slow) {
		least := 1.0
		for _, c := range a.cols {
			least = min(least, c.slowed)
		}
		n.say(sampleLine(slowStyle), fmt.Sprintf("burns slowed, to %s %% of the programmed feed at least", phrase.Trimmed(100*least, 0)))
	}
	a.speedNotes(n)
	if stops := a.stops(); stops > 0 {
		n.say(sampleLine(stopStyle), "stops for the operator: "+phrase.Count(stops, "time"))
	}
	if waits := a.Waiting - a.stops(); waits > 0 {
		n.say(waitMark.sample, "stands still: "+phrase.Count(waits, "time"))
	}
	if len(a.Programs) > 1 {
		n.say(sampleLine(zoneStyle), "another program begins")
	}
}

// speedNotes say what is drawn of the speed of Z.
func (a *along) speedNotes(n *notes) {
	if a.fastest() == 0 {
		n.say(nil, "Z stands still throughout")
	}
	if fastest, top := a.fastest(), a.topSpeed(); fastest > top {
		n.say(nil, fmt.Sprintf("on travels Z goes at up to %s mm/s, beyond the end of the scale", phrase.Digits(fastest, 3)))
	}
	if s := &a.ZStep; s.MMS > 0 {
		n.say(sampleLine(stepStyle), "by how much the speed of Z steps where one burn goes over into the next")
		n.say(stepMark.sample, fmt.Sprintf("the greatest step: %s mm/s, line %d", phrase.Digits(s.MMS, 3), s.Line))
	}
	for _, most := range a.limits() {
		what := fmt.Sprintf("%s: %s mm/s", most.what, phrase.Digits(most.mmS, 3))
		if most.mmS > a.topSpeed() {
			what += ", beyond the end of the scale"
		}
		n.say(sampleLine(most.style), what)
	}
	if a.Inertia {
		n.say(nil, "times and speeds are with the inertia of the axes")
	} else {
		n.say(nil, "times and speeds are by feeds alone: no acceleration is known")
	}
}

// fastest is the greatest speed of Z.
func (a *along) fastest() (speed float64) {
	for _, c := range a.cols {
		speed = max(speed, c.zSpeed)
	}
	return speed
}

// stops counts those that wait for the operator.
func (a *along) stops() (n int) {
	for _, w := range a.Waits {
		if w.Stop {
			n++
		}
	}
	return n
}
