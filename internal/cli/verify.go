package cli

import (
	"io"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
	"sagitta/internal/cli/say"
	"sagitta/internal/job"
	"sagitta/internal/verify"
)

type verifyOptions struct {
	options
	against   string
	rehearsal bool
}

func (s *session) verifyCommand() *cobra.Command {
	var o verifyOptions
	c := &cobra.Command{
		Use:   "verify PROGRAM|DIR -s SURFACE (-l LENS | --depth D) [--against ORIGINAL]",
		Short: "prove that every burn of a program is in focus",
		Long: `verify reads any program and proves, by code of its own, that every burn stays
within the lens's depth over the surface and that every travel is clear. With
--against it also proves that the program does what its original does: the same
path over XY, the same power, dwells and beam, speeds as allowed. Without it
the programmed Z counts as the correction itself.

A folder that split has made is proved as a whole against the original: nothing
is lost or burned twice, and each zone is in focus at its own setting.

Exit status 0 when it holds, 1 when it does not.`,
		Example: `    sagitta verify plate-followed.gcode -s sheet.csv --depth 1.5 --against plate.gcode

  Would the job run flat as it is?

    sagitta verify plate.gcode -s sheet.csv --depth 1.5

  A folder of zones:

    sagitta verify plate-zones -s sheet.csv -l short.toml --against plate.gcode`,
		Args: operand("program"),
		RunE: func(_ *cobra.Command, args []string) error {
			if files.IsFolder(args[0]) {
				return s.verifySet(&o, args[0])
			}
			return s.verify(&o, args[0])
		},
	}
	f := c.Flags()
	o.bind(f)
	f.StringVar(&o.against, "against", "", "the program that it was made from, a `FILE`")
	f.BoolVar(&o.rehearsal, "rehearsal", false, "the program is a rehearsal: the beam is to be off throughout")
	return c
}

func (s *session) verify(o *verifyOptions, name string) error {
	j, err := s.prepare(&o.options, job.OneLens, name, o.against)
	if err != nil {
		return err
	}
	var original io.Reader
	if o.against != "" {
		against, err := s.files.Open(o.against)
		if err != nil {
			return err
		}
		defer against.Close()
		original = against
	}
	in, err := s.program(s.files.Open, name, &o.options)
	if err != nil {
		return err
	}
	defer in.Close()
	opt := j.Verify()
	opt.Rehearsal = o.rehearsal
	res, err := verify.Run(in, name, original, o.against, opt)
	if err != nil {
		return err
	}
	if err := s.summarize(&o.options, "verify", j, name, in.Sum(), func(g *say.Figures) { g.Verify(j, res) }); err != nil {
		return err
	}
	s.files.ClearProgress()
	s.say.Verify(j, name, res)
	if !res.Holds() {
		return notHeld{}
	}
	return nil
}

// verifySet proves a folder of zones against its original.
func (s *session) verifySet(o *verifyOptions, dir string) error {
	if o.against == "" {
		return usagef("give the program that it was made from with --against", "%s is a folder: a set of zones is proved against its original", dir)
	}
	j, err := s.prepare(&o.options, job.AllLenses, o.against)
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
	original, err := s.program(s.files.Open, o.against, &o.options)
	if err != nil {
		return err
	}
	defer original.Close()
	res, err := j.VerifySet(s.open, zones, dir, original, o.against)
	if err != nil {
		return err
	}
	if err := s.summarize(&o.options, "verify", j, dir, "", func(g *say.Figures) { g.Set(j, zones, res) }); err != nil {
		return err
	}
	s.files.ClearProgress()
	s.say.Set(j, dir, res)
	if !res.Holds() {
		return notHeld{}
	}
	return nil
}
