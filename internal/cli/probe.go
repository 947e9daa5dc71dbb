package cli

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/phrase"
	"sagitta/internal/probe"
	"sagitta/internal/record"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
	"sagitta/internal/touch"
)

type probeOptions struct {
	machine, lens, depth string
	keepOut              string
	bow, clear, margin   float64
	coarse               string
	byHand               bool
	datum, start         *[2]float64
	out                  string
	flags                *pflag.FlagSet
}

// assumedDepthMM is what a short lens is good for on either side (common
// practice, no source).
const assumedDepthMM = 1.5

func (s *session) probeCommand() *cobra.Command {
	var o probeOptions
	c := &cobra.Command{
		Use:   "probe PROGRAM [--by-hand] [--bow MM] [--clear MM] [-m M] [-o FILE]",
		Short: "plan where to touch the stock, as a program or a sheet to fill in",
		Long: `probe writes a touch-probing program over just the area that a job burns, with
as few places as the depth allows: how many follows from the depth and from how
far the stock is expected to bow. With --by-hand it writes a sheet to fill in and
a numbered map instead. What comes back goes into sagitta surface.

The beam is put off first. The tool touches stock: stay at the stop while it
runs, and try it high above the stock before.`,
		Example: `    sagitta probe plate.gcode --bow 2 -m bench.toml -o touch.gcode
    sagitta surface touches.log -o sheet.csv

  By dial gauge, or focus gauge: a sheet sheet.csv and a map sheet.svg, which
  prints at scale:

    sagitta probe plate.gcode --bow 2 --by-hand -o sheet.csv`,
		Args: operand("program"),
		RunE: func(_ *cobra.Command, args []string) error { return s.probe(&o, args[0]) },
	}
	f := c.Flags()
	o.flags = f
	f.SortFlags = false
	f.Float64Var(&o.bow, "bow", 0, "how far the stock is expected to bow over the area, in `MM` (default: a hundredth of its length)")
	f.StringVarP(&o.coarse, "surface", "s", "", "a first coarse probing, whose error tells instead of --bow, a `FILE`")
	bindDepth(f, &o.depth)
	f.StringVarP(&o.lens, "lens", "l", "", "lens record, a TOML `FILE`")
	bindMachine(f, &o.machine)
	f.Float64Var(&o.clear, "clear", 5, "height over the datum between touches, in `MM`")
	bindKeepOut(f, &o.keepOut)
	f.Float64Var(&o.margin, "margin", 2, "`MM` around the burns that the surface is to cover")
	f.Var(&point{&o.datum}, "datum", "touch first, and last, the place nearest to `X,Y`")
	f.Var(&point{&o.start}, "start", "where the head stands at the program's first block, `X,Y`")
	f.BoolVar(&o.byHand, "by-hand", false, "write a sheet to fill in, and a numbered map beside it")
	f.StringVarP(&o.out, "output", "o", "", "write to `FILE` (default: standard output)")
	return c
}

func (o *probeOptions) check() error {
	for name, v := range map[string]float64{"clear": o.clear, "margin": o.margin, "bow": o.bow} {
		if o.flags.Changed(name) && !(v > 0 && v <= 1000) {
			return usagef("", "--%s %g: wants a length above 0 in mm", name, v)
		}
	}
	switch {
	case !o.byHand && o.bow >= o.clear:
		return usagef("give --clear a height over the datum that the stock does not reach",
			"a bow of %g mm stands as high as the travels between touches, %g mm over the datum", o.bow, o.clear)
	case o.byHand && o.keepOut != "":
		return usagef("", "--keep-out is for a program that touches, and --by-hand writes none")
	case o.lens != "" && o.depth != "":
		return usagef("", "give one of --lens and --depth")
	case o.drawing() == o.out && o.out != "" && o.byHand:
		return usagef("give the sheet a name that ends in .csv", "%s is the name of the map", o.out)
	}
	return nil
}

// drawing is where the map of a sheet goes, "" for nowhere.
func (o *probeOptions) drawing() string {
	if !o.byHand || o.out == "" || o.out == "-" {
		return ""
	}
	return strings.TrimSuffix(o.out, filepath.Ext(o.out)) + ".svg"
}

