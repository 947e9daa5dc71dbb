package set

import (
	"io"
	"math"
	"slices"

	"sagitta/internal/bench"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/verify"
	"sagitta/internal/verify/extremes"
)

// Lens is what a zone's lens asks for.
type Lens struct {
	// Depth is its usable depth.
	Depth focus.Depth
	// Rules are what rules about burns ask for with it; nil where that is the same with all,
	// and the options say it.
	Rules []verify.Rule
	// Less tells by how much it is less where heights are less sure, see verify.Options.
	Less func(errorMM float64) float64
	// Head is the head with this lens, nil where it is not known.
	Head *bench.Head
}

// Run holds a set of zones to the original that it was made from: each burn
// of the original is burned once, by one zone or in parts by several, with the
// same power and speed and in focus at that zone's setting, and where burns touch in
// the original's order; nothing else is
// burned or switched; the beam is off wherever the original has it off; and all travels are
// clear at the settings of their zones.
//
// A travel is clear where the lens is nowhere nearer than the depth allows
// over what lies below, Z being counted from the programmed Z of the burns on
// both sides of it (the lower of them): a retract counts. Where the head is
// known, it is clear where that is as well. What is raised by hand counts as far
// as the set says by how much.
//
// open opens a program of the set, or PiecesFile, which may be missing, and lens tells
// of a lens by its name. Depth and Head of opt do not count. What does not hold is in
// the result; the error is as verify.Run's. The original is read as a whole, then each
// program beside those places of it that it burns, and then what touches.
func Run(s *Set, open func(program string) (io.ReadCloser, error), lens func(name string) (Lens, error),
	of Original, name string, opt verify.Options) (*Result, error) {
	w := &pairing{set: s, opt: opt, open: open, lens: lens, orig: &original{src: of, name: name, cfg: opt.Machine}}
	w.several = len(s.Zones) > 1 || s.Zones[0].StopLine > 0
	for i := range s.Zones {
		if _, err := w.options(&s.Zones[i]); err != nil {
			return nil, err
		}
	}
	if err := w.orig.read(w.several, &w.opt, w.switches); err != nil {
		return nil, err
	}
	var hints *pieces
	if file, err := open(PiecesFile); err == nil {
		hints = readPieces(file)
		defer hints.close()
	}
	res, err := w.judge(hints)
	if err != nil || res.Holds() || hints == nil || hints.used == 0 {
		return res, err
	}
	// The file may have led astray: what fails must fail without it.
	again, err := w.judge(nil)
	if err == nil && w.find.gaveUp {
		return res, nil
	}
	return again, err
}

// Dark holds the programs of a set of rehearsals to this alone: the beam is off
// in every motion, at every wait and at the end. What does not hold is in the
// result; the error is as verify.Run's.
func Dark(s *Set, open func(program string) (io.ReadCloser, error), cfg machine.Config) (*Result, error) {
	res := &Result{}
	for i := range s.Zones {
		name := s.Zones[i].Program
		j := &verify.Judge{Res: &verify.Result{}, Opt: verify.Options{Bench: bench.Bench{Machine: cfg}, Rehearsal: true}}
		res.Zones, res.programs = append(res.Zones, j.Res), append(res.programs, name)
		f, err := open(name)
		if err != nil {
			return nil, err
		}
		err = j.Dark(verify.NewStream(f, name, cfg, true))
		if cerr := f.Close(); err == nil {
			err = cerr
		}
		if err != nil {
			return nil, err
		}
	}
	return res, nil
}

// pairing is one run over a set.
type pairing struct {
	set   *Set
	opt   verify.Options
	open  func(string) (io.ReadCloser, error)
	lens  func(string) (Lens, error)
	field *extremes.Field
	orig  *original
	// several tells that the job goes to several programs, or to one with stops.
	several bool

	res       *Result
	find      *finder
	zones     []*zone
	stretches stretches
	// words are those that switch between burns of a job of one program, and has counts
	// those that the program has.
	words []switched
	has   int
}

// options are those of a zone.
func (w *pairing) options(z *Zone) (verify.Options, error) {
	opt := w.opt
	l, err := w.lens(z.Lens)
	if err != nil {
		return opt, err
	}
	opt.Depth, opt.Less, opt.Head = l.Depth, l.Less, l.Head
	if l.Rules != nil {
		opt.Rules = l.Rules
	}
	if opt.ZMoves == bench.ByHand {
		opt.ZMoves = bench.BeamOff // what is set by hand is set before
	}
	return opt, opt.Check()
}

