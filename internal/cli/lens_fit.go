package cli

import (
	"math"
	"strconv"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
	"sagitta/internal/optics"
	"sagitta/internal/optics/measured"
	"sagitta/internal/record"
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
	if err := checkField("wavelength", record.Lens{WavelengthNM: &o.wavelength}); err != nil {
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
	d, err := s.begin(&o.recordOptions, name)
	if err != nil {
		return err
	}
	widths, err := files.Read(s.files, name, measured.ReadWidths)
	if err != nil {
		return err
	}
	if err := d.Widths(name, widths, opt); err != nil {
		return err
	}
	return s.writeRecord(&o.recordOptions, d)
}
