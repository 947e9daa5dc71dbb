package optics

import "fmt"

const (
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
