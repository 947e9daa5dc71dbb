package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"sagitta/internal/cli/files"
	"sagitta/internal/job"
	"sagitta/internal/ladder"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/program"
)

// ladderOptions are those of the ladder command.
type ladderOptions struct {
	step, reach, focal   float64
	feed                 float64
	power                string
	lens, machine        string
	startZ               float64
	out, sheet, verdicts string
	flags                *pflag.FlagSet
}

func (s *session) ladderCommand() *cobra.Command {
	var o ladderOptions
	c := &cobra.Command{
		Use:   "ladder (--step MM --reach MM | --focal MM) --feed F --power P",
		Short: "mark one figure at stepped focus, to see how deep a lens is",
		Long: `ladder writes a program that marks the same small figure at stepped focus, each
labelled with its offset from best focus in mm: minus is nearer the lens, plus
is further from it. The lens starts at its furthest and comes nearer; best focus
stands in the middle and once more at the end, so that drift shows. With several
powers it is a table of power against focus, since too little power looks like
out of focus.

Beside the program come a sheet to print (SVG) and a list for the verdicts
(CSV), from which "sagitta lens rungs" makes a lens record.

Z is absolute: set best focus as well as you can first, and make Z zero there
(or say with --start-z which Z it is). X0 Y0 is the block's lower left corner.

How near the head comes: with standoff_mm in the lens record and gap_min_mm in
the machine profile, rungs that would come nearer are left out, and the run says
so. Without both, the run says how much nearer than at best focus the head
comes, and --reach must be given.`,
		Example: `  A short lens, at 1500 mm/min and 30 percent:

    sagitta ladder --step 0.5 --reach 2.5 --feed 1500 --power 30 -o short.gcode

  makes short.gcode, short-sheet.svg and short-verdicts.csv. The step by focal
  length, three powers, and the head kept clear of the stock:

    sagitta ladder --focal 63.5 --feed 1500 --power 20,30,40 -l long.toml -m bench.toml -o long.gcode`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("see: "+c.CommandPath()+" --help", "%s", "ladder takes no "+args[0])
			}
			return nil
		},
		RunE: func(*cobra.Command, []string) error { return s.ladder(&o) },
	}
	f := c.Flags()
	o.flags = f
	f.SortFlags = false
	f.Float64Var(&o.step, "step", 0, "`MM` of offset from rung to rung")
	f.Float64Var(&o.reach, "reach", 0, "greatest offset to either side in `MM`")
	f.Float64Var(&o.focal, "focal", 0, "focal length in `MM`: the usual step and reach for it")
	f.Float64Var(&o.feed, "feed", 0, "feed of the burns in `MM/MIN`")
	f.StringVar(&o.power, "power", "", "power in `PERCENT` of s_max, or several: 20,30,40")
	f.StringVarP(&o.lens, "lens", "l", "", "lens record, a TOML `FILE`")
	f.StringVarP(&o.machine, "machine", "m", "", "machine profile, a TOML `FILE`")
	f.Float64Var(&o.startZ, "start-z", 0, "Z of best focus, `MM`")
	f.StringVarP(&o.out, "output", "o", "", "write the program to `FILE`, sheet and list beside it (default: the program alone, to standard output)")
	f.StringVar(&o.sheet, "sheet", "", "write the sheet to `FILE`")
	f.StringVar(&o.verdicts, "verdicts", "", "write the list for the verdicts to `FILE`")
	return c
}

func (s *session) ladder(o *ladderOptions) error {
	opt, m, err := s.ladderPlan(o)
	if err != nil {
		return err
	}
	if err := o.names(); err != nil {
		return err
	}
	if o.verdicts != "" {
		opt.Verdicts = filepath.Base(o.verdicts)
	}
	plan, err := ladder.New(opt)
	if err != nil {
		return err
	}
	text, err := plan.Program()
	if err != nil {
		return err
	}
	if err := s.ladderWrite(o, plan, text); err != nil {
		return err
	}
	return tellLadder(s.stderr, o, plan, m, opt.Bench.Machine, text)
}

// ladderPlan turns the command line into the options of a ladder.
func (s *session) ladderPlan(o *ladderOptions) (ladder.Options, *job.Machine, error) {
	opt := ladder.Options{StepMM: o.step, ReachMM: o.reach, FeedMMMin: o.feed, Made: "sagitta " + Version}
	if err := files.OneStream(o.lens, o.machine); err != nil {
		return opt, nil, err
	}
	if math.IsNaN(o.startZ) || math.IsInf(o.startZ, 0) {
		return opt, nil, usagef("", "--start-z %g: wants a finite number", o.startZ)
	}
	m := job.DefaultMachine()
	if o.machine != "" {
		var err error
		if m, err = files.Read(s.files, o.machine, job.ReadMachine); err != nil {
			return opt, nil, err
		}
	}
	opt.GapMinMM = m.GapMinMM
	var lens *job.Lens
	if o.lens != "" {
		var err error
		if lens, err = files.Read(s.files, o.lens, job.ReadLens); err != nil {
			return opt, nil, err
		}
		opt.LensName, opt.StandoffMM = lens.Name, lens.StandoffMM
	}
	if err := o.stepAndReach(&opt, lens); err != nil {
		return opt, nil, err
	}
	if !o.flags.Changed("feed") {
		return opt, nil, usagef("give it in mm/min, as in --feed 1500", "no feed given")
	}
	var err error
	if opt.PowersPct, err = powers(o.power); err != nil {
		return opt, nil, err
	}
	opt.Bench = ladderBench(m, o.startZ)
	return opt, m, nil
}

