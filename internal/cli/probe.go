package cli

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/fit"
	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/probe"
	"sagitta/internal/touch"
)

// probeOptions are the options of sagitta probe.
type probeOptions struct {
	machine, lens, depth string
	bow, clear, margin   float64
	coarse               string
	byHand               bool
	datum, start         string
	out                  string
	bowGiven             bool
}

// What is assumed where nothing is said.
const (
	// assumedDepthMM is what a short lens is good for on either side (common
	// practice, no source).
	assumedDepthMM = 1.5
	// assumedBowPart of its length is how far a poor sheet bows.
	assumedBowPart = 0.01
)

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
		Args: operands("program"),
		RunE: func(c *cobra.Command, args []string) error {
			o.bowGiven = c.Flags().Changed("bow")
			return s.probe(&o, args[0])
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.Float64Var(&o.bow, "bow", 0, "how far the stock is expected to bow over the area, in `MM` (default: a hundredth of its length)")
	f.StringVarP(&o.coarse, "surface", "s", "", "a first coarse probing, whose error tells instead of --bow, a `FILE`")
	f.StringVar(&o.depth, "depth", "", "`MM` of depth in place of a lens: 1.5, or nearer and further as -1.2,1.8")
	f.StringVarP(&o.lens, "lens", "l", "", "lens record, a TOML `FILE`")
	f.StringVarP(&o.machine, "machine", "m", "", "machine profile, a TOML `FILE`")
	f.Float64Var(&o.clear, "clear", 5, "height over the datum between touches, in `MM`")
	f.Float64Var(&o.margin, "margin", 2, "`MM` around the burns that the surface is to cover")
	f.StringVar(&o.datum, "datum", "", "touch first, and last, the place nearest to `X,Y`")
	f.StringVar(&o.start, "start", "", "where the head stands at the program's first block, `X,Y`")
	f.BoolVar(&o.byHand, "by-hand", false, "write a sheet to fill in, and a numbered map beside it")
	f.StringVarP(&o.out, "output", "o", "", "write to `FILE` (default: standard output)")
	return c
}

func (s *session) probe(o *probeOptions, name string) error {
	for option, v := range map[string]float64{"clear": o.clear, "margin": o.margin} {
		if !(v > 0 && v <= 1000) {
			return usagef("", "--%s %g: wants a length above 0 in mm", option, v)
		}
	}
	if o.bowGiven && !(o.bow > 0 && o.bow <= 1000) {
		return usagef("", "--bow %g: wants a length above 0 in mm", o.bow)
	}
	if o.bowGiven && !o.byHand && o.bow >= o.clear {
		return usagef("give --clear a height over the datum that the stock does not reach",
			"a bow of %g mm stands as high as the travels between touches, %g mm over the datum", o.bow, o.clear)
	}
	if o.lens != "" && o.depth != "" {
		return usagef("", "give one of --lens and --depth")
	}
	m := job.DefaultMachine()
	if o.machine != "" {
		var err error
		if m, err = files.Read(s.files, o.machine, job.ReadMachine); err != nil {
			return err
		}
	}
	if m.ZMoves == job.ZByHand && !o.byHand {
		return usagef("give --by-hand for a sheet to fill in", "%s: z_moves is by-hand: no program can touch", o.machine)
	}
	depth, from, err := s.probeDepth(o)
	if err != nil {
		return err
	}
	area, err := s.probeArea(o, m, name)
	if err != nil {
		return err
	}
	spacing, why, err := s.probeSpacing(o, area, depth)
	if err != nil {
		return err
	}
	if err := s.files.CheckOutputs(o.out, mapName(o)); err != nil {
		return err
	}
	var near *orb.Point
	if o.datum != "" {
		xy, err := pair("datum", o.datum)
		if err != nil {
			return err
		}
		near = &orb.Point{xy[0], xy[1]}
	}
	plan, err := probe.New(area, spacing, o.margin, near)
	if err != nil {
		return usagef("", "%v", err)
	}
	bench, err := o.bench(m, name)
	if err != nil {
		return err
	}
	if err := s.writePlan(o, plan, bench, name); err != nil {
		return err
	}
	s.files.ClearProgress()
	say := func(format string, args ...any) { fmt.Fprintf(s.stderr, "sagitta: "+format+"\n", args...) }
	if o.machine == "" {
		say("assumed: no machine profile; lengths in mm, +Z away from the stock, touching at %g mm/min to %g mm below the datum", m.ProbeFeedMMMin, m.ProbeDepthMM)
	}
	say("depth %.3f mm (%s); %s", depth, from, why)
	say("so touches are %.3f mm apart at most, for an error of reading between them of at most %.3f mm, a tenth of the depth", spacing, depth*probe.DepthPart)
	say("%s to touch, %d x %d less %d that no burn needs, over X%.3f Y%.3f to X%.3f Y%.3f", phrase.Count(len(plan.Places), "place"),
		len(plan.X), len(plan.Y), plan.Skipped, plan.X[0], plan.Y[0], plan.X[len(plan.X)-1], plan.Y[len(plan.Y)-1])
	say("the datum, first and last, is X%.3f Y%.3f; set the focus there later", plan.Places[0][0], plan.Places[0][1])
	if !o.byHand {
		say("about %s; %.0f mm of travel", phrase.Clock(plan.Seconds(bench, m.RapidMMMin)), plan.Travel())
		if m.ProbeOffsetMM != [3]float64{} {
			say("the touch tool sits at X%g Y%g from the beam: give --shift %g,%g to sagitta surface", m.ProbeOffsetMM[0], m.ProbeOffsetMM[1], m.ProbeOffsetMM[0], m.ProbeOffsetMM[1])
		}
		if m.ZPlus == job.Toward {
			say("+Z brings the lens nearer here, so Z counts down: give --down to sagitta surface")
		}
		say("the beam is off throughout; stay at the stop while it runs")
	}
	return nil
}

