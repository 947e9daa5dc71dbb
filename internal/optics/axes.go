package optics

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"sagitta/internal/least"
)

// Astigmatic are two caustics of one beam, along x and y, at the same z.
type Astigmatic struct{ X, Y *Caustic }

// AstigmaticMM is the distance between the two foci, y less x.
func (a Astigmatic) AstigmaticMM() Estimate {
	return Estimate{a.Y.FocusMM.Value - a.X.FocusMM.Value, math.Hypot(a.X.FocusMM.U, a.Y.FocusMM.U)}
}

// Mean is the beam whose squared diameter is the mean of the two: again a
// hyperbola, the effective beam of ISO 11146-1 (from memory). Its waist lies
// where the spot is smallest over both axes.
func (a Astigmatic) Mean() (*Caustic, error) {
	m := *a.X
	m.WiderFitted = false
	m.WiderMM = Estimate{}
	// The uncertainties of the axes are independent, so that variances add.
	// With the residual variance put into the matrix, that of a row is 1.
	m.coef = least.Solution{Beta: make([]float64, 3), Unit: mat.NewSymDense(3, nil), Squares: 1, Free: 1}
	for _, c := range []*Caustic{a.X, a.Y} {
		for j := range m.coef.Beta {
			m.coef.Beta[j] += c.coef.Beta[j] / 2
		}
		var part mat.SymDense
		part.ScaleSym(c.coef.Variance()/4, c.coef.Unit.SliceSym(0, 3))
		m.coef.Unit.AddSym(m.coef.Unit, &part)
	}
	if !m.evaluate() {
		return nil, noResult("", "the two axes have no waist in common")
	}
	m.Scatter = math.Hypot(a.X.Scatter, a.Y.Scatter) / math.Sqrt2
	return &m, nil
}

// Shared is the depth that two axes have in common.
type Shared struct {
	FocusMM   float64 // z of best focus
	Near, Far float64 // mm from there to smaller and to greater z
	U         float64 // standard uncertainty of either side, in mm
	// Middle tells that best focus is the middle of the shared depth: that of
	// the mean beam lies outside it.
	Middle bool
}

// Shared gives the depth within which neither axis has grown to more than k
// times its waist: the overlap of both depths, about the best focus of the
// mean beam. The error is a *diag.Error: the depths do not overlap.
func (a Astigmatic) Shared(k float64) (Shared, error) {
	hx, hy := HalfDepth(a.X.RayleighMM.Value, k), HalfDepth(a.Y.RayleighMM.Value, k)
	lo := math.Max(a.X.FocusMM.Value-hx, a.Y.FocusMM.Value-hy)
	hi := math.Min(a.X.FocusMM.Value+hx, a.Y.FocusMM.Value+hy)
	if !(lo < hi) {
		return Shared{}, noResult("a lens or mirror stands askew, or the source is astigmatic: correct that, or fit the axis that the job needs by itself",
			"no depth holds for both axes: their foci are %.3g mm apart, and each has grown by %.0f percent within %.3g and %.3g mm of its own",
			math.Abs(a.AstigmaticMM().Value), 100*(k-1), hx, hy)
	}
	mean, err := a.Mean()
	if err != nil {
		return Shared{}, err
	}
	s := Shared{FocusMM: mean.FocusMM.Value}
	if !(s.FocusMM > lo && s.FocusMM < hi) {
		s.FocusMM, s.Middle = lo+(hi-lo)/2, true
	}
	s.Near, s.Far = s.FocusMM-lo, hi-s.FocusMM
	u := func(c *Caustic) float64 { return math.Hypot(c.FocusMM.U, HalfDepth(1, k)*c.RayleighMM.U) }
	s.U = max(u(a.X), u(a.Y))
	return s, nil
}
