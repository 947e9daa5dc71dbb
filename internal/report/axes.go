package report

import (
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// evenTicks puts labels at even steps of 1, 2 or 5 times a power of ten, so many at most.
type evenTicks struct{ most int }

const (
	// mostTicks is how many labels an axis has room for at most.
	mostTicks = 9
	// tickEvery is how far apart they are at least.
	tickEvery = 1.1 * vg.Centimeter
)

// ticksIn is how many labels an axis of a length has room for.
func ticksIn(length vg.Length) int { return min(max(int(length/tickEvery), 2), mostTicks) }

func (e evenTicks) Ticks(lo, hi float64) []plot.Tick {
	step := math.Pow(10, math.Floor(math.Log10((hi-lo)/float64(e.most))))
	for k := 0; (hi-lo)/step > float64(e.most); k++ {
		step *= [...]float64{2, 2.5, 2}[k%3]
	}
	var out []plot.Tick
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+1e-9*step; k++ {
		out = append(out, plot.Tick{Value: k * step, Label: fmt.Sprintf("%.6g", k*step+0)})
	}
	return out
}

// plotGap is between plots over each other.
const plotGap = vg.Length(6)

// drawOver draws plots on a part of a canvas over each other, with their X in line, each as
// high as said.
func drawOver(all, c draw.Canvas, heights []vg.Length, plots ...*plot.Plot) (frames []Frame) {
	parts := make([]draw.Canvas, len(plots))
	// The data of all begin and end at the same places of the page.
	var left, right vg.Length
	top := c.Max.Y
	for k, p := range plots {
		parts[k] = c
		parts[k].Max.Y = top
		top -= heights[k]
		parts[k].Min.Y = max(top, c.Min.Y)
		if k < len(plots)-1 {
			parts[k].Min.Y += plotGap
		}
		l, r := margins(p, parts[k])
		left, right = max(left, l), max(right, r)
	}
	for k, p := range plots {
		l, r := margins(p, parts[k])
		on := draw.Crop(parts[k], left-l, r-right, 0, 0)
		p.Draw(on)
		frames = append(frames, frameOf(all, p.DataCanvas(on), p))
	}
	return frames
}

// margins are what a plot leaves to the left and right of its data.
func margins(p *plot.Plot, c draw.Canvas) (left, right vg.Length) {
	data := p.DataCanvas(c)
	return data.Min.X - c.Min.X, c.Max.X - data.Max.X
}

// painter is a function that draws on a plot.
type painter func(draw.Canvas, *plot.Plot)

// Plot calls it.
func (f painter) Plot(c draw.Canvas, p *plot.Plot) { f(c, p) }

// timeUnit is what the time of a path is counted in, and how many seconds that is.
func timeUnit(seconds float64) (unit string, per float64) {
	switch {
	case seconds > 4*3600:
		return "h", 3600
	case seconds > 240:
		return "min", 60
	}
	return "s", 1
}

// timeTicks are even in a unit of so many seconds.
type timeTicks struct {
	evenTicks
	per float64
}

func (t timeTicks) Ticks(lo, hi float64) []plot.Tick {
	all := t.evenTicks.Ticks(lo/t.per, hi/t.per)
	for k := range all {
		all[k].Value *= t.per
	}
	return all
}
