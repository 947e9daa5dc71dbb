package report

import (
	"fmt"
	"image/color"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"sagitta/internal/phrase"
	"sagitta/internal/report/trace"
)

// band fills what lies between the ends of ranges and strokes its sides; where they are one
// that is a line. It is broken where there is none, and where another program begins.
func (a *along) band(of func(*column) trace.Range, fill color.Color, style *draw.LineStyle) {
	var low, high []vg.Point
	flush := func() {
		if len(low) == 0 {
			return
		}
		line := slices.Equal(low, high)
		low, high = simplified(low), simplified(high)
		if fill != nil && !line {
			a.c.FillPolygon(fill, a.c.ClipPolygonXY(slices.Concat(low, reversed(high))))
		}
		if style != nil {
			a.c.StrokeLines(*style, a.c.ClipLinesXY(low)...)
			if !line {
				a.c.StrokeLines(*style, a.c.ClipLinesXY(high)...)
			}
		}
		low, high = nil, nil
	}
	per := a.seconds() / float64(len(a.cols))
	for k := range a.cols {
		r := of(&a.cols[k])
		if k > 0 && a.cols[k].program != a.cols[k-1].program {
			flush()
		}
		if empty(r) {
			flush()
			continue
		}
		at := []float64{(float64(k) + 0.5) * per}
		if len(low) == 0 {
			at = []float64{float64(k) * per, at[0]}
		}
		if last := k == len(a.cols)-1 || empty(of(&a.cols[k+1])) || a.cols[k+1].program != a.cols[k].program; last {
			at = append(at, float64(k+1)*per)
		}
		for _, t := range at {
			low, high = append(low, vg.Point{X: a.x(t), Y: a.y(r.Lo)}), append(high, vg.Point{X: a.x(t), Y: a.y(r.Hi)})
		}
	}
	flush()
}

func reversed(points []vg.Point) []vg.Point {
	points = slices.Clone(points)
	slices.Reverse(points)
	return points
}

// strip draws a line along the columns that are something.
func (a *along) strip(style draw.LineStyle, y vg.Length, is func(*column) bool) {
	per := a.seconds() / float64(len(a.cols))
	for k := 0; k < len(a.cols); k++ {
		first := k
		for k < len(a.cols) && is(&a.cols[k]) {
			k++
		}
		if k > first {
			a.c.StrokeLine2(style, a.x(float64(first)*per), y, a.x(float64(k)*per), y)
		}
	}
}

// programs draws where another begins, and at the top of the first plot their names.
func (a *along) programs() {
	if len(a.Programs) < 2 {
		return
	}
	for _, p := range a.Programs[1:] {
		if a.within(p.Seconds) {
			a.c.StrokeLine2(zoneStyle, a.x(p.Seconds), a.c.Min.Y, a.x(p.Seconds), a.c.Max.Y)
		}
	}
}

// waits draws where the path stands still, along the bottom of the first plot.
func (a *along) waits() {
	for _, w := range a.Waits {
		if !a.within(w.Seconds) {
			continue
		}
		x := a.x(w.Seconds)
		if w.Stop {
			a.c.StrokeLine2(stopStyle, x, a.c.Min.Y, x, a.c.Max.Y)
			continue
		}
		waitMark.draw(a.c, vg.Point{X: x, Y: a.c.Min.Y + waitMark.radius + 1})
	}
}

// lines writes numbers of lines above the first plot, and the names of programs within it.
func (a *along) lines() {
	style := beside(labelSize)
	style.YAlign = draw.YBottom
	end, last := a.c.Min.X-1, -1
	per := a.seconds() / float64(len(a.cols))
	for k, c := range a.cols {
		text := fmt.Sprintf("line %d", c.line)
		x := a.x(float64(k) * per)
		wide := style.Width(text)
		if c.line == 0 || c.line == last || x < end || x+wide > a.c.Max.X+4 {
			continue
		}
		a.c.StrokeLine2(borderStyle, x, a.c.Max.Y, x, a.c.Max.Y+3)
		a.c.FillText(style, vg.Point{X: x + 1.5, Y: a.c.Max.Y + 2}, text)
		last = c.line
		end = x + max(wide*1.6, 2*vg.Centimeter)
	}
	if len(a.Programs) < 2 {
		return
	}
	for k, p := range a.Programs {
		until := a.seconds()
		if k+1 < len(a.Programs) {
			until = a.Programs[k+1].Seconds
		}
		x, room := a.x(p.Seconds)+3, a.x(until)-a.x(p.Seconds)-6
		if !a.within(p.Seconds) || !a.within(until) || !(room >= 8) {
			continue
		}
		text := phrase.Printable(p.Name)
		if len(text) > longestProgram || style.Width(text) > room {
			text = fmt.Sprint(k + 1)
		}
		a.c.FillText(style, vg.Point{X: x, Y: a.c.Max.Y - labelSize - 4}, text)
	}
}
