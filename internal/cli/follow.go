package cli

import (
	"fmt"
	"runtime/debug"

	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
	"sagitta/internal/follow"
	"sagitta/internal/job"
)

func (s *session) followCommand() *cobra.Command {
	var o settings
	var rehearsal bool
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
		Args: operands("program"),
		RunE: func(_ *cobra.Command, args []string) error {
			return s.follow(&o, args[0], rehearsal)
		},
	}
	o.bind(c.Flags())
	c.Flags().BoolVar(&rehearsal, "rehearsal", false, "write the same motion with the beam off")
	c.Flags().StringVarP(&o.out, "output", "o", "", "write the program to `FILE` (default: standard output)")
	return c
}

func (s *session) follow(o *settings, name string, rehearsal bool) error {
	l, err := s.load(o, name)
	if err != nil {
		return err
	}
	in, err := s.files.Open(name)
	if err != nil {
		return err
	}
	defer in.Close()
	if err := s.files.CheckOutputs(o.out, o.summary); err != nil {
		return err
	}
	out, err := s.files.Create(o.out)
	if err != nil {
		return err
	}
	opt := l.followOptions(in.Name)
	opt.Rehearsal = rehearsal
	sum, err := s.runFollow(l, in, out, opt)
	if err != nil {
		return err
	}
	if err := out.Commit(); err != nil {
		return err
	}
	s.files.ClearProgress()
	tellFollow(s.stderr, l, sum)
	return nil
}

// followGCPercent is by how much the heap of a run may grow before it is
// collected.
const followGCPercent = 25

// runFollow runs one program through, and writes the figures where wanted.
func (s *session) runFollow(l *loaded, in *files.Input, out *files.Output, opt follow.Options) (*follow.Summary, error) {
	// A run allocates next to nothing once it is under way: what little
	// there is need not wait until the heap has doubled.
	defer debug.SetGCPercent(debug.SetGCPercent(followGCPercent))
	if l.o.summary != "" {
		in.KeepDigest()
		out.KeepDigest()
	}
	sum, err := follow.Run(in, out, opt)
	if err := s.files.Err(nil); err != nil {
		return sum, err
	}
	if werr := s.writeFollowFigures(l, in.Name, opt, sum, err, in, out); werr != nil && err == nil {
		return sum, werr
	}
	return sum, err
}

// followOptions turns settings into those of the follower.
func (l *loaded) followOptions(name string) follow.Options {
	m := l.machine
	opt := follow.Options{
		Name: name, Machine: l.config, Surface: l.placed, Depth: l.writing,
		Use: l.o.use, Defocus: l.o.defocus, OutsideHold: l.o.outside == "hold",
		Slow: l.slow, Slowest: l.o.slowest, KeepRamps: l.o.keepRamps,
		ZPlusAway: m.ZPlus == job.Away, ZMin: m.ZMinMM, ZMax: m.ZMaxMM,
		DecimalsMM: int8(m.DecimalsMM()), DecimalsInch: int8(m.DecimalsInch()),
		Head: l.head, Comments: m.Comments, Marker: l.marker("follow"),
	}
	switch m.ZMoves {
	case job.ZBeamOff:
		opt.ZMoves = follow.BeamOff
	case job.ZByHand:
		opt.ZMoves = follow.ByHand
	}
	if m.ZRateMMMin != nil {
		opt.ZRate = *m.ZRateMMMin / 60
	}
	if m.ZResolutionMM != nil {
		opt.ZResolution = *m.ZResolutionMM
	}
	opt.Numbered = m.Numbered
	if m.LineMax != nil {
		opt.LineMax = *m.LineMax
	}
	if m.FeedMaxMMMin != nil {
		opt.FeedMax = *m.FeedMaxMMMin
	}
	return opt
}

// marker is the text of the comment by which a program is known again.
func (l *loaded) marker(verb string) string {
	o := l.o
	text := fmt.Sprintf("%s %s %s --use %g --depth=-%.4g,%.4g", follow.MarkerName, Version, verb, o.use, l.budget.Lens.Near, l.budget.Lens.Far)
	if o.defocus != 0 {
		text += fmt.Sprintf(" --defocus %g", o.defocus)
	}
	if o.datum != "" {
		text += " --datum " + o.datum
	}
	if o.shift != "" {
		text += " --shift " + o.shift
	}
	if o.rotate != 0 {
		text += fmt.Sprintf(" --rotate %g", o.rotate)
	}
	text += " --method " + l.method()
	if l.machine.ZRateMMMin != nil {
		text += fmt.Sprintf(" --z-rate %g", *l.machine.ZRateMMMin)
	}
	return text + " surface sha256:" + l.placed.Surface().Digest()
}
