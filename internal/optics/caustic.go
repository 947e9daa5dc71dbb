package optics

import (
	"fmt"
	"math"

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

const (
	// leastM2 is how far below 1 a measured M² may come out and still be the
	// ideal beam: the scales of z and of the widths are seldom better. A lens
	// record has the same limit.
	leastM2 = 0.95
	// coverage widens a standard uncertainty to one that holds for about 95
	// of 100. Source: JCGM 100 (the GUM), 6.3.3.
	coverage = 2
	// farOffM2 is where a slip of unit explains M² better than any beam.
	farOffM2 = 0.1
	// advisedPlanes and the parts below are what ISO 11146-1 (from memory)
	// asks of a series: at least ten planes, about half within one Rayleigh
	// length and half beyond two. A third is "about half" with some grace.
	advisedPlanes = 10
	advisedPart   = 1.0 / 3
	// evenPart is the least part of the widths on either side of best focus
	// that leaves its place to the widths more than to the model.
	evenPart = 0.2
	// looseWaist is the relative standard uncertainty from which a waist or
	// Rayleigh length is worth a warning: the agreement that a lens record
	// asks of its fields.
	looseWaist = 0.05
	// looseScatter is the scatter of widths from which it is likely that
	// some of them are wrong: cameras and slits repeat to some percent.
	looseScatter = 0.1
	// highM2 is more than any laser that marks is sold with.
	highM2 = 200
)

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

// Warnings tells in plain words what makes the fit less sure than it looks.
func (c *Caustic) Warnings() []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	n := float64(c.Widths)
	if c.Planes < advisedPlanes {
		say("only %d planes; ISO 11146-1 asks for %d or more", c.Planes, advisedPlanes)
	}
	if float64(c.Within) < advisedPart*n {
		say("only %d of %d widths lie within one rayleigh length of best focus, where about half should: the waist is less sure", c.Within, c.Widths)
	}
	if float64(c.Beyond) < advisedPart*n {
		say("only %d of %d widths lie beyond two rayleigh lengths from best focus, where about half should: the divergence and M² are less sure", c.Beyond, c.Widths)
	}
	if few := min(c.Before, c.After); float64(few) < evenPart*n {
		say("only %d of %d widths lie on one side of best focus: its place is less sure", few, c.Widths)
	}
	for _, q := range []struct {
		name string
		e    Estimate
	}{{"the waist", c.WaistMM}, {"the rayleigh length", c.RayleighMM}} {
		if part := q.e.U / q.e.Value; part > looseWaist {
			say("%s is known to %.0f percent only", q.name, 100*part)
		}
	}
	if c.Scatter > looseScatter {
		say("the widths scatter by %.0f percent about the fit: some may be wrong", 100*c.Scatter)
	}
	switch m2 := c.M2; {
	case m2.Value > highM2:
		say("M² of %.0f is more than any laser that marks has: check the units of z, widths and wavelength", m2.Value)
	case m2.Value+coverage*m2.U < 1-1e-9: // widths that are exact meet 1 to rounding
		say("M² of %.3f ± %.3f is below 1 by more than the scatter explains: check the scales of z and of the widths", m2.Value, m2.U)
	case m2.Value < 1-1e-9:
		say("M² of %.3f ± %.3f is below 1, within its uncertainty: take it as the ideal beam", m2.Value, m2.U)
	}
	if c.WiderFitted {
		if w := c.WiderMM; coverage*w.U > c.WaistMM.Value/2 {
			say("by how much marks are wider than the beam is hardly told by these widths: %.3g ± %.2g µm", 1e3*w.Value, 1e3*w.U)
		}
	}
	return out
}
