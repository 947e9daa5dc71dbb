package cli

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"

	"sagitta/internal/cli/files"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/probe"
	"sagitta/internal/record"
	"sagitta/internal/setup"
	"sagitta/internal/touch"
)

type probeOptions struct {
	Bow     float64     `opt:"bow" in:"(0,1000]" wants:"a length above 0 in mm" is:"how far the stock is expected to bow over the area, in <MM> (default: a hundredth of its length)"`
	Coarse  string      `opt:"surface,s" is:"a first coarse probing, whose error tells instead of --bow, a <FILE>"`
	Depth   string      `opt:"depth"`
	Lens    string      `opt:"lens"`
	Machine string      `opt:"machine"`
	Clear   float64     `opt:"clear" in:"(0,1000]" wants:"a length above 0 in mm" is:"height over the datum between touches, in <MM>: above the bow by 1 at least"`
	KeepOut string      `opt:"keep-out"`
	Margin  float64     `opt:"margin" in:"(0,1000]" wants:"a length above 0 in mm" is:"<MM> around the burns that the surface is to cover"`
	Wraps   float64     `opt:"wraps" in:"[0,1e6]" wants:"the length of a turn in mm" is:"what --keep-out lists stands every <MM> in y again: a round that turns"`
	Datum   *[2]float64 `opt:"datum" is:"touch first, and last, the place nearest to <X,Y>"`
	Start   *[2]float64 `opt:"start" is:"where the head stands at the program's first block, <X,Y>"`
	ByHand  bool        `opt:"by-hand" is:"write a sheet to fill in, and a numbered map beside it"`
	Out     string      `opt:"output,o" is:"write to <FILE> (default: standard output)"`
}

// assumedDepthMM is what a short lens is good for on either side (common
// practice, no source).
const assumedDepthMM = 1.5

// overBow in mm is by how much travels are to be clear of stock that bows as was said, if
// the datum is at its lowest; what bows the other way is touched as much deeper.
const overBow = 1.0

func (o *probeOptions) check() error {
	switch {
	case !o.ByHand && o.Bow+overBow > o.Clear:
		return usagef(fmt.Sprintf("give --clear %g at least, or leave it out", o.Bow+overBow),
			"a bow of %g mm may stand as high over the datum as the travels between touches, %g mm, less %g mm to spare", o.Bow, o.Clear, overBow)
	case o.ByHand && o.KeepOut != "":
		return usagef("", "--keep-out is for a program that touches, and --by-hand writes none")
	case o.Lens != "" && o.Depth != "":
		return usagef("", "give one of --lens and --depth")
	case o.drawing() == o.Out && o.Out != "" && o.ByHand:
		return usagef("give the sheet a name that ends in .csv", "%s is the name of the map", o.Out)
	}
	return nil
}

// drawing is where the map of a sheet goes, "" for nowhere.
func (o *probeOptions) drawing() string { return mapOf(o.ByHand, o.Out) }

// mapOf is where the map beside a sheet goes, "" for nowhere.
func mapOf(byHand bool, sheet string) string {
	if !byHand || sheet == "" || sheet == "-" {
		return ""
	}
	return strings.TrimSuffix(sheet, filepath.Ext(sheet)) + ".svg"
}