func (s *session) probe(o *probeOptions, name string) error {
	if err := o.check(); err != nil {
		return err
	}
	if err := files.OneStream(name, o.machine, o.lens, o.coarse, o.keepOut); err != nil {
		return err
	}
	m, err := s.bench(o.machine)
	if err != nil {
		return err
	}
	if m.ZMoves == record.ZByHand && !o.byHand {
		return usagef("give --by-hand for a sheet to fill in", "%s: z_moves is by-hand: no program can touch", o.machine)
	}
	lens, err := s.probeLens(o)
	if err != nil {
		return err
	}
	depth := math.Min(lens.Depth.Near, lens.Depth.Far)
	head, err := s.probeHead(o, m, lens.Record)
	if err != nil {
		return err
	}
	area, err := s.probeArea(o, m, name)
	if err != nil {
		return err
	}
	step, err := s.probeStep(o, area, depth)
	if err != nil {
		return err
	}
	if err := s.files.CheckOutputs(o.out, o.drawing()); err != nil {
		return err
	}
	var datum *orb.Point
	if o.datum != nil {
		datum = (*orb.Point)(o.datum)
	}
	plan, err := probe.New(area, step.MM, o.margin, datum)
	if err != nil {
		return err
	}
	var text []byte
	var results []files.Result
	seconds := 0.0
	if o.byHand {
		text = plan.Sheet()
		if at := o.drawing(); at != "" {
			title := fmt.Sprintf("%s: %s to measure", filepath.Base(name), phrase.Count(len(plan.Places), "place"))
			results = append(results, files.Result{Name: at, Text: plan.Map(title)})
		}
	} else {
		if err := plan.Clear(m, o.clear, head.Boxes, head.Known); err != nil {
			return err
		}
		seconds = plan.Seconds(m, o.clear)
		if text, err = plan.Program(m, o.clear, fmt.Sprintf("%s probe of %s", maker, filepath.Base(name))); err != nil {
			return err
		}
	}
	if err := s.files.Write(append(results, files.Result{Name: o.out, Text: text})...); err != nil {
		return err
	}
	s.files.ClearProgress()
	s.say.Probe(plan, step, depth, cmp.Or(lens.File, lens.Depth.From), m, o.machine != "", &head, seconds)
	return nil
}

// probeLens is the lens, or what --depth says in its place; without either one
// of a short lens's depth.
func (s *session) probeLens(o *probeOptions) (job.Lens, error) {
	if o.lens == "" && o.depth == "" {
		d := focus.Depth{Near: assumedDepthMM, Far: assumedDepthMM}
		return job.Lens{Depth: record.LensDepth{Depth: d, From: "assumed, as of a short lens"}}, nil
	}
	l, err := job.ReadLens(s.open, o.lens, o.depth)
	if err == nil {
		err = l.Out
	}
	return l, err
}

// probeHead is what is known of the head, and the boxes it is kept clear of.
func (s *session) probeHead(o *probeOptions, m *record.Machine, lens *record.Lens) (job.Head, error) {
	var boxes []surface.Box
	if o.keepOut != "" {
		var err error
		if boxes, err = files.Read(s.files, o.keepOut, file.ReadKeepOut); err != nil {
			return job.Head{}, err
		}
	}
	return job.HeadWith(m, lens, boxes), nil
}

func (s *session) probeArea(o *probeOptions, m *record.Machine, name string) (*probe.Area, error) {
	area, err := files.Read(s.files, name, func(r io.Reader, name string) (*probe.Area, error) {
		return probe.ReadArea(r, name, m.Config(o.start, 0))
	})
	if err == nil && area.Count == 0 {
		err = diag.NothingBurns[diag.Failure](name)
	}
	return area, err
}

func (s *session) probeStep(o *probeOptions, a *probe.Area, depth float64) (probe.Step, error) {
	if o.coarse == "" {
		return a.BowStep(depth, o.bow, o.margin), nil
	}
	r, err := readTouches(s, o.coarse, touch.Options{})
	if err != nil {
		return probe.Step{}, err
	}
	return probe.CoarseStep(depth, r, o.coarse)
}
