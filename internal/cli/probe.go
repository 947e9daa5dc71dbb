package cli

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"
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

func (o *probeOptions) bind(f *pflag.FlagSet) {
	o.flags = f
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

func (o *probeOptions) run(s *session, args []string) error {
	name := args[0]
	if err := o.check(); err != nil {
		return err
	}
	if err := files.OneStream(name, o.machine, o.lens, o.coarse, o.keepOut); err != nil {
		return err
	}
	m, err := s.machine(o.machine)
	if err != nil {
		return err
	}
	if m.ZMoves == record.ZByHand && !o.byHand {
		return usagef("give --by-hand for a sheet to fill in", "%s: z_moves is by-hand: no program can touch", o.machine)
	}
	lens, err := o.usable(s)
	if err != nil {
		return err
	}
	depth := math.Min(lens.Depth.Near, lens.Depth.Far)
	head, err := o.head(s, m, lens.Record)
	if err != nil {
		return err
	}
	burns, err := o.burns(s, m, name)
	if err != nil {
		return err
	}
	pitch, err := o.pitch(s, burns, depth)
	if err != nil {
		return err
	}
	if err := s.files.CheckOutputs(o.out, o.drawing()); err != nil {
		return err
	}
	probing, err := probe.New(burns, pitch.MM, o.margin, (*orb.Point)(o.datum))
	if err != nil {
		return err
	}
	var text []byte
	drawing, seconds := files.Result{Name: o.drawing()}, 0.0
	if o.byHand {
		text = probing.Sheet()
		drawing.Text = probing.Map(fmt.Sprintf("%s: %s to measure", filepath.Base(name), phrase.Count(len(probing.Places), "place")))
	} else {
		if err := probing.Clear(m, o.clear, head.Boxes, head.Known); err != nil {
			return err
		}
		seconds = probing.Seconds(m, o.clear)
		if text, err = probing.Program(m, o.clear, fmt.Sprintf("%s probe of %s", maker, filepath.Base(name))); err != nil {
			return err
		}
	}
	if err := s.files.Write(files.Result{Name: o.out, Text: text}, drawing); err != nil {
		return err
	}
	s.say.Probe(probing, pitch, depth, cmp.Or(lens.File, lens.Depth.From), m, o.machine != "", &head, seconds)
	return nil
}

// usable is the lens, or what --depth says in its place; without either one
// of a short lens's depth.
func (o *probeOptions) usable(s *session) (job.Lens, error) {
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

// head is what is known of the head, and the boxes it is kept clear of.
func (o *probeOptions) head(s *session, m *record.Machine, lens *record.Lens) (job.Head, error) {
	var boxes []surface.Box
	if o.keepOut != "" {
		var err error
		if boxes, err = files.Read(s.files, o.keepOut, file.ReadKeepOut); err != nil {
			return job.Head{}, err
		}
	}
	return job.HeadWith(m, lens, boxes), nil
}

// burns are what the program burns.
func (o *probeOptions) burns(s *session, m *record.Machine, name string) (orb.MultiLineString, error) {
	burns, err := files.Read(s.files, name, func(r io.Reader, name string) (orb.MultiLineString, error) {
		return probe.ReadBurns(r, name, m.Config(o.start, 0))
	})
	if err == nil && burns == nil {
		err = diag.NothingBurns[diag.Violation](name)
	}
	return burns, err
}

// pitch is how far apart to touch.
func (o *probeOptions) pitch(s *session, burns orb.MultiLineString, depth float64) (probe.Pitch, error) {
	if o.coarse == "" {
		return probe.BowPitch(burns, depth, o.bow, o.margin), nil
	}
	r, err := readTouches(s, o.coarse, touch.Options{})
	if err != nil {
		return probe.Pitch{}, err
	}
	return probe.CoarsePitch(depth, r, o.coarse)
}