func (o *probeOptions) run(s *session, args []string) error {
	name := args[0]
	if !s.given("clear") {
		o.Clear = max(o.Clear, o.Bow+overBow)
	}
	if err := o.check(); err != nil {
		return err
	}
	if err := files.OneStream(name, o.Machine, o.Lens, o.Coarse, o.KeepOut); err != nil {
		return err
	}
	m, err := job.ReadMachine(s.open, o.Machine)
	if err != nil {
		return err
	}
	if m.ZMoves == record.ZByHand && !o.ByHand {
		return usagef("give --by-hand for a sheet to fill in", "%s: z_moves is by-hand: no program can touch", o.Machine)
	}
	if m.ProbeDepthMM < o.Bow+overBow {
		deeper := *m
		deeper.ProbeDepthMM = o.Bow + overBow
		m = &deeper
	}
	lens, err := o.usable(s)
	if err != nil {
		return err
	}
	depth := math.Min(lens.Depth.Near, lens.Depth.Far)
	head, err := job.ReadHead(s.open, o.KeepOut, m, lens.Record)
	if err != nil {
		return err
	}
	burns, first, err := readBurns(s, m.Config(o.Start, 0), name)
	if err != nil {
		return err
	}
	pitch, err := o.pitch(s, burns, depth)
	if err != nil {
		return err
	}
	if err := s.files.CheckOutputs(cmp.Or(o.Out, "-"), o.drawing()); err != nil {
		return err
	}
	var reach machine.Reach
	if !o.ByHand {
		reach = probe.Reach(m)
	}
	probing, err := probe.New(burns, pitch, o.Margin, (*orb.Point)(o.Datum), reach)
	if err != nil {
		return err
	}
	var text []byte
	drawing, seconds := files.Result{Name: o.drawing()}, 0.0
	if o.ByHand {
		text = probing.Sheet()
		drawing.Text = probing.Map(fmt.Sprintf("%s: %s to measure", filepath.Base(name), phrase.Count(len(probing.Places), "place")))
	} else {
		if err := probing.Clear(m, o.Clear, head.Boxes, o.Wraps, head.Known, o.Start); err != nil {
			return err
		}
		seconds = probing.Seconds(m, o.Clear)
		if text, err = probing.Program(m, o.Clear, fmt.Sprintf("%s probe of %s", maker, filepath.Base(name))); err != nil {
			return err
		}
	}
	if err := s.files.Write(files.Result{Name: o.Out, Text: text}, drawing); err != nil {
		return err
	}
	later := setup.Setting{Turn: job.Turn(m), Lens: lens.Setting(), Datum: (*[2]float64)(&probing.Places[0]), Z: &first.Z, Round: o.Wraps}
	if o.Depth != "" {
		s.say.Line("taken: %s", lens.Taken())
	}
	s.say.Probe(probing, later, pitch, depth, cmp.Or(lens.File, lens.Depth.From), m, o.Machine != "", &head, seconds, o.Start != nil)
	return nil
}

// usable is the lens, or what --depth says in its place; without either one
// of a short lens's depth.
func (o *probeOptions) usable(s *session) (job.Lens, error) {
	if o.Lens == "" && o.Depth == "" {
		d := focus.Depth{Near: assumedDepthMM, Far: assumedDepthMM}
		return job.Lens{Depth: record.LensDepth{Depth: d, From: "assumed, as of a short lens"}}, nil
	}
	l, err := job.ReadLens(s.open, o.Lens, o.Depth)
	if err == nil {
		err = l.Out
	}
	return l, err
}

// readBurns reads what a program burns, and where it begins to.
func readBurns(s *session, c machine.Config, name string) (burns orb.MultiLineString, first *machine.Point, err error) {
	burns, err = job.Read(s.open, name, func(r io.Reader, name string) (_ orb.MultiLineString, err error) {
		burns, first, err = probe.ReadBurns(r, name, c)
		return burns, err
	})
	if err == nil && burns == nil {
		err = diag.NothingBurns[diag.Conflict](name)
	}
	return burns, first, err
}

// pitch is how far apart to touch.
func (o *probeOptions) pitch(s *session, burns orb.MultiLineString, depth float64) (probe.Pitch, error) {
	if o.Coarse == "" {
		return probe.BowPitch(burns, depth, o.Bow, o.Margin), nil
	}
	r, err := readTouches(s, o.Coarse, touch.Options{})
	if err != nil {
		return probe.Pitch{}, err
	}
	o.Wraps = cmp.Or(o.Wraps, r.Header.WrapsYMM)
	return probe.CoarsePitch(depth, r, o.Coarse)
}
