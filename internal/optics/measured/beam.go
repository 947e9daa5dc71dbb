package measured

import (
	"cmp"
	"fmt"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/optics"
	"sagitta/internal/phrase"
	"sagitta/internal/record"
)

// wideOpen is the beam diameter over the focal length from which the formulas
// of slender beams, which take an angle for its sine, are off by percents.
const wideOpen = 0.5

// Beam works the record out of the beam's data: wavelength in nm, M², 1/e²
// diameter at the lens and focal length in mm. The error is that of a spot that
// cannot be.
func (d *Draft) Beam(nm, m2, beamMM, focalMM float64) error {
	waist := optics.Waist(m2, nm, focalMM, beamMM)
	zR := optics.Rayleigh(waist, m2, nm)
	d.FocalLengthMM, d.WavelengthNM, d.M2 = &focalMM, &nm, &m2
	d.WaistUM, d.RayleighMM = rounded(1000*waist), rounded(zR)
	alone := record.Lens{FocalLengthMM: d.FocalLengthMM, WavelengthNM: d.WavelengthNM, M2: d.M2, WaistUM: d.WaistUM, RayleighMM: d.RayleighMM}
	if e := diag.As(alone.Validate()); e != nil {
		return diag.Errorf(diag.Setting, "check the units: --beam and --focal are in mm",
			"--beam %g and --focal %g give a spot of %.3g µm: %s", beamMM, focalMM, 1000*waist, e.What)
	}
	d.Note("a beam of %g mm (1/e² diameter at the lens), M² %g, %g nm, focal length %g mm: spot %s µm (1/e² diameter at best focus), rayleigh length %s mm",
		beamMM, m2, nm, focalMM, phrase.Short(1000*waist), phrase.Short(zR))
	d.assumedDepth(zR)
	d.Note("assumed: an ideal lens and a parallel beam that nothing cuts off; a real spot is larger")
	if beamMM/focalMM > wideOpen {
		d.Note("warning: the beam is wide against the focal length (%.2g of it): these formulas are for slender beams", beamMM/focalMM)
	}
	return nil
}

// assumedDepth says which depth a record is taken to have that has no tested
// one.
func (d *Draft) assumedDepth(rayleighMM float64) {
	if d.DepthMM == nil {
		half := optics.HalfDepth(rayleighMM, record.AssumedGrowth)
		d.Note("assumed: the depth is %s mm, within which the spot grows by %s percent; a ladder tells what stays sharp",
			phrase.Sides(half, half), growth)
	}
}

// growth is how much a spot grows within an assumed depth, in percent.
var growth = fmt.Sprintf("%.0f", 100*(record.AssumedGrowth-1))

// Widths fits the record's beam to widths read from the file name. With two
// axes it is their mean, and the depth holds for each. The error is a
// *diag.Error, kind Unmet, where they lead to nothing.
func (d *Draft) Widths(name string, s *Series, opt optics.FitOptions) error {
	d.Note("%s: widths at z from %s to %s mm, wavelength %g nm", name, phrase.Short(slices.Min(s.X.Z)), phrase.Short(slices.Max(s.X.Z)), opt.WavelengthNM)
	d.WavelengthNM = &opt.WavelengthNM
	if s.Y != nil {
		if err := d.axes(s, opt); err != nil {
			return From(name, err)
		}
	} else {
		beam, err := optics.Fit(s.X, opt)
		if err != nil {
			return From(name, err)
		}
		d.caustic("", beam)
		d.setBeam(beam)
		d.assumedDepth(beam.RayleighMM.Value)
	}
	d.Note("± are standard uncertainties from the scatter of the widths; errors of the scales of z and of the widths come on top")
	return nil
}

// From puts where they are from before measurements that lead to nothing.
func From(name string, err error) error {
	if diag.Is(err, diag.Unmet) {
		return diag.Errorf(diag.Unmet, diag.Hint(err), "%s: %v", name, err)
	}
	return err
}

func (d *Draft) setBeam(c *optics.Caustic) {
	d.WaistUM, d.RayleighMM, d.M2 = rounded(1000*c.WaistMM.Value), rounded(c.RayleighMM.Value), rounded(c.M2.Value)
}

// estimate writes an estimate times a factor, with its uncertainty.
func estimate(e optics.Estimate, factor float64) string {
	return phrase.PlusMinus(e.Value*factor, e.U*factor)
}

// caustic says what a fit found along one axis, and what makes it less sure.
func (d *Draft) caustic(axis string, c *optics.Caustic) {
	d.Note("%sbest focus at z %s mm, waist %s µm (1/e² diameter), rayleigh length %s mm, full divergence %s mrad, M² %s", axis,
		estimate(c.FocusMM, 1), estimate(c.WaistMM, 1000), estimate(c.RayleighMM, 1), estimate(c.DivergenceRad, 1000), estimate(c.M2, 1))
	switch {
	case c.WiderFitted:
		d.Note("%sthe marks are wider than the beam by %s µm, as found by the fit", axis, estimate(c.WiderMM, 1000))
	case c.WiderMM.Value != 0:
		d.Note("%s%s µm were taken off every width", axis, phrase.Short(1000*c.WiderMM.Value))
	}
	for _, w := range c.Warnings() {
		d.Note("%swarning: %s", axis, w)
	}
}

func (d *Draft) axes(s *Series, opt optics.FitOptions) error {
	x, badX := optics.Fit(s.X, opt)
	y, badY := optics.Fit(*s.Y, opt)
	if err := cmp.Or(From("axis x", badX), From("axis y", badY)); err != nil {
		return err
	}
	axes := optics.Astigmatic{X: x, Y: y}
	d.caustic("x: ", x)
	d.caustic("y: ", y)
	between, which := axes.AstigmaticMM(), "further from"
	if between.Value < 0 {
		between.Value, which = -between.Value, "nearer"
	}
	d.Note("the focus of y lies %s mm %s the lens than that of x (astigmatic distance)", estimate(between, 1), which)
	mean, badMean := axes.Mean()
	shared, badShared := axes.Shared(record.AssumedGrowth)
	if err := cmp.Or(badMean, badShared); err != nil {
		return err
	}
	if shared.Middle {
		d.Note("best focus of both: z %s mm, the middle of the depth that they share; the spot over both axes is smallest outside it, so the record has no waist", phrase.Short(shared.FocusMM))
		d.WaistUM, d.RayleighMM, d.M2 = nil, nil, nil
	} else {
		d.Note("both together: best focus at z %s mm, waist %s µm, rayleigh length %s mm, M² %s (the beam whose d² is the mean of both)",
			estimate(mean.FocusMM, 1), estimate(mean.WaistMM, 1000), estimate(mean.RayleighMM, 1), estimate(mean.M2, 1))
		d.setBeam(mean)
	}
	sides := phrase.Sides(shared.Near, shared.Far)
	if d.DepthMM != nil {
		d.Note("the depth stays as it was in the record; within %s mm neither axis grows by more than %s percent", sides, growth)
		return nil
	}
	d.DepthMM = &[2]float64{-*rounded(shared.Near), *rounded(shared.Far)}
	d.DepthErrorMM = rounded(shared.U)
	d.Note("assumed: the depth is %s mm about z %s, within which neither axis grows by more than %s percent of its waist; a ladder tells what stays sharp",
		sides, phrase.Short(shared.FocusMM), growth)
	return nil
}
