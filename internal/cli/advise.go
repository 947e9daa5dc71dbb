package cli

import (
	"github.com/spf13/pflag"

	"sagitta/internal/advise"
	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/report"
)

type adviseOptions struct {
	options
	burnsOptions
	detailOptions
	plotOptions
}

func (o *adviseOptions) run(s *session, args []string) error {
	name := args[0]
	detail, what, err := o.smallest(s)
	if err != nil {
		return err
	}
	if err := o.plotOptions.check(false); err != nil {
		return err
	}
	r, err := s.prepare(&o.options, job.AnyLens, name)
	if err != nil {
		return err
	}
	if err := o.take(r, name); err != nil {
		return err
	}
	opt, err := r.job.Advise(name, advise.Detail{MM: detail, From: what})
	if err != nil {
		return err
	}
	if err := r.read(s.files.OpenTwice, name, "-", o.Plot); err != nil {
		return err
	}
	a, err := advise.Run(r.program, opt)
	advice := &say.Advice{Advice: a, With: r.job, Program: name, Given: again(s.flags), Screen: s.out}
	s.advice = advice
	var answer []files.Made
	if err == nil {
		if answer, err = s.files.Make(files.Result{Text: []byte(advice.Report())}); err != nil {
			return err
		}
		if err := o.draw(r, advice); err != nil {
			return err
		}
	}
	if err := r.finish("advise", name, err, func(g *say.Figures) { g.Advise(advice) }, answer...); err != nil {
		return err
	}
	s.say.Advise(advice)
	s.say.Made("picture", o.Plot)
	if a.Verdict == advise.None {
		return errNotHeld
	}
	return nil
}

// draw draws the program as it would run flat, with the lens of the answer and its best
// focus, under the answer.
func (o *adviseOptions) draw(r *run, a *say.Advice) error {
	if o.Plot == "" {
		return nil
	}
	lens := a.Drawn()
	if lens < 0 {
		return usagef("leave --plot out", "--plot draws a job with a lens, and none has a depth that could be used")
	}
	focus := a.Answers[lens].Flat.Focus
	_, t, err := r.flat(a.Program, lens, &focus)
	if err != nil {
		return err
	}
	c := say.Check{Job: r.job, Name: a.Program}
	j := c.Picture(t)
	if j.Verdict = a.Title(); a.Verdict == advise.Flat {
		j.Focus = &[2]float64{a.Point.X, a.Point.Y}
	}
	return r.draw(o.Plot, report.ByDefocus, j)
}

// again are the options given that mean the same to other commands.
func again(flags *pflag.FlagSet) (args []string) {
	flags.Visit(func(f *pflag.Flag) {
		switch f.Name {
		case "surface", "lens", "depth", "summary", "plot", "detail", "text", "font", "defocus":
		case "keep-ramps":
			args = append(args, "--keep-ramps")
		case "machine":
			args = append(args, say.Args("-m", f.Value.String())...)
		default:
			args = append(args, say.Args("--"+f.Name, f.Value.String())...)
		}
	})
	return args
}
