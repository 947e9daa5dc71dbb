package cli

import (
	"strconv"
	"strings"

	"github.com/spf13/cobra"

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
				return usagef("see: "+c.CommandPath()+" --help", "give either --sharp=-1.5,1.5 or a ladder's sheet")
			}
			if o.sharp != "" {
				return nil
			}
			return operands("sheet")(c, args)
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
	f := &finding{}
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
func (s *session) verdicts(l *job.Lens, f *finding, o *rungsOptions, name string, c *cobra.Command) (*measured.Sharp, error) {
	in, err := s.files.Open(name)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	sheet, err := measured.ReadVerdicts(in, in.Name)
	if err != nil {
		return nil, err
	}
	l.TestedOn, l.TestedFeedMMMin, l.SmallestDetailMM = sheet.Material, sheet.FeedMMMin, sheet.DetailMM
	sharp, err := sheet.Sharp()
	if err != nil {
		return nil, prefixed(in.Name, err)
	}
	l.TestedPowerPct = sharp.PowerPct
	if err := o.tested(l, c); err != nil {
		return nil, err
	}
	if c.Flags().Changed("step") {
		sharp.ErrorMM = o.step / 2
	}
	f.say("%s: %s", in.Name, phrase.Count(len(sheet.Rungs), "rung"))
	for _, n := range sharp.Notes {
		f.say("%s", n)
	}
	return sharp, nil
}

// depth turns the sharp range into the record's depth, and says what it is.
func (o *rungsOptions) depth(l *job.Lens, f *finding, r *measured.Sharp) {
	shift := r.ShiftMM()
	half := (r.HiMM - r.LoMM) / 2
	l.FocusShiftMM = rounded(shift)
	outside := !(r.LoMM < 0 && r.HiMM > 0)
	if outside || o.recentre {
		l.DepthMM = &[2]float64{-*rounded(half), *rounded(half)}
	} else {
		l.DepthMM = &[2]float64{r.LoMM, r.HiMM}
	}
	sure := "; how sure that is the ladder's step tells, half of it at best: give it with --step"
	if r.ErrorMM > 0 {
		l.DepthErrorMM = rounded(r.ErrorMM)
		sure = "; a limit is sure to half a step at best, " + signed(r.ErrorMM)[1:] + " mm"
	}
	f.say("sharp from %s to %s mm%s", signed(r.LoMM), signed(r.HiMM), sure)
	for _, end := range []struct {
		open bool
		mm   float64
	}{{r.OpenLo, r.LoMM}, {r.OpenHi, r.HiMM}} {
		if end.open {
			f.say("no rung beyond %s mm was judged not sharp: the depth is at least that; a ladder with more reach tells the rest", signed(end.mm))
		}
	}
	which := signed(shift)[min(1, len(signed(shift))-1):] + " mm further from the lens"
	if shift < 0 {
		which = signed(-shift)[1:] + " mm nearer the lens"
	}
	switch {
	case signed(shift) == "0":
		f.say("best focus is at the bench's zero: depth_mm = %s", tomlDepth(l))
	case outside || o.recentre:
		if outside && !o.recentre {
			f.say("warning: the bench's zero is not between the sharp rungs, so no depth can count from it")
		}
		f.say("depth_mm = %s counts from best focus, %s than the bench's zero: set the bench's focus there before this record is used", tomlDepth(l), which)
	default:
		f.say("depth_mm = %s counts from the bench's zero; best focus, the middle, is %s: set there, with --recentre, both sides are %s mm", tomlDepth(l), which, signed(half)[1:])
		if r.ErrorMM > 0 && shift <= r.ErrorMM && -shift <= r.ErrorMM {
			f.say("that shift is within half a step: it may be none")
		}
	}
	if l.TestedPowerPct != nil {
		f.say("marked with %g %% power (tested_power_pct)", *l.TestedPowerPct)
	}
}

func tomlDepth(l *job.Lens) string {
	return "[" + signed(l.DepthMM[0]) + ", " + strings.TrimPrefix(signed(l.DepthMM[1]), "+") + "]"
}
