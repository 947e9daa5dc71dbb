package set

import (
	"fmt"
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
	// Head is the head with this lens, nil where it is not known.
	Head *bench.Head
}

// Run holds a set of zones to the original that it was made from: each burn
// of the original is burned once, by one zone or in parts by several, with the
// same power and speed and in focus at that zone's setting; nothing else is
// burned or switched; the beam is off wherever the original has it off; and all travels are
// clear at the settings of their zones.
//
// A travel is clear where the lens is nowhere nearer than the depth allows
// over what lies below, Z being counted from the programmed Z of the burns on
// both sides of it (the lower of them): a retract counts. Where the head is
// known, it is clear where that is as well. What is raised by hand counts as far
// as the set says by how much.
//
// open opens a program of the set, and lens tells of a lens by its name. Depth
// and Head of opt do not count. What does not hold is in the result;
// the error is as verify.Run's. All programs stream, side by side with the
// original: each zone's burns come in the original's order.
func Run(s *Set, open func(program string) (io.ReadCloser, error), lens func(name string) (Lens, error),
	original io.Reader, name string, opt verify.Options) (*Result, error) {
	w := &pairing{set: s, opt: opt, res: &Result{},
		orig: verify.NewStream(original, name, opt.Machine, false)}
	defer w.close()
	for i := range s.Zones {
		if err := w.open(i, open, lens); err != nil {
			return nil, err
		}
	}
	if err := w.walk(); err != nil {
		return nil, err
	}
	w.finish()
	return w.res, nil
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
	res   *Result
	orig  *verify.Stream
	field *extremes.Field
	zones []*zone
	// last is the zone that the last burn was found in.
	last int
	// recent are burns that were found whole, and early those of them that a
	// later one of the same shape is to stand for: see swap.
	recent []found
	at     int
	early  []found
	swaps  int
	// air is that of the original, airs any that it had, and paths has a motion under each path control
	// that it says, one after the other.
	air, airs air
	paths     []verify.Step
	// ends is the word that ends the original, nil where none does.
	ends *verify.Step
	// switched are the words of the original since its last burn that a set must have.
	switched []switched
}

// mostPaths is more changes of path control than any job has.
const mostPaths = 1 << 12

// found is a burn of the original, and the zone it was found in.
type found struct {
	o    verify.Step
	zone int
}

const (
	// keptFound is how many burns a swap can go back to.
	keptFound = 1 << 14
	// mostSwaps bounds the work that a set can ask for.
	mostSwaps = 1000
)

// open begins zone i.
func (w *pairing) open(i int, open func(string) (io.ReadCloser, error), lens func(string) (Lens, error)) error {
	z := &w.set.Zones[i]
	l, err := lens(z.Lens)
	if err != nil {
		return err
	}
	opt := w.opt
	opt.Depth, opt.Head = l.Depth, l.Head
	if opt.ZMoves == bench.ByHand {
		opt.ZMoves = bench.BeamOff // what is set by hand is set before
	}
	if err := opt.Check(); err != nil {
		return err
	}
	if w.field == nil {
		w.field = extremes.New(opt.Surface)
	}
	f, err := open(z.Program)
	if err != nil {
		return err
	}
	r := &zone{file: f, to: math.MaxInt, gap: verify.NoTravel(), atPoints: verify.NoTravel()}
	w.zones = append(w.zones, r)
	r.Judge = verify.NewJudge(verify.NewStream(f, z.Program, opt.Machine, false), w.field, opt, true)
	r.CutTwice, r.MayReorder = w.set.Followed, true
	if w.opt.ZMoves == bench.ByHand {
		r.raised, r.raisedMM = z.RaisedLines, z.RaisedMM
	}
	r.waits, r.stops = waitsOf(z, r.raised), z.StopLine > 0
	r.listed, r.byHand = slices.Clone(r.waits), w.opt.ZMoves == bench.ByHand
	r.several = r.stops || len(w.set.Zones) > 1
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
	return r.next()
}