// probeDepth is the nearer side of the depth, and where it is from.
func (s *session) probeDepth(o *probeOptions) (float64, string, error) {
	switch {
	case o.depth != "":
		d, err := focus.ParseDepth(o.depth)
		if err != nil {
			return 0, "", usagef("", "--%v", err)
		}
		return math.Min(d.Near, d.Far), "--depth", nil
	case o.lens != "":
		lens, err := files.Read(s.files, o.lens, job.ReadLens)
		if err != nil {
			return 0, "", err
		}
		d, ok := lens.Depth()
		if !ok {
			return 0, "", usagef("give --depth", "%s: a lens record without depth: %s", o.lens, d.From)
		}
		return math.Min(d.Depth.Near, d.Depth.Far), o.lens, nil
	}
	return assumedDepthMM, "assumed, as of a short lens", nil
}

func (s *session) probeArea(o *probeOptions, m *job.Machine, name string) (*probe.Area, error) {
	c := machine.DefaultConfig()
	c.Inches, c.ZAxis, c.PowerWord = m.Inches(), m.ZAxis[0], m.PowerWord[0]
	c.BeamOn, c.BeamOff, c.PowerFollows = m.BeamOn, m.BeamOff, m.PowerFollowsSpeed
	c.RapidsFire, c.RapidMMMin, c.FeedCountsZ = m.RapidsFire, m.RapidMMMin, m.FeedCountsZ
	if o.start != "" {
		xy, err := pair("start", o.start)
		if err != nil {
			return nil, err
		}
		c.Start.X, c.Start.Y, c.StartXYKnown = xy[0], xy[1], true
	}
	in, err := s.files.Open(name)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	area, err := probe.ReadArea(in, in.Name, c)
	if err != nil {
		return nil, err
	}
	if area.Count == 0 {
		fmt.Fprintf(s.stderr, "sagitta: %s: nothing burns in this program; is the beam word one of the profile's beam_on?\n", name)
		return nil, notHeld{}
	}
	return area, nil
}

