package cli

import (
	"io"

	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/job"
	"sagitta/internal/verify"
)

type verifyOptions struct {
	options
	against   string
	rehearsal bool
}

func (o *verifyOptions) bind(f *pflag.FlagSet) {
	o.options.bind(f)
	f.StringVar(&o.against, "against", "", "the program that it was made from, a `FILE`")
	f.BoolVar(&o.rehearsal, "rehearsal", false, "the program is a rehearsal: the beam is to be off throughout")
}

func (o *verifyOptions) run(s *session, args []string) error {
	if files.IsFolder(args[0]) {
		return o.set(s, args[0])
	}
	return o.program(s, args[0])
}

// program proves a program.
func (o *verifyOptions) program(s *session, name string) error {
	r, err := s.prepare(&o.options, job.OneLens, name, o.against)
	if err != nil {
		return err
	}
	var original io.Reader
	if o.against != "" {
		if original, err = s.files.Open(o.against); err != nil {
			return err
		}
	}
	if err := r.read(s.files.Open, name); err != nil {
		return err
	}
	opt := r.job.Verify()
	opt.Rehearsal = o.rehearsal
	res, err := verify.Run(r.program, name, original, o.against, opt)
	err = r.summarize("verify", name, err, func(g *say.Figures, _ diag.Refusal) { g.Verify(r.job, res) })
	if err != nil {
		return err
	}
	s.say.Verify(r.job, name, res)
	return held(res)
}

// set proves a folder of zones against its original.
func (o *verifyOptions) set(s *session, dir string) error {
	if o.against == "" {
		return usagef("give the program that it was made from with --against", "%s is a folder: a set of zones is proved against its original", dir)
	}
	r, err := s.prepare(&o.options, job.AllLenses, o.against)
	if err != nil {
		return err
	}
	zones, err := job.ReadSet(s.open, dir)
	if err != nil {
		return err
	}
	if zones.Rehearsal {
		return usagef("split without --rehearsal makes the set to prove", "%s is a set of rehearsals: nothing in it burns", dir)
	}
	original, err := s.files.Open(o.against)
	if err != nil {
		return err
	}
	if err := s.files.CheckOutputs(o.summary); err != nil {
		return err
	}
	res, err := r.job.VerifySet(s.open, zones, dir, original, o.against)
	err = r.summarize("verify", dir, err, func(g *say.Figures, _ diag.Refusal) { g.Set(r.job, zones, res) })
	if err != nil {
		return err
	}
	s.say.Set(r.job, dir, res)
	return held(res)
}

// held is nil where a check held.
func held(result interface{ Holds() bool }) error {
	if result.Holds() {
		return nil
	}
	return errNotHeld
}
