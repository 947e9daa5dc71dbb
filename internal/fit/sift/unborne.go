package sift

import (
	"fmt"
	"math"

	"sagitta/internal/fit/form"
	"sagitta/internal/fit/layout"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
)

// OffForm says why a form does not bear points, as Off does.
func OffForm(points []surface.Point, name string) string {
	if len(points) < max(outlierLeast, form.Spare*form.Parameters(name)) {
		return "" // too few to tell
	}
	few := layout.Thin(points, formMost)
	r, _, sd, err := form.Robust(name, few, form.BetterHalf(few, nil))
	if err != nil {
		return ""
	}
	return Off(points, r.Residuals(points), sd)
}

// Off says why a surface does not bear points, which are off it by some mm and scatter by
// sd mm about it: some that are side by side are off it the same way by far more than
// the others scatter, which no slip does. It is "" where the points are borne.
func Off(points []surface.Point, off []float64, sd float64) string {
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
	det := &detector{off: off, local: &local{Places: placesOf(points), points: points, gone: gone}, spared: make([]bool, len(points))}
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
