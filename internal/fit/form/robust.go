package form

import (
	"math"

	"sagitta/internal/least"
	"sagitta/internal/surface"
)

const (
	// Spare times its parameters is the least number of points that tell a form from
	// those that are off it: fewer hug it, good and bad.
	Spare = 3
	// starts find the better half of the points where a third is bad.
	starts = 60
	// rounds end the descent to a robust form.
	rounds = 6
)

// BetterHalf gives weights to begin a robust fit with: none to points that are far off the
// quadric, or the plane where there are few, on which the better half agree. Those that
// are spared have none.
func BetterHalf(points []surface.Point, spared []bool) []float64 {
	f := newFrame(points)
	terms := 6
	if len(points) < Spare*terms {
		terms = 3
	}
	t := least.NewTrimmer(terms)
	var at []int
	for k := range points {
		if spared == nil || !spared[k] {
			row := Quadratic(f.x[k], f.y[k])
			t.Add(f.z[k], row[:]...)
			at = append(at, k)
		}
	}
	s, err := t.Fit(starts)
	if err != nil {
		return nil
	}
	w := make([]float64, len(points))
	for m, k := range at {
		if !s.Out[m] {
			w[k] = 1
		}
	}
	return w
}

// Robust fits a form, first with weights, nil for none, while points far off it
// count less and less. It gives the residuals of the points and their robust standard
// deviation.
func Robust(name string, points []surface.Point, w []float64) (r *Fitted, residuals []float64, sd float64, err error) {
	for round := 0; ; round++ {
		if r, err = fit(name, points, w, r); err != nil {
			return nil, nil, 0, err
		}
		residuals = r.Residuals(points)
		if sd = scatterAbout(residuals, len(r.p)); round == rounds || sd == 0 {
			return r, residuals, sd, nil
		}
		w = make([]float64, len(residuals))
		least.Tukey(w, residuals, sd)
	}
}

// scatterAbout is the robust standard deviation of residuals about a number of parameters:
// points spent on those are not there to scatter.
func scatterAbout(d []float64, parameters int) float64 {
	return least.Scatter(d) * math.Sqrt(float64(len(d))/float64(max(len(d)-parameters, 1)))
}
