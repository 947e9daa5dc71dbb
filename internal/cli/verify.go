package cli

import (
	"io"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/setup"
	"sagitta/internal/verify"
)

type verifyOptions struct {
	options
	Against   string  `opt:"against" file:"program" is:"the program that it was made from, a <FILE>"`
	Rehearsal bool    `opt:"rehearsal" is:"the program is a rehearsal: the beam is to be off throughout"`
	Sheet     string  `opt:"sheet"`
	Focus     float64 `opt:"focus" in:"[-1000,1000]" wants:"mm from -1000 to 1000" is:"where the focus is set, in <MM> over the datum, for a program that runs flat (default: at the datum)"`
}

func (o *verifyOptions) run(s *session, args []string) error {
	files.Restore(args[0])
	if files.IsFolder(args[0]) {
		return o.set(s, args[0])
	}
	return o.program(s, args[0])
}

// program proves a program.
func (o *verifyOptions) program(s *session, name string) error {
	r, err := s.prepare(&o.options, job.OneLens, name, o.Against)
	if err != nil {
		return err
	}
	var original io.Reader
	if o.Against != "" {
		if original, err = s.files.Open(o.Against); err != nil {
			return err
		}
	}
	if err := r.read(s.files.Open, name, o.Sheet); err != nil {
		return err
	}
	opt, with := r.job.Verify(), job.Setup{Job: r.job}
	if s.given("focus") {
		opt = r.job.VerifyAt(o.Focus)
		with.Marks = setup.NewMarks(r.job.Placed)
		opt.Burned = with.Marks.Move
	}
	opt.Rehearsal = o.Rehearsal
	res, err := verify.Run(r.program, name, original, o.Against, opt)
	var set setup.Setting
	var sheet []files.Made
	if err == nil {
		if set = with.Setting(res.First); s.given("focus") {
			by := r.job.LoweredBy(o.Focus)
			if res.Burns == 0 {
				by = 0
			}
			res.Lowest.MM, res.Highest.MM, with.Low = res.Lowest.MM+by, res.Highest.MM+by, res.Lowest.MM+by
			set = with.SettingAt(o.Focus, nil, res.First)
		}
		if res.Holds() {
			sheet, err = r.sheet(o.Sheet, nil, func() []byte { return say.VerifySheet(r.job, name, set, o.Rehearsal, res) })
		}
	}
	err = r.finish("verify", name, err, func(g *say.Figures) { g.Verify(r.job, res) }, sheet...)
	if err != nil {
		return err
	}
	s.say.Verify(r.job, name, res, set)
	if sheet != nil {
		s.say.Made("bench sheet", o.Sheet)
	} else if o.Sheet != "" {
		s.say.Line("no bench sheet is written: it is for what holds")
	}
	return held(res)
}

// set proves a folder of zones against its original, by what it holds and what is
// given over that.
func (o *verifyOptions) set(s *session, dir string) error {
	if o.Sheet != "" {
		return usagef("leave --sheet out, and print the folder's own", "--sheet is for a program, and %s holds a sheet", dir)
	}
	if s.given("focus") {
		return usagef("leave --focus out", "--focus is for a program, and %s holds where the focus is set", dir)
	}
	f, err := job.ReadFolder(s.open, dir)
	if err != nil {
		return err
	}
	if f.Rehearsal {
		return usagef("split without --rehearsal makes the set to prove", "%s is a set of rehearsals: nothing in it burns", dir)
	}
	instead, err := f.Recall(s.open, &o.Options, s.given)
	if err != nil {
		return err
	}
	if o.Against == "" {
		if o.Against, err = f.FindOriginal(s.open); err != nil {
			return err
		}
	}
	r, err := s.ready(f.Open(s.open), &o.options, job.AllLenses, o.Against)
	if err != nil {
		return f.Placed(err)
	}
	original, err := s.files.OpenTwice(o.Against)
	if err != nil {
		return err
	}
	original.KeepDigest()
	if err := s.files.CheckOutputs(o.Summary); err != nil {
		return err
	}
	res, err := r.job.VerifySet(s.open, f, original, o.Against)
	if err == nil && !f.MadeFrom(original.Sum()) {
		res.Whole.Note("%s is not the file that the set was made from", o.Against)
	}
	err = r.finish("verify", dir, err, func(g *say.Figures) { g.Set(r.job, f.Set, res) })
	if err != nil {
		return err
	}
	s.say.Set(r.job, dir, f.Set, res, o.Against, instead)
	return held(res)
}

// held is nil where a check held.
func held(result interface{ Holds() bool }) error {
	if result.Holds() {
		return nil
	}
	return errNotHeld
}
