package fit

import (
	"math"

	"sagitta/internal/fit/layout"
	"sagitta/internal/surface"
)

// Skin is what a slope does to a mark.
type Skin struct {
	MaxSlope float64    // greatest slope
	At       [2]float64 // and where
	// MeanLonger is by what part the skin is longer than the drawing, on
	// average along the direction that is steepest on average; MostLonger at
	// the steepest place. The spot is stretched by one more than that.
	MeanLonger, MostLonger float64
}

// SkinOf looks at the slopes of a shape over the hull of its points.
func SkinOf(shape Shape, points []surface.Point) Skin {
	lo, hi := layout.Box(points)
	h := layout.NewHull(points)
	const n = 60
	dx, dy := (hi[0]-lo[0])/n, (hi[1]-lo[1])/n
	var s Skin
	var sumX, sumY, count float64
	for j := range n {
		for i := range n {
			x, y := lo[0]+dx*(float64(i)+0.5), lo[1]+dy*(float64(j)+0.5)
			if !h.Holds(x, y) {
				continue
			}
			gx := (shape.At(x+dx/2, y) - shape.At(x-dx/2, y)) / dx
			gy := (shape.At(x, y+dy/2) - shape.At(x, y-dy/2)) / dy
			g := math.Hypot(gx, gy)
			if g != g {
				continue
			}
			sumX += math.Hypot(1, gx) - 1
			sumY += math.Hypot(1, gy) - 1
			count++
			if g > s.MaxSlope {
				s.MaxSlope, s.At = g, [2]float64{x, y}
			}
		}
	}
	s.MeanLonger = max(sumX, sumY) / max(count, 1)
	s.MostLonger = math.Hypot(1, s.MaxSlope) - 1
	return s
}
