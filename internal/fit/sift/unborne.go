package sift

import (
	"fmt"
	"math"

	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/nearby"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// Bearing tells what bears points.
type Bearing struct {
	points []surface.Point
	few    []surface.Point
	start  []float64 // weights to begin a fit to few with
	places *nearby.Places
}

// NewBearing makes it of points.
func NewBearing(points []surface.Point) *Bearing { return &Bearing{points: points} }

// Form says why a form does not bear the points, as Surface does.
func (b *Bearing) Form(name string) string {
	if len(b.points) < max(outlierLeast, form.Spare*form.Parameters(name)) {
		return "" // too few to tell
	}
	if b.few == nil {
		b.few = layout.Thin(b.points, formMost)
		b.start = form.BetterHalf(b.few, nil)
	}
	r, _, sd, err := form.Robust(name, b.few, b.start)
	if err != nil {
		return ""
	}
	return b.Surface(r.Residuals(b.points), sd)
}

// Surface says why a surface does not bear the points, which are off it by some mm and scatter by
// sd mm about it: some that are side by side are off it the same way by far more than
// the others scatter, which no slip does. It is "" where the points are borne.
func (b *Bearing) Surface(off []float64, sd float64) string {
	points := b.points
	if len(points) < outlierLeast {
		return "" // too few to tell
	}
	limit := max(LeastMM, outlierFactor*fewFactor(len(points))*sd)
	gone, count := make([]bool, len(points)), 0
	for k, off := range off {
		if math.Abs(off) > limit {
			gone[k] = true
			count++
		}
	}
	if count < 2 {
		return ""
	}
	if b.places == nil {
		b.places = placesOf(points)
	}
	det := &detector{off: off, local: &local{Places: b.places, points: points, gone: gone}, spared: make([]bool, len(points))}
	count, most := 0, 0.0
	for _, g := range det.groups() {
		for _, k := range g {
			if count++; math.Abs(det.off[k]) > math.Abs(most) {
				most = det.off[k]
			}
		}
	}
	if count == 0 {
		return ""
	}
	return fmt.Sprintf("%s side by side off it, by up to %s mm", phrase.Count(count, "touch"), phrase.Signed(most, 3))
}
