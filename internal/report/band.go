package report

import (
	"image/color"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

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