// stepAndReach takes both from the command line, or from the focal length.
// Where it is not known how near the head may come, the reach is to be given.
func (o *ladderOptions) stepAndReach(opt *ladder.Options, lens *job.Lens) error {
	given := o.flags.Changed
	focal := o.focal
	if !given("focal") && lens != nil && lens.FocalLengthMM != nil {
		focal = *lens.FocalLengthMM
	}
	if given("focal") || focal > 0 && !(given("step") && given("reach")) {
		step, reach, err := ladder.ForFocal(focal)
		if err != nil {
			return err
		}
		if !given("step") {
			opt.StepMM = step
		} else {
			reach = math.Max(reach, opt.StepMM)
		}
		if !given("reach") {
			opt.ReachMM = reach
			switch {
			case opt.StandoffMM == nil:
				return usagef(fmt.Sprintf("say yourself that the head clears, with --reach %g, or give a lens record with standoff_mm", reach),
					"with the usual reach the head comes %g mm nearer to the stock than at best focus, and how near that is is not known", reach)
			case opt.GapMinMM == nil:
				return usagef(fmt.Sprintf("say yourself that the head clears, with --reach %g, or give a machine profile with gap_min_mm", reach),
					"with the usual reach the head comes to %.4g mm from the stock, and what gap must stay is not known", *opt.StandoffMM-reach)
			}
		}
		return nil
	}
	switch {
	case !given("step") && !given("reach"):
		return usagef("give --step 0.5 --reach 2.5, or the focal length as in --focal 38.1", "no step and no reach given")
	case !given("step"):
		return usagef("give it in mm, as in --step 0.5", "no step given")
	case !given("reach"):
		return usagef("give it in mm, as in --reach 2.5", "no reach given")
	}
	return nil
}

// powers reads 20,30,40.
func powers(text string) ([]float64, error) {
	if strings.TrimSpace(text) == "" {
		return nil, usagef("give it in percent of s_max, as in --power 30 or --power 20,30,40", "no power given")
	}
	var out []float64
	for part := range strings.SplitSeq(text, ",") {
		part = strings.TrimSuffix(strings.TrimSpace(part), "%")
		v, err := strconv.ParseFloat(part, 64)
		if err != nil || strings.ContainsAny(part, "xX_") {
			return nil, usagef("", "--power %s: %q is not a number", text, part)
		}
		out = append(out, v)
	}
	return out, nil
}

// ladderBench turns a profile into what a ladder needs of it.
func ladderBench(m *job.Machine, startZ float64) ladder.Bench {
	c := machine.DefaultConfig()
	c.Inches, c.ZAxis, c.PowerWord = m.Inches(), m.ZAxis[0], m.PowerWord[0]
	c.BeamOn, c.BeamOff, c.PowerFollows = m.BeamOn, m.BeamOff, m.PowerFollowsSpeed
	c.RapidsFire, c.RapidMMMin, c.FeedCountsZ = m.RapidsFire, m.RapidMMMin, m.FeedCountsZ
	c.Start.Z = startZ
	b := ladder.Bench{
		Machine: c, ZPlusAway: m.ZPlus == job.Away, ByHand: m.ZMoves == job.ZByHand,
		ZMinMM: m.ZMinMM, ZMaxMM: m.ZMaxMM, SMax: m.SMax,
		DecimalsMM: int8(m.DecimalsMM()), DecimalsInch: int8(m.DecimalsInch()),
		Comments: m.Comments, Numbered: m.Numbered,
	}
	for _, x := range []struct {
		to   *float64
		from *float64
	}{
		{&b.CrankMM, m.ZStepMM}, {&b.ResolutionMM, m.ZResolutionMM},
		{&b.BacklashMM, m.ZBacklashMM}, {&b.FeedMaxMMMin, m.FeedMaxMMMin},
	} {
		if x.from != nil {
			*x.to = *x.from
		}
	}
	if m.LineMax != nil {
		b.LineMax = *m.LineMax
	}
	return b
}

