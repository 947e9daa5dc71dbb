package optics

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"sagitta/internal/diag"
	"sagitta/internal/least"
)

// Estimate is a measured quantity with its standard uncertainty, in one unit.
type Estimate struct{ Value, U float64 }

// Caustic is a focused beam as it was measured along one axis: the hyperbola
// d² = a + b z + c z² of ISO 11146-1 through widths over z, and what follows
// from it. Uncertainties are those that the scatter of the widths shows;
// errors that all planes share, of a scale or of a camera, are not in them.
type Caustic struct {
	FocusMM       Estimate // z of best focus
	WaistMM       Estimate // diameter there
	RayleighMM    Estimate
	DivergenceRad Estimate // full angle
	M2            Estimate
	WiderMM       Estimate // what was taken off every width
	WiderFitted   bool     // it was found by the fit

	Scatter float64 // relative standard deviation of the widths about the fit
	Planes  int     // distinct z
	Within  int     // widths within one Rayleigh length of best focus
	Beyond  int     // widths beyond two
	Before  int     // widths at smaller z than best focus
	After   int     // widths at greater z
	Widths  int

	scale centred
	coef  least.Solution // a, b, c on the scale, in mm², and what marks are wider by
	nm    float64
}

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

const (
	// leastPlanes are the fewest distinct places of a fit: three would meet
	// any hyperbola, and two more are the least that can contradict it.
	leastPlanes = 5
	// leastM2 is how far below 1 a measured M² may come out and still be the
	// ideal beam: the scales of z and of the widths are seldom better. A lens
	// record has the same limit.
	leastM2 = 0.95
	// coverage widens a standard uncertainty to one that holds for about 95
	// of 100. Source: JCGM 100 (the GUM), 6.3.3.
	coverage = 2
	// farOffM2 is where a slip of unit explains M² better than any beam.
	farOffM2 = 0.1
)

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

// evaluate turns a, b, c into the beam's quantities by the formulas of ISO
// 11146-1 (from memory), with uncertainties by the law of propagation. It
// reports whether there is a waist.
func (c *Caustic) evaluate() bool {
	a, b, cc := c.coef.Beta[0], c.coef.Beta[1], c.coef.Beta[2]
	disc := 4*a*cc - b*b
	if !(cc > 0) || !(disc > 0) {
		return false
	}
	root, h := math.Sqrt(disc), c.scale.half
	u := func(factor, ga, gb, gc float64) float64 { return factor * c.coef.Deviation(ga, gb, gc) }
	c.FocusMM = Estimate{c.scale.mid - h*b/(2*cc), u(h/2, 0, 1/cc, -b/(cc*cc))}
	d0 := root / (2 * math.Sqrt(cc))
	// d0² = a − b²/4c
	c.WaistMM = Estimate{d0, u(1/(2*d0), 1, -b/(2*cc), b*b/(4*cc*cc))}
	// zR = √disc/2c: d zR = d disc/(4c√disc) − zR dc/c
	zR := root / (2 * cc)
	c.RayleighMM = Estimate{h * zR, u(h, 1/root, -b/(2*cc*root), a/(cc*root)-zR/cc)}
	c.DivergenceRad = Estimate{math.Sqrt(cc) / h, u(1/h, 0, 0, 1/(2*math.Sqrt(cc)))}
	k := math.Pi / (8 * c.nm * mmPerNM * h)
	c.M2 = Estimate{k * root, u(k/root, 2*cc, -b, 2*a)}
	if c.WiderFitted {
		c.WiderMM = Estimate{c.coef.Beta[3], c.coef.Deviation(0, 0, 0, 1)}
	}
	c.Scatter = math.Sqrt(c.coef.Variance())
	return true
}

func (c *Caustic) count(w Widths) {
	for _, z := range w.Z {
		defocus := z - c.FocusMM.Value
		if math.Abs(defocus) <= c.RayleighMM.Value {
			c.Within++
		}
		if math.Abs(defocus) > 2*c.RayleighMM.Value {
			c.Beyond++
		}
		if defocus < 0 {
			c.Before++
		} else if defocus > 0 {
			c.After++
		}
	}
}

// possible refuses what no beam can be.
func (c *Caustic) possible(planes []float64) error {
	if c.Before == 0 || c.After == 0 {
		return noResult(moreHint, "all planes lie on one side of best focus: from z %.4g to %.4g mm, and the fit puts it at %.4g mm",
			planes[0], planes[len(planes)-1], c.FocusMM.Value)
	}
	m2 := c.M2
	switch {
	case m2.Value >= leastM2:
		return nil
	case m2.Value < farOffM2:
		return noResult("check the units: z is in mm and widths are in µm, unless the header says otherwise, and the wavelength is in nm",
			"M² comes out at %.3g, and no beam is below 1", m2.Value)
	case m2.Value+coverage*m2.U < 1:
		return noResult(moreHint, "M² comes out at %.2f ± %.2f, below 1 beyond its uncertainty, and no beam is: these widths cannot be right", m2.Value, m2.U)
	}
	return noResult(moreHint, "M² comes out at %.2f ± %.2f, too uncertain to make a record of: no beam is below 1", m2.Value, m2.U)
}
