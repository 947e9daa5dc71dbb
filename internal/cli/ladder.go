package cli

import (
	"cmp"
	"path/filepath"
	"strings"

	"sagitta/internal/cli/files"
	"sagitta/internal/job"
	"sagitta/internal/ladder"
	"sagitta/internal/record"
)

type ladderOptions struct {
	Step     float64 `opt:"step" is:"<MM> of offset from rung to rung"`
	Reach    float64 `opt:"reach" is:"greatest offset to either side in <MM>"`
	Focal    float64 `opt:"focal" is:"focal length in <MM>: the usual step and reach for it"`
	Feed     float64 `opt:"feed" is:"feed of the burns in <MM/MIN>"`
	Power    string  `opt:"power" is:"power in <PERCENT> of s_max, or several: 20,30,40"`
	Lens     string  `opt:"lens"`
	Machine  string  `opt:"machine"`
	StartZ   float64 `opt:"start-z" in:"[-10000,10000]" wants:"mm from -10000 to 10000" is:"Z of best focus, <MM>"`
	Out      string  `opt:"output,o" file:"program" is:"write the program to <FILE>, sheet and list beside it (default: the program alone, to standard output)"`
	Sheet    string  `opt:"sheet" file:"svg" is:"write the sheet to <FILE>"`
	Verdicts string  `opt:"verdicts" file:"csv" is:"write the list for the verdicts to <FILE>"`
}

func (o *ladderOptions) run(s *session, _ []string) error {
	if err := files.OneStream(o.Lens, o.Machine); err != nil {
		return err
	}
	m, err := job.ReadMachine(s.open, o.Machine)
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
	if o.Verdicts != "" {
		opt.Verdicts = filepath.Base(o.Verdicts)
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
	err = s.files.Write(files.Result{Name: o.Out, Text: text},
		files.Result{Name: o.Sheet, Text: plan.Sheet()}, files.Result{Name: o.Verdicts, Text: plan.Verdicts()})
	if err != nil {
		return err
	}
	s.say.Ladder(plan, back, m, o.Machine != "", o.StartZ, o.Step, o.Reach)
	s.say.Made("program", o.Out)
	s.say.Made("sheet", o.Sheet)
	s.say.Made("list for the verdicts", o.Verdicts)
	return nil
}

// plan makes the options of the ladder.
func (o *ladderOptions) plan(s *session, m *record.Machine) (ladder.Options, error) {
	opt := ladder.Options{StepMM: o.Step, ReachMM: o.Reach, FeedMMMin: o.Feed,
		Made: maker, Machine: m, StartZMM: o.StartZ, Turn: job.Turn(m)}
	var focal *float64
	if o.Lens != "" {
		lens, err := job.Read(s.open, o.Lens, record.ReadLens)
		if err != nil {
			return opt, err
		}
		opt.LensName, opt.StandoffMM, opt.FocusHeightMM = lens.Name, lens.StandoffMM, lens.FocusHeightMM
		if o.Step == 0 || o.Reach == 0 {
			focal = lens.FocalLengthMM
		}
	}
	if s.given("focal") {
		focal = &o.Focal
	}
	if err := opt.Settle(focal); err != nil {
		return opt, err
	}
	if !s.given("feed") {
		return opt, usagef("give it in mm/min, as in --feed 1500", "no feed given")
	}
	if o.Power != "" {
		var err error
		if opt.PowersPct, err = numbers(strings.ReplaceAll(o.Power, "%", "")); err != nil {
			return opt, usagef("", "--power %s: %v", o.Power, err)
		}
	}
	return opt, nil
}

// names gives sheet and list their places beside the program, where it is a
// file.
func (o *ladderOptions) names() error {
	if !files.IsStream(o.Out) {
		stem := strings.TrimSuffix(o.Out, filepath.Ext(o.Out))
		o.Sheet = cmp.Or(o.Sheet, stem+"-sheet.svg")
		o.Verdicts = cmp.Or(o.Verdicts, stem+"-verdicts.csv")
	}
	if o.Sheet == "-" || o.Verdicts == "-" {
		return usagef("", "standard output (-) is for the program; give --sheet and --verdicts files")
	}
	return files.KeepFilled(o.Verdicts, "--verdicts", ladder.Filled)
}
