package cli

import (
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/optics/measured"
	"sagitta/internal/phrase"
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
func (o *rungsOptions) tested(l *job.Lens, c *cobra.Command) error {
	for _, x := range []struct {
		name  string
		v     *float64
		to    **float64
		check job.Lens
	}{
		{"detail", &o.detail, &l.SmallestDetailMM, job.Lens{SmallestDetailMM: &o.detail}},
		{"step", &o.step, nil, job.Lens{StandoffMM: &o.step}}, // any length above zero
		{"power", &o.power, &l.TestedPowerPct, job.Lens{TestedPowerPct: &o.power}},
		{"feed", &o.feed, &l.TestedFeedMMMin, job.Lens{TestedFeedMMMin: &o.feed}},
	} {
		if !c.Flags().Changed(x.name) {
			continue
		}
		if err := option(x.name, x.check); err != nil {
			return err
		}
		if x.to != nil {
			*x.to = x.v
		}
	}
	if o.testedOn != "" {
		l.TestedOn = o.testedOn
	}
	return option("tested-on", job.Lens{TestedOn: o.testedOn})
}

func (s *session) lensRungs(o *rungsOptions, name string, c *cobra.Command) error {
	l, err := s.begin(&o.recordOptions, name)
	if err != nil {
		return err
	}
	// What was known of an earlier test says nothing of this one.
	l.DepthMM, l.TestedOn, l.TestedPowerPct, l.TestedFeedMMMin, l.DepthErrorMM, l.FocusShiftMM, l.SmallestDetailMM = nil, "", nil, nil, nil, nil, nil
	f := &say.Finding{}
	var sharp *measured.Sharp
	if o.sharp != "" {
		if err := o.tested(l, c); err != nil {
			return err
		}
		sharp, err = o.limits()
	} else {
		sharp, err = s.verdicts(l, f, o, name, c)
	}
	if err != nil {
		return err
	}
	o.depth(l, f, sharp)
	return s.writeRecord(&o.recordOptions, l, f)
}

// limits reads --sharp.
func (o *rungsOptions) limits() (*measured.Sharp, error) {
	const hint = "nearer, then further, as in --sharp=-1.5,1.5"
	parts := strings.Split(o.sharp, ",")
	if len(parts) != 2 {
		return nil, usagef(hint, "--sharp %s: wants two limits in mm", o.sharp)
	}
	var v [2]float64
	for i, p := range parts {
		var err error
		p = strings.TrimSpace(p)
		if v[i], err = strconv.ParseFloat(p, 64); err != nil || strings.Trim(p, "+-.0123456789") != "" {
			return nil, usagef(hint, "--sharp %s: %q is not a number", o.sharp, p)
		}
	}
	if v[0] > v[1] {
		return nil, usagef(hint, "--sharp %s: the limits are the wrong way round", o.sharp)
	}
	return measured.Limits(v[0], v[1], o.step)
}

// verdicts reads a sheet; options win over what it says of the ladder.
func (s *session) verdicts(l *job.Lens, f *say.Finding, o *rungsOptions, name string, c *cobra.Command) (*measured.Sharp, error) {
	sheet, err := files.Read(s.files, name, measured.ReadVerdicts)
	if err != nil {
		return nil, err
	}
	l.TestedOn, l.TestedFeedMMMin, l.SmallestDetailMM = sheet.Material, sheet.FeedMMMin, sheet.DetailMM
	sharp, err := sheet.Sharp()
	if err != nil {
		return nil, prefixed(name, err)
	}
	l.TestedPowerPct = sharp.PowerPct
	if err := o.tested(l, c); err != nil {
		return nil, err
	}
	if c.Flags().Changed("step") {
		sharp.ErrorMM = o.step / 2
	}
	f.Note("%s: %s", name, phrase.Count(len(sheet.Rungs), "rung"))
	for _, n := range sharp.Notes {
		f.Note("%s", n)
	}
	return sharp, nil
}

// depth turns the sharp range into the record's depth, and says what it is. It
// counts from the middle where that was asked for, and where the bench's zero
// is not within.
func (o *rungsOptions) depth(l *job.Lens, f *say.Finding, r *measured.Sharp) {
	l.FocusShiftMM = rounded(r.ShiftMM())
	centred := o.recentre || !(r.LoMM < 0 && r.HiMM > 0)
	l.DepthMM = &[2]float64{r.LoMM, r.HiMM}
	if centred {
		half := *rounded((r.HiMM - r.LoMM) / 2)
		l.DepthMM = &[2]float64{-half, half}
	}
	if r.ErrorMM > 0 {
		l.DepthErrorMM = rounded(r.ErrorMM)
	}
	f.Rungs(l, r, centred, o.recentre)
}
