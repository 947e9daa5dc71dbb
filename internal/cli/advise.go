package cli

import (
	"github.com/spf13/pflag"

	"sagitta/internal/advise"
	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
)

type adviseOptions struct {
	options
	detailOptions
}

func (o *adviseOptions) run(s *session, args []string) error {
	name := args[0]
	detail, what, err := o.smallest(s)
	if err != nil {
		return err
	}
	r, err := s.prepare(&o.options, job.AnyLens, name)
	if err != nil {
		return err
	}
	opt, err := r.job.Advise(name, advise.Detail{MM: detail, From: what})
	if err != nil {
		return err
	}
	if err := r.read(s.files.OpenTwice, name, "-"); err != nil {
		return err
	}
	a, err := advise.Run(r.program, opt)
	advice := &say.Advice{Advice: a, With: r.job, Program: name, Given: again(s.flags), Screen: s.out}
	var report []files.Made
	if err == nil {
		if report, err = s.files.Make(files.Result{Text: []byte(advice.Report())}); err != nil {
			return err
		}
	}
	if err := r.finish("advise", name, err, func(g *say.Figures) { g.Advise(advice) }, report...); err != nil {
		return err
	}
	s.say.Advise(advice)
	if a.Verdict == advise.None {
		return errNotHeld
	}
	return nil
}

// again are the options given that mean the same to other commands, as they
// are typed.
func again(flags *pflag.FlagSet) string {
	text := ""
	flags.Visit(func(f *pflag.Flag) {
		switch f.Name {
		case "surface", "lens", "depth", "summary", "detail", "text", "font", "defocus":
		case "keep-ramps":
			text += " --keep-ramps"
		case "machine":
			text += " " + say.Option("-m", f.Value.String())
		default:
			text += " " + say.Option("--"+f.Name, f.Value.String())
		}
	})
	return text
}
