package cli

import (
	"math"

	"github.com/spf13/cobra"

	"sagitta/internal/record"
)

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
		l    record.Lens
	}{{"wavelength", record.Lens{WavelengthNM: &nm}}, {"m2", record.Lens{M2: &m2}}, {"focal", record.Lens{FocalLengthMM: &focal}}} {
		if err := checkField(c.name, c.l); err != nil {
			return err
		}
	}
	if !(beam > 0) || math.IsInf(beam, 0) {
		return usagef("", "--beam: wants a finite number above zero, not %g", beam)
	}
	d, err := s.begin(o, "")
	if err != nil {
		return err
	}
	if err := d.Beam(nm, m2, beam, focal); err != nil {
		return err
	}
	return s.writeRecord(o, d)
}
