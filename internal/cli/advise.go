package cli

import (
	"errors"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/advise"
	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/follow"
	"sagitta/internal/job"
)

type adviseOptions struct {
	options
	detailOptions
}

func (s *session) adviseCommand() *cobra.Command {
	var o adviseOptions
	c := &cobra.Command{
		Use:   "advise PROGRAM -s SURFACE -l LENS [-l LENS ...] [--detail MM | --text PT]",
		Short: "say which way is right: flat, follow or split, and with which lens",
		Long: `advise says which way is right for a job: as it is at one focus (flat), following
the surface (follow), or divided among zones (split); with which lens, how much
of its depth is spent, and why. What would be cheaper comes first. It writes
nothing but the answer.

The smallest detail of the job decides which lenses come into question. Without
--detail or --text it is guessed from the program, and a guess only puts a lens
last.`,
		Example: `  Two lenses, and text of 4 pt on a bowed sheet:

    sagitta advise plate.gcode -s sheet.csv -l short.toml -l long.toml --text 4 -m bench.toml`,
		Args: operand("program"),
		RunE: func(_ *cobra.Command, args []string) error { return s.advise(&o, args[0]) },
	}
	o.options.bind(c.Flags())
	o.detailOptions.bind(c.Flags())
	return c
}

func (s *session) advise(o *adviseOptions, name string) error {
	detail, what, err := o.smallest()
	if err != nil {
		return err
	}
	j, err := s.prepare(&o.options, job.AnyLens, name)
	if err != nil {
		return err
	}
	opt, err := j.Advise(name, advise.Detail{MM: detail, From: what})
	if err != nil {
		return err
	}
	in, err := s.program(s.files.OpenTwice, name, &o.options)
	if err != nil {
		return err
	}
	defer in.Close()
	a, err := advise.Run(in, opt)
	if err := s.files.Err(nil); err != nil {
		return err
	}
	advice := &say.Advice{Advice: a, With: j, Program: name, Given: o.again()}
	if unmet, _ := errors.AsType[*follow.UnmetError](err); err == nil || unmet != nil {
		if err := s.summarize(&o.options, "advise", j, name, in.Sum(), func(g *say.Figures) { g.Advise(advice, unmet) }); err != nil {
			return err
		}
	}
	if err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Text: []byte(advice.Report())}); err != nil {
		return err
	}
	s.files.ClearProgress()
	s.say.Advise(advice)
	if a.Verdict == advise.None {
		return notHeld{}
	}
	return nil
}

// again are the options given that mean the same to other commands, as they
// are typed.
func (o *adviseOptions) again() string {
	text := ""
	o.flags.Visit(func(f *pflag.Flag) {
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