// judge holds the programs to the original.
func (w *pairing) judge(hints *pieces) (*Result, error) {
	w.res = &Result{Burns: int(w.orig.end.burn), BurnLengthMM: w.orig.end.mm, SecondsOriginal: w.orig.seconds, Whole: w.orig.whole}
	w.res.Whole.Failures = slices.Clone(w.orig.whole.Failures)
	w.find = newFinder(w.orig, hints)
	w.zones, w.stretches, w.has = nil, stretches{}, 0
	w.words = slices.Clone(w.orig.between)
	for i := range w.set.Zones {
		if err := w.zone(i); err != nil {
			return nil, err
		}
	}
	if !w.several {
		w.kept()
	}
	w.putOn()
	if err := w.inOrder(); err != nil {
		return nil, err
	}
	order := w.stretches.byPlace()
	if err := w.covered(order); err != nil {
		return nil, err
	}
	if err := w.touching(order); err != nil {
		return nil, err
	}
	w.orig.stream.NoteBehind(&w.res.Whole, "original ")
	w.orig.stream.NoteLapses(&w.res.Whole, "original ")
	w.orig.stream.NoteLit(&w.res.Whole, "the original")
	w.opt.NoteUnknown(&w.res.Whole)
	if slices.ContainsFunc(w.zones, func(r *zone) bool { return r.headless }) {
		w.res.Whole.Note("head clearance not checked")
	}
	return w.res, nil
}

// zone takes zone i.
func (w *pairing) zone(i int) error {
	r, err := w.begin(i)
	if err != nil {
		return err
	}
	defer r.file.Close()
	w.find.begin()
	for {
		if err := r.next(); err != nil {
			return err
		}
		if !r.burns {
			break
		}
		if err := w.burn(r); err != nil {
			return err
		}
	}
	return w.finish(r)
}

// begin begins zone i.
func (w *pairing) begin(i int) (*zone, error) {
	z := &w.set.Zones[i]
	opt, err := w.options(z)
	if err != nil {
		return nil, err
	}
	if w.field == nil {
		w.field = extremes.New(opt.Surface)
	}
	f, err := w.open(z.Program)
	if err != nil {
		return nil, err
	}
	if opt.Watch != nil {
		opt.Watch.Begin(i)
	}
	r := &zone{file: f, number: i + 1, lastC: *z.FocusMM, to: math.MaxInt, gap: verify.NoTravel(), atPoints: verify.NoTravel(), headless: opt.Head == nil}
	w.zones = append(w.zones, r)
	r.Judge = verify.NewJudge(verify.NewStream(f, z.Program, opt.Machine, false), w.field, opt, true)
	r.CutTwice, r.MayReorder, r.OwnStrokes = w.set.Followed, true, true
	if w.opt.ZMoves == bench.ByHand {
		r.raised, r.raisedMM = z.RaisedLines, z.RaisedMM
	}
	r.waits, r.stops = waitsOf(z, r.raised), z.StopLine > 0
	r.listed, r.byHand = slices.Clone(r.waits), w.opt.ZMoves == bench.ByHand
	if w.set.SetZ {
		r.written = z.FocusMM
	} else {
		r.set = *z.FocusMM
		if z.StopLine == 0 {
			r.home = z.FocusPointMM
		}
	}
	if w.set.StartMM != nil {
		r.home = w.set.StartMM
	}
	if z.StopLine > 0 && i > 0 && w.set.Zones[i-1].Program == z.Program {
		r.from = z.StopLine
	}
	if z.StopLine > 0 {
		r.points = append(r.points, *z.FocusPointMM)
	}
	if i+1 < len(w.set.Zones) && w.set.Zones[i+1].Program == z.Program {
		r.to = w.set.Zones[i+1].StopLine
		r.listed = append(r.listed, r.to)
		r.points = append(r.points, *w.set.Zones[i+1].FocusPointMM)
	}
	r.list = z
	w.pointOn(r)
	w.res.Zones = append(w.res.Zones, r.Res)
	w.res.programs = append(w.res.programs, z.Program)
	if w.orig.end.burn > 0 {
		r.focus = opt.Sigma()*w.orig.firstZ - r.set
		r.SetFocus(r.focus)
	}
	return r, nil
}