func (w *pairing) close() {
	for _, r := range w.zones {
		_ = r.file.Close()
	}
}

// walk takes the original burn by burn.
func (w *pairing) walk() error {
	for {
		var o verify.Step
		if err := w.orig.Next(&o); err != nil {
			return err
		}
		if airOf(&o) != w.air {
			w.air = airOf(&o)
			w.airs |= w.air
			for _, r := range w.zones {
				r.blew |= w.air
			}
		}
		if o.Ends() && !o.Optional && w.ends == nil {
			w.ends = new(verify.Step)
			*w.ends = o
		}
		if n := len(w.paths); o.Kind == verify.Motion && n < mostPaths && (n == 0 || !w.paths[n-1].SamePath(&o)) {
			w.paths = append(w.paths, o)
		}
		switch {
		case o.Kind == verify.AtEnd:
			return nil
		case o.Lit() || o.Kind == verify.Word:
			w.meet(&o)
			continue
		case !o.M.Burn:
			continue
		}
		w.ends = nil // a word behind which it burns is not the one that ends it
		if w.res.Burns++; w.res.Burns == 1 {
			for _, r := range w.zones {
				r.focus = w.opt.Sigma()*o.M.From.Z - r.set
				r.SetFocus(r.focus)
			}
		}
		w.between()
		w.res.BurnLengthMM += o.M.Length
		if err := w.burn(&o); err != nil {
			return err
		}
	}
}

// burn finds the burn o of the original in the zones.
func (w *pairing) burn(o *verify.Step) error {
	if i := slices.IndexFunc(w.early, func(f found) bool { return sameBurn(&f.o, o) }); i >= 0 {
		w.early = slices.Delete(w.early, i, i+1)
		return nil
	}
	covered := 0.0
	for {
		k, l := w.find(o, covered, w.set.OverlapMM)
		if k < 0 && covered > 0 {
			k, l = w.find(o, covered, o.M.Length) // burned twice is not lost
		}
		if k < 0 && covered == 0 {
			if swapped, err := w.swap(); err != nil {
				return err
			} else if swapped {
				continue
			}
		}
		if k < 0 {
			w.lose(o, covered)
			return nil
		}
		r := w.zones[k]
		w.last = k
		r.compare(o, l)
		w.twice(r, o, covered-l.from)
		if covered == 0 && l.ends {
			w.remember(found{*o, k})
		}
		if err := r.next(); err != nil || l.ends {
			return err
		}
		covered = max(covered, l.to)
	}
}

// find finds the zone whose next burn goes on with o from the fraction that
// is covered, or from up to overlap mm before. Where several do, as short burns
// over longer ones may, it is one of the power of o that goes on to its end, or
// furthest.
func (w *pairing) find(o *verify.Step, covered, overlap float64) (int, lies) {
	best, fit, score := -1, lies{}, -1.0
	for n := -1; n < len(w.zones); n++ {
		k := n
		if n < 0 {
			k = w.last
		} else if n == w.last {
			continue
		}
		r := w.zones[k]
		if !r.burns {
			continue
		}
		l, ok := r.lies(o, covered, overlap)
		if !ok {
			continue
		}
		// Fractions are at most a little over 1.
		s := min(l.to, 1)
		if l.ends {
			s++
		}
		if r.SameDose(o) {
			s += 3
			if l.ends {
				return k, l
			}
		}
		if s > score {
			best, fit, score = k, l, s
		}
	}
	return best, fit
}

// twice reports a part of a burn that was burned before, beyond what may
// overlap at a seam.
func (w *pairing) twice(r *zone, o *verify.Step, part float64) {
	if by := part * o.M.Length; by > w.set.OverlapMM+r.Tolerance() {
		r.Fail(verify.AddedBurn, o, 0, by, fmt.Sprintf("%s mm are burned twice", verify.Number(by)))
	}
}

