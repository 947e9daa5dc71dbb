package cli

import (
	"errors"
	"runtime/debug"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/say"
	"sagitta/internal/follow"
	"sagitta/internal/job"
)

type followOptions struct {
	options
	rehearsal bool
	out       string
}

func (s *session) followCommand() *cobra.Command {
	var o followOptions
	c := &cobra.Command{
		Use:   "follow PROGRAM -s SURFACE (-l LENS | --depth D)",
		Short: "write the program that follows the surface",
		Long: `follow writes the program that keeps every burn within the lens's depth of
focus over the measured surface. Blocks that need no other Z pass on byte for
byte. It is refused, with the lines that ask too much, where no such program
exists.`,
		Example: `  A bowed sheet, measured as sheet.csv, and a lens good for 1.5 mm either side:

    sagitta follow plate.gcode -s sheet.csv --depth 1.5 -o plate-followed.gcode
    sagitta verify plate-followed.gcode -s sheet.csv --depth 1.5 --against plate.gcode

  A Z axis that makes 300 mm/min, and a rehearsal with the beam off:

    sagitta follow plate.gcode -s sheet.csv -l short.toml --z-rate 300 --rehearsal -o try.gcode`,
		Args: operand("program"),
		RunE: func(_ *cobra.Command, args []string) error { return s.follow(&o, args[0]) },
	}
	f := c.Flags()
	o.bind(f)
	f.BoolVar(&o.rehearsal, "rehearsal", false, "write the same motion with the beam off")
	f.StringVarP(&o.out, "output", "o", "", "write the program to `FILE` (default: standard output)")
	return c
}

// followGCPercent is by how much the heap of a run may grow before it is
// collected: a run allocates next to nothing once it is under way, and what
// little there is need not wait until the heap has doubled.
const followGCPercent = 25

func (s *session) follow(o *followOptions, name string) error {
	j, err := s.prepare(&o.options, job.OneLens, name)
	if err != nil {
		return err
	}
	in, err := s.program(s.files.Open, name, &o.options, o.out)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := s.files.Create(o.out)
	if err != nil {
		return err
	}
	if o.summary != "" {
		out.KeepDigest()
	}
	opt := j.Follow(name)
	opt.Rehearsal = o.rehearsal
	defer debug.SetGCPercent(debug.SetGCPercent(followGCPercent))
	sum, err := follow.Run(in, out, opt)
	if err := s.files.Err(nil); err != nil {
		return err
	}
	if unmet, _ := errors.AsType[*follow.UnmetError](err); err == nil || unmet != nil {
		if err := s.summarize(&o.options, "follow", j, name, in.Sum(), func(g *say.Figures) { g.Follow(j, sum, unmet, out.Sum()) }); err != nil {
			return err
		}
	}
	if err != nil {
		return err
	}
	if err := out.Commit(); err != nil {
		return err
	}
	s.files.ClearProgress()
	s.say.Follow(j, sum)
	return nil
}
