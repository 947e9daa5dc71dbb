package optics

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"sagitta/internal/least"
)

const (
	// widerStarts is how many amounts are tried for a start: one in twenty
	// of the narrowest width lies within the reach of the descent.
	widerStarts = 80
	// widerNarrowest is how much of the narrowest width is left for the beam
	// at the least.
	widerNarrowest = 0.05
)

// fitWider fits width = wider + √(a + b u + c u²), the four at once, so that
// the uncertainty of each has in it what is not known of the others. Far from
// best focus a width grows in proportion to z and near it does not; only
// planes in both places tell a wider mark from a wider beam. It gives false
// where these do not.
func fitWider(s centred, w Widths) (least.Solution, bool) {
	narrowest, n := slices.Min(w.D), len(w.D)
	model := widerModel(s, w)
	best, fewest := []float64(nil), math.Inf(1)
	r := make([]float64, n)
	for k := range widerStarts {
		wider := narrowest * (-3 + (4-widerNarrowest)*float64(k)/(widerStarts-1))
		sol, ok := fitKnown(s, w, wider, 1) // a start needs no more
		if !ok {
			continue
		}
		p := append(sol.Beta, wider)
		model(p, r, nil)
		if m := floats.Dot(r, r); m < fewest {
			best, fewest = p, m
		}
	}
	if best == nil {
		return least.Solution{}, false
	}
	best, _ = least.Descend(model, n, best, 0)
	sol, err := least.At(model, n, best)
	return sol, err == nil && best[3] > -3*narrowest && best[3] < narrowest
}

// widerModel is the widths over a, b, c and wider. Relative errors count; a
// place that has no width has no number.
func widerModel(s centred, w Widths) least.Residuals {
	return func(p, r []float64, j *mat.Dense) {
		for i, z := range w.Z {
			u := s.to(z)
			d := math.Sqrt(p[0] + u*(p[1]+u*p[2]))
			r[i] = (w.D[i] - p[3] - d) / w.D[i]
			if j != nil {
				g := 1 / (2 * d * w.D[i])
				j.SetRow(i, []float64{g, g * u, g * u * u, 1 / w.D[i]})
			}
		}
	}
}
