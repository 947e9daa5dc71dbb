package rewrite

import (
	"bytes"
	"cmp"
	"io"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// Pen writes a program out of a program.
type Pen struct {
	// Figures are what has been written so far.
	Figures Figures
	// Breached, where not nil, gets what cannot be written as asked.
	Breached func(Breach)

	opt  *Options
	sink sink
	ch   []program.Change // of the line under way, none between lines

	// src is what the original has in force, have what the written program
	// has; of have the Z and the feed do not count.
	src, have machine.State
	// off is Z written less Z programmed, in mm, offStep the step of Z that it was
	// last written to, c the correction that was asked for where the last item ends.
	off, offStep, c float64
	dec             int8    // decimals of the Z of the line under way
	longer          float64 // how many times longer it is to take, if it burns
	// due is the correction that is planned where the last link ends, and debt by how
	// much Z has so far been planned further than its rate allows, in mm.
	due, debt float64
	// feed is the F that the written program has in force, zero where it has
	// none that counts in its mode and units.
	feed program.Number
	// jumped: blocks have been left out, or put in, so that src and have may
	// differ in modes.
	jumped bool
	// part: blocks have been left out, so this is a part of the original, which
	// need not end in its motion mode and feed.
	part bool

	numbers numbering
	pace    pace
	// share is the share of its programmed power that the burn under way gets,
	// lowered tells that a share of it is in force.
	share   float64
	lowered bool
	dim     bool    // the next line that is put in is to say power 0
	took    float64 // time in s of the line under way
	inRun   bool    // the lines of a run are written, and counted as a whole
	marked  bool
	// said: the rehearsal has said what it is; dark: and put the beam off.
	said, dark bool
	// stopped: the program has ended, and nothing has moved, nor has the beam been
	// put on, since.
	stopped bool
	// open: the original's last line has no line end.
	open  bool
	style style
	line  stream.Item // a line of a run that is written as a block
}

// New returns a pen that writes to w. What is written is only to be used when
// Finish returns nil.
func New(w io.Writer, opt *Options) *Pen {
	st := machine.New(opt.Machine).State()
	return &Pen{opt: opt, sink: sink{w: w, gather: cmp.Or(opt.Gather, flushSize)}, src: st, have: st}
}

// Fork returns a pen that writes to w what is to follow once this one stands at a
// place and Z of its own, in G90, with the beam off, and has waited: see Append.
func (p *Pen) Fork(w io.Writer, at machine.Point) *Pen {
	f := *p
	f.sink, f.Figures, f.ch, f.line, f.jumped = sink{w: w, gather: p.sink.gather}, Figures{}, nil, stream.Item{}, true
	f.off, f.lowered, f.dim = snapped(at.Z-f.src.At.Z), false, false
	f.marked, f.said = true, true // by the stop before it
	h := &f.have
	h.At, h.XKnown, h.YKnown = at, true, true
	h.Motion, h.Relative, f.feed = -1, false, program.Number{} // a motion mode that no block relies on
	h.BeamWord, h.BeamLit, h.BeamFollows, f.dark = p.opt.Machine.BeamOff[0], false, false, true
	if h.PowerSaid {
		h.Power = program.Int(0)
	}
	f.style = style{}
	f.style.keepBlock(&p.style.last)
	return &f
}

// Append goes on with what a fork of this pen, which has finished, has written:
// body. The modes that were in force where it forked, and its place, must be in
// force again.
func (p *Pen) Append(fork *Pen, body io.Reader) error {
	if err := p.appendLines(fork, body); err != nil {
		return err
	}
	p.src, p.have, p.c, p.feed, p.jumped = fork.src, fork.have, fork.c, fork.feed, fork.jumped
	p.off, p.offStep, p.lowered = fork.off, fork.offStep, fork.lowered
	p.stopped, p.open, p.style = fork.stopped, fork.open, fork.style
	p.marked, p.dark = p.marked || fork.marked, p.dark || fork.dark
	p.Figures.Changed += fork.Figures.Changed
	p.Figures.Added += fork.Figures.Added
	p.Figures.SecondsOut += fork.Figures.SecondsOut
	p.Figures.Waits += fork.Figures.Waits
	return p.sink.err
}

// Target is where an item is to lead.
type Target struct {
	// C is the correction at the end of the item, in mm.
	C float64
	// Stroke asks for a block of Z alone before the item, to correction Before.
	Stroke bool
	Before float64
	// Modes are those that the program says before its first motion, where that block
	// comes before they are said: it says them itself. Nil where they are said.
	Modes *machine.State
	// Corners are those inside the item's move, which is cut there.
	Corners []Corner
	// Room is by how much more than half a step Z may be off the straight way
	// within a run, in mm, so that fewer lines need a word for it; a line may
	// then make up for it at Rate, in mm/s.
	Room, Rate float64
	// Longer, where over 1, is how many times longer than by its feed a burn is to take.
	Longer float64
	// Next is how long in s the first straight part of what the head goes on with behind the
	// item takes: where that is short, so is what rounding of Z at the item's end is spread
	// over. It is 0 where the head stands.
	Next float64
	// due is the correction that is planned at the end where C waits for it, as inRun
	// tells.
	due   float64
	inRun bool
}

// Pass writes the next item.
func (p *Pen) Pass(it *stream.Item, target Target) {
	if it.Move.Burn && !target.Stroke {
		p.checkStart(it)
		p.dim = false // it burns on from where it stands
	}
	p.dimNow(&it.Block)
	p.due = p.c
	if it.IsRun() {
		p.passLines(it, target)
	} else {
		p.block(it, target)
		p.Figures.BytesIn += int64(len(it.Block.Raw))
	}
	p.c = target.C
}

// Err returns the first error of writing, or why a line cannot be written.
func (p *Pen) Err() error { return p.sink.err }

// State returns what the original has in force where the pen has come to.
func (p *Pen) State() *machine.State { return &p.src }

// Stopped reports whether the program has ended, and nothing has moved, nor has the
// beam been put on, since.
func (p *Pen) Stopped() bool { return p.stopped }

// feedOf is the F of a state, zero where it has none that counts.
func feedOf(st *machine.State) program.Number {
	if !st.Fed() {
		return program.Number{}
	}
	return st.Feed
}

// block writes one block.
func (p *Pen) block(it *stream.Item, target Target) {
	b, a := &it.Block, &it.Actions
	p.share = 1
	p.sayRehearsal(b)
	p.regainModes(b, &it.Before)
	p.jumped = false
	if it.Move.Kind != machine.Still || a.Beam != 0 && a.BeamOn {
		p.sayDark(b)
	}
	if target.Stroke {
		p.coarsely(it.During.Inches)
		if p.src.ZKnown && p.needsZ(target.Before, &p.src) {
			p.stroke(target.Before, it, target.Modes)
		}
		p.due = target.Before
	}
	if !target.inRun {
		p.finely(it, it.Move.Length, target.Next)
	}
	p.longer = target.Longer
	if a.Ends {
		p.regainFeed(b)
	}
	if len(b.Words) == 0 && string(bytes.TrimSpace(b.Body())) == "%" { // what comes behind it may not be read
		p.regainEnd(b)
	}
	if p.src.InverseTime != it.During.InverseTime {
		p.feed = program.Number{} // an F counts in the mode it was said in
	}
	if it.Moves() {
		if len(target.Corners) > 0 {
			k := newCutter(p, it)
			k.cut(&target)
		} else {
			from, due := p.off, target.C
			p.setZ(it, target.C)
			if target.inRun {
				due = target.due
			}
			p.setFeed(it, p.link(1, from, due), true, false)
		}
		if it.After.ZKnown {
			p.checkRange(it.Move.To.Z+p.off, b.Line, it.Move.To)
		}
	} else {
		if f := a.F.In(b); f != nil {
			p.feed = f.Num
		}
		p.keepOffset(it)
		p.takes(it.Move.Seconds) // of a dwell
	}
	p.close(it, a.Beam != 0)
}

// close writes the block of an item with the changes gathered and what else it
// relies on, and goes on behind it. beam tells that the beam is spoken of there.
func (p *Pen) close(it *stream.Item, beam bool) {
	p.regainMotion(it, it.Actions.G[machine.MotionMode] != 0)
	p.takePower(it)
	p.regainBeam(it, it.Actions.Power != 0, beam)
	for i, w := range it.Block.Words {
		if num, lit := p.opt.unlit(w.Letter, w.Num); lit {
			p.ch = append(p.ch, program.SetWord(i, num))
		}
	}
	if len(p.ch) > 0 {
		p.mark(&it.Block)
		p.Figures.Changed++
	}
	p.write(&it.Block)
	p.passed(it)
}

// takes counts the time in s of the line under way.
func (p *Pen) takes(seconds float64) {
	p.took = seconds
	p.Figures.SecondsOut += seconds
}

// passed notes what is in force behind a block.
func (p *Pen) passed(it *stream.Item) {
	motion, a := p.have.Motion, &it.Actions
	p.src = it.After
	p.comeTo(&it.After, a.Beam != 0 || a.Ends, (a.Power != 0 || a.Ends) && !p.lowered)
	if a.G[machine.MotionMode] == 0 && !a.Ends && (!it.Moves() || it.Move.Home.Stored()) {
		p.have.Motion = motion
	}
	if !it.After.Fed() {
		p.feed = program.Number{}
	}
	p.stopped = a.Ends || p.stopped && it.Move.Kind == machine.Still && (a.Beam == 0 || !a.BeamOn)
	p.open = len(it.Block.EOL()) == 0
	p.style.keepBlock(&it.Block)
}

// regainMotion puts the motion word into a line that relies on one which the
// written program does not have in force, unless it is said there.
func (p *Pen) regainMotion(it *stream.Item, said bool) {
	if !it.Moves() || said || it.Move.Home.Stored() || p.have.Motion == it.During.Motion {
		return
	}
	p.ch = append(p.ch, g(program.Int(int64(it.During.Motion))))
	p.have.Motion = it.During.Motion
}

// stroke writes a block of Z alone before the block of an item, to correction c.
// It gets the block's own words for units, distance and work offset, which are
// not in force yet, and those for modes that the program says only later.
func (p *Pen) stroke(c float64, it *stream.Item, modes *machine.State) {
	st := p.src
	st.Inches, st.Relative = it.During.Inches, it.During.Relative
	for i := range it.Actions.Places().All() {
		p.ch = append(p.ch, g(it.Block.Words[i].Num))
	}
	if modes != nil {
		st.Inches, st.Relative = modes.Inches, modes.Relative
		later := modes.Said &^ it.During.Said
		if later.Has(machine.Units) {
			p.ch = append(p.ch, g(choose(st.Inches, program.Int(20), program.Int(21))))
		}
		if later.Has(machine.Distance) {
			p.ch = append(p.ch, g(choose(st.Relative, program.Int(91), program.Int(90))))
		}
	}
	p.zBlock(c, &it.Block, &st)
}

// zBlock writes a block of Z alone with the words in p.ch before it.
func (p *Pen) zBlock(c float64, like *program.Block, st *machine.State) {
	z := st.At.Z
	p.coarsely(st.Inches)
	p.checkRange(z+p.opt.Sigma()*c, like.Line, st.At)
	num := p.zNumber(z, p.opt.Sigma()*c, z, p.opt.decimals(st.Inches), st)
	p.writeZ(like, num, st)
}

// writeZ writes a block of Z alone, to this number, with the words in p.ch
// before it.
func (p *Pen) writeZ(like *program.Block, num program.Number, st *machine.State) {
	z, before := p.src.At.Z, p.off
	p.reach(num, z, z, st)
	rise := p.off - before
	p.takes(p.withZ(math.Abs(rise)/p.opt.Machine.RapidMMMin*60, rise))
	p.ch = append(p.ch, g(program.Int(0)), program.Change{Letter: p.opt.Machine.ZAxis, Num: num})
	p.put(like)
	p.have.Motion = 0
}

// EndZ writes a block of Z alone behind the last block, to correction c.
func (p *Pen) EndZ(c float64) {
	like := p.style.block()
	p.regainModes(like, &p.src)
	p.jumped = false
	p.zBlock(c, like, &p.src)
}

// Finish writes what must stand at the end of the program and hands all on. It
// returns the first error.
func (p *Pen) Finish() error {
	lines := p.Figures.Added
	p.dimNow(p.like(nil))
	if like := p.style.block(); like != nil {
		if !p.stopped {
			p.regainModes(like, &p.src)
		}
		// The F of a line that both moves and ends the program goes behind it.
		p.regainEnd(like)
	}
	if p.open && p.Figures.Added > lines {
		p.sink.endOpen()
	}
	p.sink.flush()
	p.Figures.BytesOut = p.sink.size
	return p.sink.err
}

// LineCount returns how many lines have been written.
func (p *Pen) LineCount() int { return p.sink.lines + bytes.Count(p.sink.buf, []byte{'\n'}) }

func (p *Pen) breach(kind BreachKind, line int, at machine.Point, amount float64) {
	if p.Breached != nil {
		p.Breached(Breach{kind, line, at, amount})
	}
}
