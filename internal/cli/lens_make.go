package cli

import (
	"math"
	"strconv"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/optics"
	"sagitta/internal/optics/measured"
	"sagitta/internal/record"
)

// beamOptions are the options of lens beam.
type beamOptions struct {
	recordOptions
	wavelength, m2, beam, focal float64
}

func (o *beamOptions) bind(f *pflag.FlagSet) {
	f.Float64Var(&o.wavelength, "wavelength", 0, "wavelength in `NM`")
	f.Float64Var(&o.m2, "m2", 0, "beam quality M², 1 for the ideal beam, a `NUMBER`")
	f.Float64Var(&o.beam, "beam", 0, "1/e² diameter of the beam at the lens in `MM`")
	f.Float64Var(&o.focal, "focal", 0, "focal length in `MM`")
	o.recordOptions.bind(f)
}

func (o *beamOptions) run(s *session, _ []string) error {
	for _, name := range []string{"wavelength", "m2", "beam", "focal"} {
		if !o.given(name) {
			return usagef("as in: sagitta lens beam --wavelength 10600 --m2 1.3 --beam 7 --focal 38.1", "no --%s given", name)
		}
	}
	for _, c := range []struct {
		name string
		l    record.Lens
	}{
		{"wavelength", record.Lens{WavelengthNM: &o.wavelength}},
		{"m2", record.Lens{M2: &o.m2}},
		{"focal", record.Lens{FocalLengthMM: &o.focal}},
	} {
		if err := checkField(c.name, c.l); err != nil {
			return err
		}
	}
	if !(o.beam > 0) || math.IsInf(o.beam, 0) {
		return usagef("", "--beam: wants a finite number above zero, not %g", o.beam)
	}
	d, err := o.begin(s, "")
	if err != nil {
		return err
	}
	if err := d.Beam(o.wavelength, o.m2, o.beam, o.focal); err != nil {
		return err
	}
	return o.write(s, d)
}

// fitOptions are the options of lens fit.
type fitOptions struct {
	recordOptions
	wavelength float64
	wider      string
}

func (o *fitOptions) bind(f *pflag.FlagSet) {
	f.Float64Var(&o.wavelength, "wavelength", 0, "wavelength of the beam in `NM`")
	f.StringVar(&o.wider, "mark-wider", "0", "how much wider than the beam the widths are, in `UM`; fit: to be found")
	o.recordOptions.bind(f)
}

func (o *fitOptions) run(s *session, args []string) error {
	name := args[0]
	if !o.given("wavelength") {
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
	d, err := o.begin(s, name)
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
	return o.write(s, d)
}

// rungsOptions are the options of lens rungs.
type rungsOptions struct {
	recordOptions
	sharp, testedOn           string
	detail, step, power, feed float64
	recentre                  bool
}

func (o *rungsOptions) bind(f *pflag.FlagSet) {
	f.StringVar(&o.sharp, "sharp", "", "the outermost sharp rungs in `MM`, nearer and further: --sharp=-1.5,1.5")
	f.Float64Var(&o.detail, "detail", 0, "the smallest detail that was legible on them, in `MM`")
	f.Float64Var(&o.step, "step", 0, "step of the ladder in `MM`")
	f.StringVar(&o.testedOn, "tested-on", "", "the stock it was marked on, `TEXT`")
	f.Float64Var(&o.power, "power", 0, "power it was marked with in `PCT` of the greatest")
	f.Float64Var(&o.feed, "feed", 0, "feed it was marked with in `MM/MIN`")
	f.BoolVar(&o.recentre, "recentre", false, "count the depth from the middle of the sharp rungs")
	o.recordOptions.bind(f)
}

// operand wants a sheet where --sharp is not given.
func (o *rungsOptions) operand(c *cobra.Command, args []string) error {
	if (o.sharp == "") == (len(args) == 0) {
		return usagef(seeHelp(c), "give either --sharp=-1.5,1.5 or a ladder's sheet")
	}
	if o.sharp != "" {
		return nil
	}
	return operand("sheet")(c, args)
}

func (o *rungsOptions) run(s *session, args []string) error {
	name := ""
	if o.sharp == "" {
		name = args[0]
	}
	d, err := o.begin(s, name)
	if err != nil {
		return err
	}
	d.Forget()
	var sharp *measured.Sharp
	if o.sharp != "" {
		sharp, err = o.limits()
	} else {
		var sheet *measured.Verdicts
		if sheet, err = files.Read(s.files, name, measured.ReadVerdicts); err == nil {
			sharp, err = d.Verdicts(name, sheet)
		}
	}
	if err != nil {
		return err
	}
	// Options win over what a sheet says of the ladder.
	if err := o.tested(d.Lens); err != nil {
		return err
	}
	if o.step > 0 {
		sharp.ErrorMM = o.step / 2
	}
	d.Rungs(sharp, o.recentre)
	return o.write(s, d)
}

// tested puts what the options say of the test into the record.
func (o *rungsOptions) tested(l *record.Lens) error {
	for _, x := range []struct {
		name  string
		v     *float64
		to    **float64
		check record.Lens
	}{
		{"detail", &o.detail, &l.SmallestDetailMM, record.Lens{SmallestDetailMM: &o.detail}},
		{"step", &o.step, nil, record.Lens{StandoffMM: &o.step}}, // any length above zero
		{"power", &o.power, &l.TestedPowerPct, record.Lens{TestedPowerPct: &o.power}},
		{"feed", &o.feed, &l.TestedFeedMMMin, record.Lens{TestedFeedMMMin: &o.feed}},
	} {
		if !o.given(x.name) {
			continue
		}
		if err := checkField(x.name, x.check); err != nil {
			return err
		}
		if x.to != nil {
			*x.to = x.v
		}
	}
	if o.testedOn != "" {
		l.TestedOn = o.testedOn
	}
	return checkField("tested-on", record.Lens{TestedOn: o.testedOn})
}

// limits reads --sharp.
func (o *rungsOptions) limits() (*measured.Sharp, error) {
	const hint = "nearer, then further, as in --sharp=-1.5,1.5"
	v, err := numbers(o.sharp)
	switch {
	case err != nil:
		return nil, usagef(hint, "--sharp %s: %v", o.sharp, err)
	case len(v) != 2:
		return nil, usagef(hint, "--sharp %s: wants two limits in mm", o.sharp)
	case v[0] > v[1]:
		return nil, usagef(hint, "--sharp %s: the limits are the wrong way round", o.sharp)
	}
	return measured.Limits(v[0], v[1], o.step)
}
