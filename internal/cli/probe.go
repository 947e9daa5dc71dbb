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
	"sagitta/internal/cli/say"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/job"
	"sagitta/internal/machine"
	"sagitta/internal/phrase"
	"sagitta/internal/probe"
	"sagitta/internal/record"
	"sagitta/internal/setup"
	"sagitta/internal/svg"
	"sagitta/internal/touch"
)

type probeOptions struct {
	Bow     float64     `opt:"bow" in:"(0,1000]" wants:"a length above 0 in mm" is:"how far the stock is expected to bow over the area, in <MM> (default: a hundredth of its length)"`
	Coarse  string      `opt:"surface,s" file:"csv" is:"a first coarse probing, whose error tells instead of --bow, a <FILE>"`
	Depth   string      `opt:"depth"`
	Lens    string      `opt:"lens"`
	Machine string      `opt:"machine"`
	Clear   float64     `opt:"clear" in:"(0,1000]" wants:"a length above 0 in mm" is:"height over the datum between touches, in <MM>: above the bow by 1 at least (default: 5, or 1 over the bow, and 1 more for each 100 from the datum)"`
	KeepOut string      `opt:"keep-out"`
	Margin  float64     `opt:"margin" in:"[0.01,1000]" wants:"mm from 0.01 to 1000" is:"<MM> around the burns that the surface is to cover"`
	Wraps   float64     `opt:"wraps" in:"[0,1e6]" wants:"the length of a turn in mm" is:"what --keep-out lists stands every <MM> in y again: a round that turns"`
	Datum   *[2]float64 `opt:"datum" is:"touch first, and last, the place nearest to <X,Y>"`
	Start   *[2]float64 `opt:"start" is:"where the head stands at the program's first block, <X,Y>"`
	ByHand  bool        `opt:"by-hand" is:"write a sheet to fill in, and a numbered map beside it"`
	Feeler  float64     `opt:"feeler" in:"(0,5]" wants:"a thickness above 0 in mm, 5 at most" is:"with --by-hand: how thick the strip of paper under the gauge is, in <MM>"`
	Out     string      `opt:"output,o" file:"program|csv" is:"write to <FILE> (default: standard output)"`
}

// assumedDepthMM is what a short lens is good for on either side (common
// practice, no source).
const assumedDepthMM = 1.5

const (
	// overBow in mm is by how much travels are to be clear of stock that bows as was said, if
	// the datum is at its lowest; what bows the other way is touched as much deeper.
	overBow = 1.0
)

func (o *probeOptions) check() error {
	switch {
	case o.ByHand && o.KeepOut != "":
		return usagef("", "--keep-out is for a program that touches, and --by-hand writes none")
	case !o.ByHand && o.Feeler != 0:
		return usagef("leave it out, or give --by-hand", "--feeler is for touching by hand")
	case o.Lens != "" && o.Depth != "":
		return usagef("", "give one of --lens and --depth")
	case o.drawing() == o.Out && o.Out != "" && o.ByHand:
		return usagef("give the sheet a name that ends in .csv", "%s is the name of the map", o.Out)
	}
	return nil
}

// aloft is how high the tool travels over stock that bows so many mm either way.
func (o *probeOptions) aloft(m *record.Machine, bow float64) (probe.Aloft, error) {
	least := overAll(max(bow, o.Bow))
	if o.Clear != 0 && o.Clear < least {
		return probe.Aloft{}, usagef(fmt.Sprintf("give --clear %g at least, or leave it out", least),
			"a bow of %s mm may stand as high over the datum as the travels between touches, %g mm, less %g mm to spare", phrase.Short(max(bow, o.Bow)), o.Clear, overBow)
	}
	if o.Clear != 0 {
		return probe.Level(o.Clear), nil
	}
	up, _ := ends(m)
	return probe.Aloft{OverMM: max(usualClear, least), PerMM: probe.OutOfLevel, MostMM: up}, nil
}

// overAll is how far over the datum stock that bows so many mm stands at most, with room.
func overAll(bow float64) float64 { return math.Ceil((bow+overBow)*1e3-1e-6) / 1e3 }