// lose reports what of a burn no zone has.
func (w *pairing) lose(o *verify.Step, covered float64) {
	at := o.M.XY(covered)
	f := verify.Violation{Kind: verify.Missing, OriginalLine: o.Line, X: at[0], Y: at[1], Amount: (1 - covered) * o.M.Length}
	f.Detail = fmt.Sprintf("no zone has this burn of %s mm", verify.Number(o.M.Length))
	if covered > 0 {
		f.Detail = fmt.Sprintf("no zone has the last %s mm of this burn", verify.Number(f.Amount))
	}
	w.res.Whole.Fail(f)
}

// remember keeps a burn that was found whole.
func (w *pairing) remember(f found) {
	if len(w.recent) < keptFound {
		w.recent = append(w.recent, f)
		return
	}
	w.recent[w.at] = f
	w.at = (w.at + 1) % keptFound
}

// sameBurn reports whether nothing but their place in the program tells two
// burns from each other.
func sameBurn(a, b *verify.Step) bool {
	m, o := &a.M, &b.M
	return a.Kind == b.Kind && m.Kind == o.Kind && m.From == o.From && m.To == o.To && m.CX == o.CX && m.CY == o.CY &&
		m.Sweep == o.Sweep && m.Power == o.Power && m.PowerFollows == o.PowerFollows && m.Seconds == o.Seconds
}

// swap finds a zone that waits with a burn that the original has burned
// already, and that was found in another zone: that zone has it for a later
// burn of the same shape. It takes the burn from the zone that waits, early for
// the later one.
func (w *pairing) swap() (bool, error) {
	if w.swaps >= mostSwaps {
		return false, nil
	}
	w.swaps++
	for k, r := range w.zones {
		if !r.burns {
			continue
		}
		for i := range w.recent {
			f := &w.recent[i]
			if f.zone == k {
				continue
			}
			if l, ok := r.lies(&f.o, 0, 0); ok && l.ends {
				r.compare(&f.o, l)
				r.blew = anyAir
				w.early = append(w.early, *f)
				f.zone = k
				return true, r.next()
			}
		}
	}
	return false, nil
}

// finish reports what the zones have beyond the original, and how they end.
func (w *pairing) finish() {
	for _, f := range w.early {
		w.zones[f.zone].Res.Fail(verify.Violation{Kind: verify.AddedBurn, OriginalLine: f.o.Line, X: f.o.M.From.X, Y: f.o.M.From.Y,
			Amount: f.o.M.Length, Detail: "burned twice"})
	}
	w.behind()
	w.putOn()
	end, headless := w.orig.State(), false
	for _, r := range w.zones {
		if r.burns {
			r.Fail(verify.AddedBurn, nil, 0, r.S.M.Length, r.S.String()+", burned before or not in the original here")
		}
		r.settle()
		r.arrive(0, true)
		r.atPoints.Hold(r.Res, r.focus-r.Opt.Depth.Near+min(0, r.Opt.DefocusMM))
		if r.stops {
			r.blew = w.airs
		}
		r.breathe(nil)
		for _, u := range r.Unsaid {
			if !slices.ContainsFunc(w.paths, func(p verify.Step) bool { return p.SamePath(&u) }) {
				r.S = u
				r.FailPath(nil)
			}
		}
		if r.from == 0 {
			r.CompareModes(w.orig)
		}
		r.noWaits()
		r.focusStop()
		if r.to == math.MaxInt && !r.burns {
			// A program that was divided ends with the beam off.
			r.CompareEnd(&end, true)
			if w.ends != nil && !r.ends {
				r.Fail(verify.EndDiffers, nil, 0, math.NaN(), "no "+w.ends.String()+" ends it")
			}
		}
		if r.unchecked > 0 {
			r.Res.Note("travels between stops at which the lens is raised by hand: %d; whether they are clear was not checked", r.unchecked)
		}
		r.Finish("")
		headless = headless || r.Opt.Head == nil
	}
	w.orig.NoteBehind(&w.res.Whole, "original ")
	w.orig.NoteLit(&w.res.Whole, "the original")
	w.opt.NoteUnknown(&w.res.Whole)
	if headless {
		w.res.Whole.Note("head clearance not checked")
	}
}
