package cli

import (
	"math"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/job"
	"sagitta/internal/optics"
	"sagitta/internal/phrase"
)

// wideOpen is the beam diameter over the focal length from which the formulas
// of slender beams, which take an angle for its sine, are off by percents.
const wideOpen = 0.5

func (s *session) lensBeamCommand() *cobra.Command {
	var o recordOptions
	var nm, m2, beam, focal float64
	c := &cobra.Command{
		Use:   "beam --wavelength NM --m2 M --beam MM --focal MM [-o LENS.toml]",
		Short: "a record from the beam's data and the focal length",
		Long: `beam works out the spot that a lens can make: d0 = 4 M² λ f / (π D), D being the
1/e² diameter of the beam at the lens and d0 that at best focus. The lens is
taken to be ideal and centred, and the beam to be parallel and not cut off.`,
		Example: `    sagitta lens beam --wavelength 10600 --m2 1.3 --beam 7 --focal 38.1 -o short.toml`,
		Args:    noOperand,
		RunE: func(c *cobra.Command, _ []string) error {
			for _, name := range []string{"wavelength", "m2", "beam", "focal"} {
				if !c.Flags().Changed(name) {
					return usagef("as in: sagitta lens beam --wavelength 10600 --m2 1.3 --beam 7 --focal 38.1", "no --%s given", name)
				}
			}
			return s.lensBeam(&o, nm, m2, beam, focal)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.Float64Var(&nm, "wavelength", 0, "wavelength in `NM`")
	f.Float64Var(&m2, "m2", 0, "beam quality M², 1 for the ideal beam, a `NUMBER`")
	f.Float64Var(&beam, "beam", 0, "1/e² diameter of the beam at the lens in `MM`")
	f.Float64Var(&focal, "focal", 0, "focal length in `MM`")
	o.bind(f)
	return c
}

func (s *session) lensBeam(o *recordOptions, nm, m2, beam, focal float64) error {
	for _, c := range []struct {
		name string
		l    job.Lens
	}{{"wavelength", job.Lens{WavelengthNM: &nm}}, {"m2", job.Lens{M2: &m2}}, {"focal", job.Lens{FocalLengthMM: &focal}}} {
		if err := option(c.name, c.l); err != nil {
			return err
		}
	}
	if !(beam > 0) || math.IsInf(beam, 0) {
		return usagef("", "--beam: wants a finite number above zero, not %g", beam)
	}
	l, err := s.begin(o, "")
	if err != nil {
		return err
	}
	waist := optics.Waist(m2, nm, focal, beam)
	zR := optics.Rayleigh(waist, m2, nm)
	l.FocalLengthMM, l.WavelengthNM, l.M2 = &focal, &nm, &m2
	l.WaistUM, l.RayleighMM = rounded(1000*waist), rounded(zR)
	if e := diag.As(l.Validate()); e != nil && o.from == "" && o.name == "" {
		return usagef("check the units: --beam and --focal are in mm", "--beam %g and --focal %g give a spot of %.3g µm: %s", beam, focal, 1000*waist, e.What)
	}
	f := &say.Finding{}
	f.Note("a beam of %g mm (1/e² diameter at the lens), M² %g, %g nm, focal length %g mm: spot %s µm (1/e² diameter at best focus), rayleigh length %s mm",
		beam, m2, nm, focal, phrase.Short(1000*waist), phrase.Short(zR))
	if l.DepthMM == nil {
		f.AssumedDepth(zR)
	}
	f.Note("assumed: an ideal lens and a parallel beam that nothing cuts off; a real spot is larger")
	if beam/focal > wideOpen {
		f.Note("warning: the beam is wide against the focal length (%.2g of it): these formulas are for slender beams", beam/focal)
	}
	return s.writeRecord(o, l, f)
}