// probeSpacing works out the spacing, and says from what.
func (s *session) probeSpacing(o *probeOptions, a *probe.Area, depth float64) (float64, string, error) {
	if o.coarse != "" {
		in, err := s.files.Open(o.coarse)
		if err != nil {
			return 0, "", err
		}
		defer in.Close()
		r, err := touch.Read(in, o.coarse, touch.Options{})
		if err != nil {
			return 0, "", err
		}
		var points []fit.Point
		for _, p := range r.Points {
			points = append(points, fit.Point{X: p.X, Y: p.Y, Z: p.Z, Ref: p.Line})
		}
		grid := fit.GridOf(points, touch.SamePlaceMM)
		if grid == nil {
			return 0, "", &diag.Error{Place: diag.Place{File: o.coarse, Line: 1, Col: 1}, What: "a coarse probing must be on a grid for its error to tell the spacing; give --bow"}
		}
		c, err := fit.Choose(points, grid, "bilinear", 0, 0, r.ResolutionMM)
		if err != nil || !c.ErrorKnown {
			return 0, "", &diag.Error{Place: diag.Place{File: o.coarse, Line: 1, Col: 1}, What: "the coarse probing has too few places to know its error; give --bow"}
		}
		g := math.Sqrt((grid.X[len(grid.X)-1] - grid.X[0]) / float64(len(grid.X)-1) * (grid.Y[len(grid.Y)-1] - grid.Y[0]) / float64(len(grid.Y)-1))
		return probe.FromCoarse(depth, g, c.ErrorMM), fmt.Sprintf("%s is read between its places, %.1f mm apart, to %.3f mm", o.coarse, g, c.ErrorMM), nil
	}
	length := math.Max(a.Bound.Max[0]-a.Bound.Min[0], a.Bound.Max[1]-a.Bound.Min[1]) + 2*o.margin
	if !o.bowGiven {
		o.bow = assumedBowPart * length
		return probe.Spacing(depth, o.bow, length), fmt.Sprintf("a bow of %.3f mm over %.1f mm, assumed: give --bow", o.bow, length), nil
	}
	return probe.Spacing(depth, o.bow, length), fmt.Sprintf("a bow of %g mm over %.1f mm", o.bow, length), nil
}

// bench is what the program is written for.
func (o *probeOptions) bench(m *job.Machine, name string) (*probe.Bench, error) {
	b := &probe.Bench{
		Inches: m.Inches(), Decimals: m.DecimalsMM(), ZAxis: m.ZAxis[0], Sigma: m.Sigma(), PowerWord: m.PowerWord[0],
		OffsetMM: m.ProbeOffsetMM, FeedMMMin: m.ProbeFeedMMMin, DepthMM: m.ProbeDepthMM, ClearMM: o.clear, Comments: m.Comments,
		Made: fmt.Sprintf("sagitta %s probe of %s", Version, plainName(name)),
	}
	if m.Inches() {
		b.Decimals = m.DecimalsInch()
	}
	if len(m.BeamOff) > 0 {
		b.BeamOff = m.BeamOff[0]
	}
	for _, z := range []float64{b.Sigma * b.ClearMM, -b.Sigma * b.DepthMM} {
		if !o.byHand && (m.ZMinMM != nil && z < *m.ZMinMM || m.ZMaxMM != nil && z > *m.ZMaxMM) {
			return nil, usagef("give a smaller --clear, or another probe_depth_mm or range in the profile",
				"touching would take Z to %g mm, beyond the profile's range", z)
		}
	}
	return b, nil
}

// plainName keeps a file's name from ending a comment.
func plainName(name string) string {
	return strings.NewReplacer("(", "_", ")", "_", "\n", "_", "\r", "_").Replace(filepath.Base(name))
}

// mapName is where the map of a sheet goes, "" for nowhere.
func mapName(o *probeOptions) string {
	if !o.byHand || o.out == "" || o.out == "-" {
		return ""
	}
	return strings.TrimSuffix(o.out, filepath.Ext(o.out)) + ".svg"
}

func (s *session) writePlan(o *probeOptions, plan *probe.Plan, b *probe.Bench, name string) error {
	var text bytes.Buffer
	write := func(w io.Writer) error { return plan.Write(w, b) }
	if o.byHand {
		write = plan.WriteSheet
	}
	if err := write(&text); err != nil {
		return err
	}
	if drawn := mapName(o); drawn != "" {
		if drawn == o.out {
			return usagef("give the sheet a name that ends in .csv", "%s is the name of the map", drawn)
		}
		var picture bytes.Buffer
		if err := plan.WriteMap(&picture, fmt.Sprintf("%s: %s to measure", filepath.Base(name), phrase.Count(len(plan.Places), "place"))); err != nil {
			return err
		}
		if err := s.files.Write(files.Result{Name: drawn, Text: picture.Bytes()}); err != nil {
			return err
		}
	}
	return s.files.Write(files.Result{Name: o.out, Text: text.Bytes()})
}
