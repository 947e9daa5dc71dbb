package cli

import (
	"math"
	"slices"
	"strconv"

	"github.com/spf13/cobra"

	"sagitta/internal/job"
	"sagitta/internal/optics"
	"sagitta/internal/optics/measured"
)

// fitOptions are the options of lens fit.
type fitOptions struct {
	recordOptions
	wavelength float64
	wider      string
}

func (s *session) lensFitCommand() *cobra.Command {
	var o fitOptions
	c := &cobra.Command{
		Use:   "fit WIDTHS.csv --wavelength NM [-o LENS.toml]",
		Short: "a record from widths of the beam measured over Z",
		Long: `fit lays the hyperbola d² = a + b z + c z² of ISO 11146-1 through widths of the
beam and gives best focus, waist, Rayleigh length, divergence and M², each with
its standard uncertainty. Ten planes or more are wanted, about half within one
Rayleigh length of best focus and half beyond two.

The file is CSV: columns z, d or z, dx, dy, in this order or as a header names
them; z in mm, growing away from the lens, and 1/e² diameters in µm, unless the
header says otherwise (z_mm, dx_um; also um, cm, m, in). With two axes the
record's beam is the mean of both, and its depth holds for each.

Lines measured on a mark are wider or narrower than the beam by about the same
amount everywhere. --mark-wider 40 takes 40 µm off every width; --mark-wider fit
has the fit find the amount, for which planes both near best focus and beyond
two Rayleigh lengths are needed.`,
		Example: `    sagitta lens fit widths.csv --wavelength 10600 -o short.toml`,
		Args:    operands("file of widths"),
		RunE:    func(c *cobra.Command, args []string) error { return s.lensFit(&o, args[0], c) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.Float64Var(&o.wavelength, "wavelength", 0, "wavelength of the beam in `NM`")
	f.StringVar(&o.wider, "mark-wider", "0", "how much wider than the beam the widths are, in `UM`; fit: to be found")
	o.bind(f)
	return c
}

func (s *session) lensFit(o *fitOptions, name string, c *cobra.Command) error {
	if !c.Flags().Changed("wavelength") {
		return usagef("give the wavelength in nm, as in --wavelength 10600", "no wavelength given")
	}
	if err := option("wavelength", job.Lens{WavelengthNM: &o.wavelength}); err != nil {
		return err
	}
	opt := optics.FitOptions{WavelengthNM: o.wavelength, FitWider: o.wider == "fit"}
	if !opt.FitWider {
		um, err := strconv.ParseFloat(o.wider, 64)
		if err != nil || math.IsNaN(um) || math.IsInf(um, 0) {
			return usagef("", "--mark-wider %s: wants µm, as in --mark-wider 40, or the word fit", o.wider)
		}
		opt.WiderMM = um / 1000
	}
	l, err := s.begin(&o.recordOptions, name)
	if err != nil {
		return err
	}
	in, err := s.files.Open(name)
	if err != nil {
		return err
	}
	defer in.Close()
	series, err := measured.ReadWidths(in, in.Name)
	if err != nil {
		return err
	}
	f := &finding{}
	f.say("%s: widths at z from %s to %s mm, wavelength %g nm", in.Name, short(slices.Min(series.X.Z)), short(slices.Max(series.X.Z)), o.wavelength)
	l.WavelengthNM = &o.wavelength
	if series.Y == nil {
		beam, err := optics.Fit(series.X, opt)
		if err != nil {
			return prefixed(in.Name, err)
		}
		f.caustic("", beam)
		setBeam(l, beam)
		if l.DepthMM == nil {
			half := optics.HalfDepth(beam.RayleighMM.Value, job.AssumedGrowth)
			f.say("assumed: the depth is %s mm, within which the spot grows by %s percent; a ladder tells what stays sharp", sidesOf(half, half), percent(job.AssumedGrowth))
		}
	} else if err := fitAxes(l, f, series, opt); err != nil {
		return prefixed(in.Name, err)
	}
	f.say("± are standard uncertainties from the scatter of the widths; errors of the scales of z and of the widths come on top")
	return s.writeRecord(&o.recordOptions, l, f)
}

func fitAxes(l *job.Lens, f *finding, series *measured.Series, opt optics.FitOptions) error {
	x, err := optics.Fit(series.X, opt)
	if err != nil {
		return prefixed("axis x", err)
	}
	y, err := optics.Fit(*series.Y, opt)
	if err != nil {
		return prefixed("axis y", err)
	}
	axes := optics.Axes{X: x, Y: y}
	f.caustic("x: ", x)
	f.caustic("y: ", y)
	apart := axes.AstigmaticMM()
	which := "further from"
	if apart.Value < 0 {
		which, apart.Value = "nearer", -apart.Value
	}
	f.say("the focus of y lies %s mm %s the lens than that of x (astigmatic distance)", plusMinus(apart, 1), which)
	mean, err := axes.Mean()
	if err != nil {
		return err
	}
	shared, err := axes.Shared(job.AssumedGrowth)
	if err != nil {
		return err
	}
	if shared.Middle {
		f.say("best focus of both: z %s mm, the middle of the depth that they share; the spot over both axes is smallest outside it, so the record has no waist", short(shared.FocusMM))
		l.WaistUM, l.RayleighMM, l.M2 = nil, nil, nil
	} else {
		f.say("both together: best focus at z %s mm, waist %s µm, rayleigh length %s mm, M² %s (the beam whose d² is the mean of both)",
			plusMinus(mean.FocusMM, 1), plusMinus(mean.WaistMM, 1000), plusMinus(mean.RayleighMM, 1), plusMinus(mean.M2, 1))
		setBeam(l, mean)
	}
	if l.DepthMM != nil {
		f.say("the depth stays as it was in the record; within %s mm neither axis grows by more than %s percent", sidesOf(shared.Near, shared.Far), percent(job.AssumedGrowth))
		return nil
	}
	l.DepthMM = &[2]float64{-*rounded(shared.Near), *rounded(shared.Far)}
	l.DepthErrorMM = rounded(shared.U)
	f.say("assumed: the depth is %s mm about z %s, within which neither axis grows by more than %s percent of its waist; a ladder tells what stays sharp",
		sidesOf(shared.Near, shared.Far), short(shared.FocusMM), percent(job.AssumedGrowth))
	return nil
}

// caustic says what a fit found along one axis, and what makes it less sure.
func (f *finding) caustic(axis string, c *optics.Caustic) {
	f.say("%sbest focus at z %s mm, waist %s µm (1/e² diameter), rayleigh length %s mm, full divergence %s mrad, M² %s", axis,
		plusMinus(c.FocusMM, 1), plusMinus(c.WaistMM, 1000), plusMinus(c.RayleighMM, 1), plusMinus(c.DivergenceRad, 1000), plusMinus(c.M2, 1))
	switch {
	case c.WiderFitted:
		f.say("%sthe marks are wider than the beam by %s µm, as found by the fit", axis, plusMinus(c.WiderMM, 1000))
	case c.WiderMM.Value != 0:
		f.say("%s%s µm were taken off every width", axis, short(1000*c.WiderMM.Value))
	}
	for _, w := range c.Warnings() {
		f.say("%swarning: %s", axis, w)
	}
}

func setBeam(l *job.Lens, c *optics.Caustic) {
	l.WaistUM, l.RayleighMM, l.M2 = rounded(1000*c.WaistMM.Value), rounded(c.RayleighMM.Value), rounded(c.M2.Value)
}
