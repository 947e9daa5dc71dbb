package cli

import (
	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
	"sagitta/internal/optics/measured"
	"sagitta/internal/record"
)

// rungsOptions are the options of lens rungs.
type rungsOptions struct {
	recordOptions
	sharp, testedOn           string
	detail, step, power, feed float64
	recentre                  bool
}

func (s *session) lensRungsCommand() *cobra.Command {
	var o rungsOptions
	c := &cobra.Command{
		Use:   "rungs (--sharp=-1.5,1.5 | VERDICTS.csv) [--detail 0.5] [-o LENS.toml]",
		Short: "a record from the rungs of a ladder that stayed sharp",
		Long: `rungs makes a record from a focus ladder: from the two outermost rungs that were
still sharp, minus being nearer the lens, or from the ladder's sheet with y or n
(or x and blank) in its column sharp. The unbroken run of sharp rungs about best
focus counts. No ladder tells a limit better than to half a step.

The depth counts from the bench's zero, as the ladder was marked, and may be
uneven. Where its middle lies elsewhere that is said. With --recentre the depth
counts from the middle instead, which is right once the bench's focus has been
set there; it is done anyhow where the zero is not between the sharp rungs.`,
		Example: `    sagitta lens rungs --sharp=-1.5,1.5 --step 0.5 --detail 0.5 -o short.toml
    sagitta lens rungs verdicts.csv -o short.toml`,
		Args: func(c *cobra.Command, args []string) error {
			if (o.sharp == "") == (len(args) == 0) {
				return usagef(seeHelp(c), "give either --sharp=-1.5,1.5 or a ladder's sheet")
			}
			if o.sharp != "" {
				return nil
			}
			return operand("sheet")(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			name := ""
			if o.sharp == "" {
				name = args[0]
			}
			return s.lensRungs(&o, name, c)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.sharp, "sharp", "", "the outermost sharp rungs in `MM`, nearer and further: --sharp=-1.5,1.5")
	f.Float64Var(&o.detail, "detail", 0, "the smallest detail that was legible on them, in `MM`")
	f.Float64Var(&o.step, "step", 0, "step of the ladder in `MM`")
	f.StringVar(&o.testedOn, "tested-on", "", "the stock it was marked on, `TEXT`")
	f.Float64Var(&o.power, "power", 0, "power it was marked with in `PCT` of the greatest")
	f.Float64Var(&o.feed, "feed", 0, "feed it was marked with in `MM/MIN`")
	f.BoolVar(&o.recentre, "recentre", false, "count the depth from the middle of the sharp rungs")
	o.bind(f)
	return c
}

// tested puts what the options say of the test into the record.
func (o *rungsOptions) tested(l *record.Lens, c *cobra.Command) error {
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
		if !c.Flags().Changed(x.name) {
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

func (s *session) lensRungs(o *rungsOptions, name string, c *cobra.Command) error {
	d, err := s.begin(&o.recordOptions, name)
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
	if err := o.tested(d.Lens, c); err != nil {
		return err
	}
	if o.step > 0 {
		sharp.ErrorMM = o.step / 2
	}
	d.Rungs(sharp, o.recentre)
	return s.writeRecord(&o.recordOptions, d)
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
