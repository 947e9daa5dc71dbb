package cli

import (
	"cmp"
	"math"
	"strconv"

	"github.com/spf13/cobra"

	"sagitta/internal/job"
	"sagitta/internal/optics"
	"sagitta/internal/optics/measured"
	"sagitta/internal/option"
	"sagitta/internal/record"
)

// beamOptions are the options of lens beam.
type beamOptions struct {
	Wavelength float64 `opt:"wavelength" is:"wavelength in <NM>"`
	M2         float64 `opt:"m2" is:"beam quality M², 1 for the ideal beam, a <NUMBER>"`
	Beam       float64 `opt:"beam" is:"1/e² diameter of the beam at the lens in <MM>"`
	Focal      float64 `opt:"focal" is:"focal length in <MM>"`
	recordOptions
}

func (o *beamOptions) run(s *session, _ []string) error {
	for _, name := range []string{"wavelength", "m2", "beam", "focal"} {
		if !s.given(name) {
			return usagef("as in: sagitta lens beam --wavelength 10600 --m2 1.3 --beam 7 --focal 38.1", "no --%s given", name)
		}
	}
	if err := checkFields(record.Lens{WavelengthNM: &o.Wavelength, M2: &o.M2, FocalLengthMM: &o.Focal}); err != nil {
		return err
	}
	if !option.Within(o.Beam, "(0,)") {
		return usagef("", "--beam: wants a finite number above zero, not %g", o.Beam)
	}
	return o.make(s, "", func(d *measured.Draft) error { return d.Beam(o.Wavelength, o.M2, o.Beam, o.Focal) })
}

// fitOptions are the options of lens fit.
type fitOptions struct {
	Wavelength float64 `opt:"wavelength" is:"wavelength of the beam in <NM>"`
	Wider      string  `opt:"mark-wider" is:"how much wider than the beam the widths are, in <UM>; fit: to be found"`
	recordOptions
}

func (o *fitOptions) run(s *session, args []string) error {
	name := args[0]
	if !s.given("wavelength") {
		return usagef("give the wavelength in nm, as in --wavelength 10600", "no wavelength given")
	}
	if err := checkFields(record.Lens{WavelengthNM: &o.Wavelength}); err != nil {
		return err
	}
	opt := optics.FitOptions{WavelengthNM: o.Wavelength, FitWider: o.Wider == "fit"}
	if !opt.FitWider {
		um, err := strconv.ParseFloat(o.Wider, 64)
		if err != nil || math.IsNaN(um) || math.IsInf(um, 0) {
			return usagef("", "--mark-wider %s: wants µm, as in --mark-wider 40, or the word fit", o.Wider)
		}
		opt.WiderMM = um / 1000
	}
	return o.make(s, name, func(d *measured.Draft) error {
		widths, err := job.Read(s.open, name, measured.ReadWidths)
		if err != nil {
			return err
		}
		return d.Widths(name, widths, opt)
	})
}

// rungsOptions are the options of lens rungs.
type rungsOptions struct {
	Sharp    string  `opt:"sharp" is:"the outermost sharp rungs in <MM>, nearer and further: --sharp=-1.5,1.5"`
	Detail   float64 `opt:"detail" is:"the smallest detail that was legible on them, in <MM>"`
	Step     float64 `opt:"step" is:"step of the ladder in <MM>"`
	TestedOn string  `opt:"tested-on" is:"the stock it was marked on, <TEXT>"`
	Power    float64 `opt:"power" is:"power it was marked with in <PCT> of the greatest; of a sheet with several, the one that counts"`
	Feed     float64 `opt:"feed" is:"feed it was marked with in <MM/MIN>"`
	Recentre bool    `opt:"recentre" is:"count the depth from the middle of the sharp rungs"`
	recordOptions
}

// operand wants a sheet where --sharp is not given.
func (o *rungsOptions) operand(c *cobra.Command, args []string) error {
	if (o.Sharp == "") == (len(args) == 0) {
		return usagef(seeHelp(c), "give either --sharp=-1.5,1.5 or a ladder's sheet")
	}
	if o.Sharp != "" {
		return nil
	}
	return operand("sheet")(c, args)
}

func (o *rungsOptions) run(s *session, args []string) error {
	name := ""
	if o.Sharp == "" {
		name = args[0]
	}
	return o.make(s, name, func(d *measured.Draft) error {
		d.Forget()
		sharp, err := o.sharp(s, d, name)
		if err != nil {
			return err
		}
		// Options win over what a sheet says of the ladder.
		if err := o.tested(s, d.Lens); err != nil {
			return err
		}
		if o.Step > 0 {
			sharp.ErrorMM = o.Step / 2
		}
		d.Rungs(sharp, o.Recentre)
		return nil
	})
}

// sharp are the limits, given or of the sheet called name.
func (o *rungsOptions) sharp(s *session, d *measured.Draft, name string) (*measured.Sharp, error) {
	if o.Sharp != "" {
		return o.limits()
	}
	sheet, err := job.Read(s.open, name, measured.ReadVerdicts)
	if err != nil {
		return nil, err
	}
	return d.Verdicts(name, sheet, o.Power)
}

// tested puts what the options say of the test into the record.
func (o *rungsOptions) tested(s *session, l *record.Lens) error {
	given := func(name string, v *float64) *float64 {
		if s.given(name) {
			return v
		}
		return nil
	}
	detail, power, feed := given("detail", &o.Detail), given("power", &o.Power), given("feed", &o.Feed)
	err := checkFields(record.Lens{SmallestDetailMM: detail, StandoffMM: given("step", &o.Step),
		TestedPowerPct: power, TestedFeedMMMin: feed, TestedOn: o.TestedOn})
	l.SmallestDetailMM = cmp.Or(detail, l.SmallestDetailMM)
	l.TestedPowerPct = cmp.Or(power, l.TestedPowerPct)
	l.TestedFeedMMMin = cmp.Or(feed, l.TestedFeedMMMin)
	l.TestedOn = cmp.Or(o.TestedOn, l.TestedOn)
	return err
}

// limits reads --sharp.
func (o *rungsOptions) limits() (*measured.Sharp, error) {
	const hint = "nearer, then further, as in --sharp=-1.5,1.5"
	v, err := numbers(o.Sharp)
	switch {
	case err != nil:
		return nil, usagef(hint, "--sharp %s: %v", o.Sharp, err)
	case len(v) != 2:
		return nil, usagef(hint, "--sharp %s: wants two limits in mm", o.Sharp)
	case v[0] > v[1]:
		return nil, usagef(hint, "--sharp %s: the limits are the wrong way round", o.Sharp)
	}
	return measured.Limits(v[0], v[1], o.Step)
}
