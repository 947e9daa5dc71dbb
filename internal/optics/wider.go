package optics

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

const (
	// widerStarts is how many amounts are tried for a start: one in twenty
	// of the narrowest width lies within the reach of the steps that follow.
	widerStarts = 80
	// widerNarrowest is how much of the narrowest width is left for the beam
	// at the least.
	widerNarrowest = 0.05
	// widerSteps bounds the steps from there; each about squares the error.
	widerSteps = 60
	// widerDone ends them: a change by less is rounding.
	widerDone = 1e-13
	// widerHalvings is how often a step that goes wrong is halved.
	widerHalvings = 30
)

// fitWider fits width = wider + √(a + b u + c u²), the four at once, so that
// the uncertainty of each has in it what is not known of the others. Far from
// best focus a width grows in proportion to z and near it does not; only
// planes in both places tell a wider mark from a wider beam. It gives false
// where these do not.
func fitWider(s scale, w Widths) (solution, bool) {
	narrowest := slices.Min(w.D)
	best, least := []float64(nil), math.Inf(1)
	for k := range widerStarts {
		wider := narrowest * (-3 + (4-widerNarrowest)*float64(k)/(widerStarts-1))
		sol, ok := fitKnown(s, w, wider, 1) // a start needs no more
		if !ok {
			continue
		}
		p := append(sol.beta, wider)
		if m := misfit(s, w, p); m < least {
			best, least = p, m
		}
	}
	if best == nil {
		return solution{}, false
	}
	var sol solution
	for range widerSteps {
		var ok bool
		if sol, ok = widerStep(s, w, best); !ok {
			return sol, false
		}
		next, moved := halved(s, w, best, sol.beta, least)
		if next == nil {
			break
		}
		best, least = next, misfit(s, w, next)
		if moved < widerDone {
			break
		}
	}
	sol.beta = best
	return sol, best[3] > -3*narrowest && best[3] < narrowest
}

// misfit is the sum of the squared relative errors, +Inf where a place has no
// width.
func misfit(s scale, w Widths, p []float64) float64 {
	var sum float64
	for i, z := range w.Z {
		u := s.to(z)
		q := p[0] + u*(p[1]+u*p[2])
		if !(q > 0) {
			return math.Inf(1)
		}
		r := (w.D[i] - p[3] - math.Sqrt(q)) / w.D[i]
		sum += r * r
	}
	return sum
}

// widerStep solves for the change of the four that the residuals ask for: a
// step of Gauss and Newton.
func widerStep(s scale, w Widths, p []float64) (solution, bool) {
	rows, rhs := mat.NewDense(len(w.Z), 4, nil), make([]float64, len(w.Z))
	for i, z := range w.Z {
		u := s.to(z)
		d := math.Sqrt(p[0] + u*(p[1]+u*p[2]))
		g := 1 / (2 * d * w.D[i])
		rows.SetRow(i, []float64{g, g * u, g * u * u, 1 / w.D[i]})
		rhs[i] = (w.D[i] - p[3] - d) / w.D[i]
	}
	// Columns of one size, or the units decide what counts as dependent.
	size := make([]float64, 4)
	for j := range size {
		size[j] = mat.Norm(rows.ColView(j), 2)
		for i := range w.Z {
			rows.Set(i, j, rows.At(i, j)/size[j])
		}
	}
	sol, ok := leastSquares(rows, rhs)
	if !ok {
		return sol, false
	}
	for j := range size {
		sol.beta[j] /= size[j]
		for k := range size {
			sol.unit.Set(j, k, sol.unit.At(j, k)/(size[j]*size[k]))
		}
	}
	return sol, true
}

// halved goes a step, or as much of it as makes the misfit less, and gives how
// far that was against the parameters; nil where no part of it does.
func halved(s scale, w Widths, p, step []float64, least float64) (next []float64, moved float64) {
	next = make([]float64, 4)
	part := 1.0
	for range widerHalvings {
		moved = 0
		for j := range p {
			next[j] = p[j] + part*step[j]
			if j != 1 { // b may be zero
				moved = math.Max(moved, math.Abs(part*step[j])/(math.Abs(p[j])+math.Abs(w.D[0])))
			}
		}
		if misfit(s, w, next) < least {
			return next, moved
		}
		part /= 2
	}
	return nil, 0
}