// names gives sheet and list their places beside the program, where it is a
// file.
func (o *ladderOptions) names() error {
	if !files.IsStream(o.out) {
		stem := strings.TrimSuffix(o.out, filepath.Ext(o.out))
		if o.sheet == "" {
			o.sheet = stem + "-sheet.svg"
		}
		if o.verdicts == "" {
			o.verdicts = stem + "-verdicts.csv"
		}
	}
	if o.sheet == "-" || o.verdicts == "-" {
		return usagef("", "standard output (-) is for the program; give --sheet and --verdicts files")
	}
	return nil
}

// ladderWrite writes what was asked for, the program last.
func (s *session) ladderWrite(o *ladderOptions, plan *ladder.Plan, text []byte) error {
	if o.verdicts != "" {
		if old, err := os.ReadFile(o.verdicts); err == nil && ladder.Filled(old) {
			return usagef("move it away, or give another name with --verdicts", "%s has been filled in, and is not to be lost", o.verdicts)
		}
	}
	var results []files.Result
	if o.sheet != "" {
		results = append(results, files.Result{Name: o.sheet, Text: plan.Sheet()})
	}
	if o.verdicts != "" {
		results = append(results, files.Result{Name: o.verdicts, Text: plan.Verdicts()})
	}
	return s.files.Write(append(results, files.Result{Name: o.out, Text: text})...)
}

// tellLadder says what was made, and what to do with it.
func tellLadder(w io.Writer, o *ladderOptions, p *ladder.Plan, m *job.Machine, c machine.Config, text []byte) error {
	if o.machine == "" {
		fmt.Fprintln(w, "sagitta: assumed: no machine profile; program in mm, +Z away from the stock, full power S1000")
	}
	if math.Abs(p.StepMM-o.step) > 1e-9 && o.flags.Changed("step") {
		fmt.Fprintf(w, "sagitta: the step is %.6g mm instead of %.6g: a whole number of what the axis can be set to\n", p.StepMM, o.step)
	} else if !o.flags.Changed("step") {
		fmt.Fprintf(w, "sagitta: chosen by focal length: a step of %.6g mm\n", p.StepMM)
	}
	if !o.flags.Changed("reach") {
		fmt.Fprintf(w, "sagitta: chosen by focal length: a reach of %.6g mm\n", p.ReachMM)
	} else if math.Abs(p.ReachMM-o.reach) > 1e-9 {
		fmt.Fprintf(w, "sagitta: the reach is %.6g mm instead of %.6g: a whole number of steps\n", p.ReachMM, o.reach)
	}
	if n := len(p.ClippedMM); n > 0 {
		why := "it would touch the stock"
		if m.GapMinMM != nil {
			why = fmt.Sprintf("the head would come nearer to the stock than gap_min_mm, %g mm", *m.GapMinMM)
		}
		fmt.Fprintf(w, "sagitta: left out: the offsets from %+.6g to %+.6g mm, at which %s\n", p.ClippedMM[0], p.ClippedMM[n-1], why)
	}
	if p.GapKnown {
		fmt.Fprintf(w, "sagitta: nearest approach: the head comes to %.4g mm from the stock, at an offset of %+.6g mm\n", p.GapMM, -p.NearestMM)
	} else {
		fmt.Fprintf(w, "sagitta: nearest approach: the head comes %.6g mm nearer to the stock than at best focus; head clearance not checked\n", p.NearestMM)
	}
	seconds, low, high, err := replay(text, c)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "sagitta: %s in a block of %.4g x %.4g mm to the right of and above X0 Y0; about %s\n",
		phrase.Count(len(p.Rungs), "rung"), p.Width, p.Height, phrase.Clock(seconds))
	if m.ZMoves == job.ZByHand {
		fmt.Fprintln(w, "sagitta: no Z is written: the program pauses (M0) for each offset, which is set by hand")
		fmt.Fprintln(w, "sagitta: set best focus as well as you can first")
	} else {
		fmt.Fprintf(w, "sagitta: %s written from %s to %s mm\n", m.ZAxis, mm(low), mm(high))
		fmt.Fprintf(w, "sagitta: set best focus as well as you can first, and make %s%g there\n", m.ZAxis, o.startZ)
	}
	for _, x := range [][2]string{{o.out, "program"}, {o.sheet, "sheet"}, {o.verdicts, "list for the verdicts"}} {
		if x[0] != "" && x[0] != "-" {
			fmt.Fprintf(w, "sagitta: the %s is %s\n", x[1], x[0])
		}
	}
	return nil
}

// replay reads a program back and gives its time and its range of Z in mm.
func replay(text []byte, c machine.Config) (seconds, low, high float64, err error) {
	ip := machine.New(c)
	r := program.NewReader(bytes.NewReader(text), "ladder")
	low, high = c.Start.Z, c.Start.Z
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return seconds, low, high, nil
		}
		if err != nil {
			return 0, 0, 0, err
		}
		var m machine.Move
		if err := ip.Step(b, &m); err != nil {
			return 0, 0, 0, err
		}
		seconds += m.Seconds
		low, high = min(low, m.To.Z), max(high, m.To.Z)
	}
}
