package cli

import (
	"math"
	"slices"
	"strconv"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/optics"
	"sagitta/internal/optics/measured"
	"sagitta/internal/phrase"
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
		Args:    operand("file of widths"),
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
	f := &say.Finding{}
	f.Note("%s: widths at z from %s to %s mm, wavelength %g nm", in.Name, phrase.Short(slices.Min(series.X.Z)), phrase.Short(slices.Max(series.X.Z)), o.wavelength)
	l.WavelengthNM = &o.wavelength
	if series.Y == nil {
		beam, err := optics.Fit(series.X, opt)
		if err != nil {
			return prefixed(in.Name, err)
		}
		f.Caustic("", beam)
		setBeam(l, beam)
		if l.DepthMM == nil {
			f.AssumedDepth(beam.RayleighMM.Value)
		}
	} else if err := fitAxes(l, f, series, opt); err != nil {
		return prefixed(in.Name, err)
	}
	f.Note("± are standard uncertainties from the scatter of the widths; errors of the scales of z and of the widths come on top")
	return s.writeRecord(&o.recordOptions, l, f)
}

// fitAxes fits both axes: the record's beam is their mean, and its depth holds
// for each.
func fitAxes(l *job.Lens, f *say.Finding, series *measured.Series, opt optics.FitOptions) error {
	x, err := optics.Fit(series.X, opt)
	if err != nil {
		return prefixed("axis x", err)
	}
	y, err := optics.Fit(*series.Y, opt)
	if err != nil {
		return prefixed("axis y", err)
	}
	axes := optics.Axes{X: x, Y: y}
	mean, err := axes.Mean()
	if err != nil {
		return err
	}
	shared, err := axes.Shared(job.AssumedGrowth)
	if err != nil {
		return err
	}
	f.Axes(axes, mean, shared)
	f.SharedDepth(shared, l.DepthMM != nil)
	if shared.Middle {
		l.WaistUM, l.RayleighMM, l.M2 = nil, nil, nil
	} else {
		setBeam(l, mean)
	}
	if l.DepthMM == nil {
		l.DepthMM = &[2]float64{-*rounded(shared.Near), *rounded(shared.Far)}
		l.DepthErrorMM = rounded(shared.U)
	}
	return nil
}

func setBeam(l *job.Lens, c *optics.Caustic) {
	l.WaistUM, l.RayleighMM, l.M2 = rounded(1000*c.WaistMM.Value), rounded(c.RayleighMM.Value), rounded(c.M2.Value)
}
