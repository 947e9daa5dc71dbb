package cli

import (
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/ladder"
	"sagitta/internal/record"
)

type ladderOptions struct {
	step, reach, focal, feed, startZ float64
	power, lens, machine             string
	out, sheet, verdicts             string
	flags                            *pflag.FlagSet
}

func (o *ladderOptions) bind(f *pflag.FlagSet) {
	o.flags = f
	f.Float64Var(&o.step, "step", 0, "`MM` of offset from rung to rung")
	f.Float64Var(&o.reach, "reach", 0, "greatest offset to either side in `MM`")
	f.Float64Var(&o.focal, "focal", 0, "focal length in `MM`: the usual step and reach for it")
	f.Float64Var(&o.feed, "feed", 0, "feed of the burns in `MM/MIN`")
	f.StringVar(&o.power, "power", "", "power in `PERCENT` of s_max, or several: 20,30,40")
	f.StringVarP(&o.lens, "lens", "l", "", "lens record, a TOML `FILE`")
	bindMachine(f, &o.machine)
	f.Float64Var(&o.startZ, "start-z", 0, "Z of best focus, `MM`")
	f.StringVarP(&o.out, "output", "o", "", "write the program to `FILE`, sheet and list beside it (default: the program alone, to standard output)")
	f.StringVar(&o.sheet, "sheet", "", "write the sheet to `FILE`")
	f.StringVar(&o.verdicts, "verdicts", "", "write the list for the verdicts to `FILE`")
}

func (o *ladderOptions) run(s *session, _ []string) error {
	if err := files.OneStream(o.lens, o.machine); err != nil {
		return err
	}
	if math.IsNaN(o.startZ) || math.IsInf(o.startZ, 0) {
		return usagef("", "--start-z %g: wants a finite number", o.startZ)
	}
	m, err := s.machine(o.machine)
	if err != nil {
		return err
	}
	opt, err := o.plan(s, m)
	if err != nil {
		return err
	}
	if err := o.names(); err != nil {
		return err
	}
	if o.verdicts != "" {
		opt.Verdicts = filepath.Base(o.verdicts)
	}
	plan, err := ladder.New(opt)
	if err != nil {
		return err
	}
	text, err := plan.Program()
	if err != nil {
		return err
	}
	back, err := opt.ReadBack(text)
	if err != nil {
		return err
	}
	err = s.files.Write(files.Result{Name: o.out, Text: text},
		files.Result{Name: o.sheet, Text: plan.Sheet()}, files.Result{Name: o.verdicts, Text: plan.Verdicts()})
	if err != nil {
		return err
	}
	s.say.Ladder(plan, back, m, o.machine != "", o.startZ, o.step, o.reach)
	s.say.Made("program", o.out)
	s.say.Made("sheet", o.sheet)
	s.say.Made("list for the verdicts", o.verdicts)
	return nil
}

// plan makes the options of the ladder.
func (o *ladderOptions) plan(s *session, m *record.Machine) (ladder.Options, error) {
	opt := ladder.Options{StepMM: o.step, ReachMM: o.reach, FeedMMMin: o.feed,
		Made: maker, Machine: m, StartZMM: o.startZ}
	var focal *float64
	if o.lens != "" {
		lens, err := files.Read(s.files, o.lens, record.ReadLens)
		if err != nil {
			return opt, err
		}
		opt.LensName, opt.StandoffMM = lens.Name, lens.StandoffMM
		if o.step == 0 || o.reach == 0 {
			focal = lens.FocalLengthMM
		}
	}
	if o.flags.Changed("focal") {
		focal = &o.focal
	}
	if err := opt.Settle(focal); err != nil {
		return opt, err
	}
	if !o.flags.Changed("feed") {
		return opt, usagef("give it in mm/min, as in --feed 1500", "no feed given")
	}
	if o.power != "" {
		var err error
		if opt.PowersPct, err = numbers(strings.ReplaceAll(o.power, "%", "")); err != nil {
			return opt, usagef("", "--power %s: %v", o.power, err)
		}
	}
	return opt, nil
}

// names gives sheet and list their places beside the program, where it is a
// file.
func (o *ladderOptions) names() error {
	if !files.IsStream(o.out) {
		stem := strings.TrimSuffix(o.out, filepath.Ext(o.out))
		if o.sheet == "" {
			o.sheet = stem + "-sheet.svg"
		}
		if o.verdicts == "" {
			o.verdicts = stem + "-verdicts.csv"
		}
	}
	if o.sheet == "-" || o.verdicts == "-" {
		return usagef("", "standard output (-) is for the program; give --sheet and --verdicts files")
	}
	if old, err := os.ReadFile(o.verdicts); err == nil && ladder.Filled(old) {
		return usagef("move it away, or give another name with --verdicts", "%s has been filled in, and is not to be lost", o.verdicts)
	}
	return nil
}
