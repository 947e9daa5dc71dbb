package optics

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"sagitta/internal/diag"
	"sagitta/internal/least"
)

// Widths are diameters of a beam in mm along one axis, each at a place in mm
// along the beam.
type Widths struct{ Z, D []float64 }

// FitOptions say how widths are to be read.
type FitOptions struct {
	WavelengthNM float64
	// WiderMM is how much wider than the beam every width is: known, as for
	// lines measured on a mark; less than zero: narrower.
	WiderMM float64
	// FitWider has the fit find it.
	FitWider bool
}

// leastPlanes are the fewest distinct places of a fit: three would meet
// any hyperbola, and two more are the least that can contradict it.
const leastPlanes = 5

// noResult tells that measurements lead to no lens record.
func noResult(hint, format string, args ...any) error {
	return diag.Errorf(diag.Unmet, hint, format, args...)
}

// moreHint is the remedy of most faults of a series of widths.
const moreHint = "measure ten planes or more on both sides of best focus, about half of them within one rayleigh length of it and half beyond two (ISO 11146-1)"

// Fit fits the hyperbola to widths, weighted so that relative errors of the
// widths count alike. Z and D are finite, D above zero and both as long. The
// error is a *diag.Error: too few planes, all of them on one side, no
// waist, or an M² below 1 beyond what can be explained.
func Fit(w Widths, o FitOptions) (*Caustic, error) {
	planes := slices.Compact(slices.Sorted(slices.Values(w.Z)))
	least := leastPlanes
	if o.FitWider {
		least++
	}
	if len(planes) < least {
		return nil, noResult(moreHint, "too few planes: widths at %d places, and a fit wants %d at least", len(planes), least)
	}
	if narrowest := slices.Min(w.D); !o.FitWider && narrowest <= o.WiderMM {
		return nil, noResult("", "the narrowest width, %.4g µm, leaves no beam when %.4g µm are taken off", 1e3*narrowest, 1e3*o.WiderMM)
	}
	c := &Caustic{scale: centre(w.Z), nm: o.WavelengthNM, Planes: len(planes), Widths: len(w.Z)}
	ok := true
	if o.FitWider {
		c.WiderFitted = true
		c.coef, ok = fitWider(c.scale, w)
	} else {
		c.coef, ok = fitKnown(c.scale, w, o.WiderMM, fitRounds)
		c.WiderMM.Value = o.WiderMM
	}
	if !ok || !c.evaluate() {
		if o.FitWider {
			return nil, noResult("take planes further from best focus, or give what marks are wider by as a number",
				"these widths do not tell by how much marks are wider than the beam")
		}
		return nil, noResult(moreHint, "the widths do not close to a waist (4ac - b² is not above zero), so they show no beam")
	}
	// The growth c is the square of the divergence: twice its relative error.
	if theta := c.DivergenceRad; 2*coverage*theta.U > theta.Value {
		return nil, noResult(moreHint, "the widths grow too little over these planes to show a waist: their scatter hides it")
	}
	c.count(w)
	return c, c.possible(planes)
}

// fitRounds bounds the rounds of reweighting; each brings some two digits.
const fitRounds = 20

// fitKnown fits a, b, c of d = width − wider. A width's relative error r makes
// an error 2 d r·width of d²; the weights come from the fitted d, for those of
// the measured ones would pull the fit towards the narrow side of the scatter.
func fitKnown(s centred, w Widths, wider float64, rounds int) (least.Solution, bool) {
	squares, weight := make([]float64, len(w.D)), make([]float64, len(w.D))
	for i, width := range w.D {
		d := width - wider
		squares[i], weight[i] = d*d, 1/(2*d*width)
	}
	var sol least.Solution
	for range rounds {
		var err error
		if sol, err = fitQuadratic(s, w.Z, squares, weight); err != nil {
			return sol, false
		}
		for i, z := range w.Z {
			if q := quadraticAt(sol, s.to(z)); q > 0 {
				d := math.Sqrt(q)
				weight[i] = 1 / (2 * d * math.Abs(d+wider))
			}
		}
	}
	return sol, true
}

// centred maps places on an axis to about -1 to 1, so that the columns 1, u, u²
// of a quadratic are far from dependent however far from zero the places lie.
type centred struct{ mid, half float64 }

func centre(x []float64) centred {
	lo, hi := slices.Min(x), slices.Max(x)
	return centred{mid: lo + (hi-lo)/2, half: cmp.Or((hi-lo)/2, 1)}
}

func (s centred) to(x float64) float64 { return (x - s.mid) / s.half }

// fitQuadratic fits y = a + b u + c u², u being x on the scale, with each row
// multiplied by its weight: one over the standard deviation of its y.
func fitQuadratic(s centred, x, y, weight []float64) (least.Solution, error) {
	rows, rhs := mat.NewDense(len(x), 3, nil), make([]float64, len(x))
	for i, w := range weight {
		u := s.to(x[i])
		rows.SetRow(i, []float64{w, w * u, w * u * u})
		rhs[i] = w * y[i]
	}
	return least.Linear(rows, rhs)
}

func quadraticAt(s least.Solution, u float64) float64 { return s.Beta[0] + u*(s.Beta[1]+u*s.Beta[2]) }

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