// ends are how far the axis goes up from the datum and down.
func ends(m *record.Machine) (up, down float64) {
	end := func(z *float64, sign float64) float64 {
		if z == nil {
			return math.Inf(1)
		}
		return sign * *z
	}
	if m.Sigma() > 0 {
		return end(m.ZMaxMM, 1), end(m.ZMinMM, -1)
	}
	return end(m.ZMinMM, -1), end(m.ZMaxMM, 1)
}

// deep is the bench whose touches reach stock that bows so many mm the other way, and lies
// out of level as far as travels rise for that.
func (o *probeOptions) deep(m *record.Machine, bow, rise float64) *record.Machine {
	least := overAll(max(bow, o.Bow))
	_, down := ends(m)
	deeper := *m
	deeper.ProbeDepthMM = max(m.ProbeDepthMM, least, min(least+rise, down))
	return &deeper
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

// keepSheet refuses to write over a sheet of touches that has been filled in.
func keepSheet(byHand bool, sheet, option string) error {
	if !byHand {
		return nil
	}
	return files.KeepFilled(sheet, option, probe.Filled)
}

// mapFiles are the pages of a map, the first of which has a name.
func mapFiles(first string, pages [][]byte) (all []files.Result) {
	for k, text := range pages {
		if first != "" {
			all = append(all, files.Result{Name: svg.PageName(first, k), Text: text})
		}
	}
	return all
}

// shortName is a file's name for the head of a page.
func shortName(name string) string { return setup.Shortened(filepath.Base(name), setup.HeadColumns) }

func (o *probeOptions) run(s *session, args []string) error {
	name := args[0]
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
	lens, err := o.usable(s)
	if err != nil {
		return err
	}
	head, err := job.ReadHead(s.open, o.KeepOut, m, lens.Record)
	if err != nil {
		return err
	}
	burns, first, err := readBurns(s, m.Config(o.Start, 0), name)
	if err != nil {
		return err
	}
	told := say.Touching{Lens: lens, Depth: math.Min(lens.Depth.Near, lens.Depth.Far), Given: o.Depth != "",
		Profiled: o.Machine != "", Head: &head, Started: o.Start != nil, ByHand: o.ByHand, FeelerMM: o.Feeler}
	if told.Pitch, err = o.pitch(s, burns, told.Depth); err != nil {
		return err
	}
	told.Machine = m
	if !o.ByHand {
		if told.Aloft, err = o.aloft(m, told.Pitch.Bow); err != nil {
			return err
		}
	}
	if err := s.files.CheckOutputs(cmp.Or(o.Out, "-"), o.drawing()); err != nil {
		return err
	}
	if err := keepSheet(o.ByHand, o.Out, "-o"); err != nil {
		return err
	}
	var reach machine.Reach
	if !o.ByHand {
		reach = probe.Reach(m)
	}
	if told.Probing, err = probe.New(burns, told.Pitch, o.Margin, (*orb.Point)(o.Datum), reach); err != nil {
		return err
	}
	if !o.ByHand {
		free := told.Aloft
		free.MostMM = math.Inf(1)
		told.Machine = o.deep(m, told.Pitch.Bow, told.Probing.Highest(free)-free.OverMM)
	}
	text, maps, err := o.text(&told, name)
	if err != nil {
		return err
	}
	if err := s.files.Write(files.Result{Name: o.Out, Text: text}, maps...); err != nil {
		return err
	}
	told.Maps = len(maps)
	told.Later = setup.Setting{Turn: job.Turn(m), Lens: lens.Setting(), Datum: (*[2]float64)(&told.Probing.Places[0]), Z: &first.Z, Round: o.Wraps}
	s.say.Probe(&told)
	return nil
}

// text is the program, or the sheet with its maps.
func (o *probeOptions) text(told *say.Touching, name string) (text []byte, maps []files.Result, err error) {
	p, m := told.Probing, told.Machine
	if o.ByHand {
		title := fmt.Sprintf("%s: %s to measure", shortName(name), phrase.Count(len(p.Places), "place"))
		return p.Sheet(title, o.Feeler), mapFiles(o.drawing(), p.Map(title)), nil
	}
	if err := p.Clear(m, told.Aloft, told.Head.Boxes, o.Wraps, told.Head.Known, o.Start); err != nil {
		return nil, nil, err
	}
	told.Seconds = p.Seconds(m, told.Aloft)
	text, err = p.Program(m, told.Aloft, fmt.Sprintf("%s probe of %s", maker, filepath.Base(name)))
	return text, nil, err
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
