package rewrite

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// What is put in counts in the modes that the original has in force where the
// pen has come to, in G90. Lines are in the style of the block like; nil is that
// of the last block written.

// Z is the Z that the written program has come to, in mm.
func (p *Pen) Z() float64 { return p.src.At.Z + p.off }

// At is where the written program has left the head; known reports whether its X
// and Y are.
func (p *Pen) At() (at machine.Point, known bool) {
	at = p.have.At
	at.Z = p.Z()
	return at, p.have.XKnown && p.have.YKnown
}

// Has is what is in force in the written program, but for Z.
func (p *Pen) Has() *machine.State { return &p.have }

// MoveTo goes to a place at rapid rate, in mm.
func (p *Pen) MoveTo(like *program.Block, x, y float64) {
	like = p.putIn(like)
	p.ch = append(p.ch, g(program.Int(0)))
	p.took = 0
	if from, known := p.At(); known {
		p.takes(math.Hypot(x-from.X, y-from.Y) / p.opt.Machine.RapidMMMin * 60)
	}
	p.goTo(like, x, y)
	p.have.Motion = 0
}

// putIn prepares for a line that is put in, and returns the block in whose style.
func (p *Pen) putIn(like *program.Block) *program.Block {
	like = p.like(like)
	p.sayDark(like)
	p.restore(like, &p.src, false)
	p.jumped = true
	return like
}

// like is the block in whose style a line is put in.
func (p *Pen) like(like *program.Block) *program.Block {
	if like == nil {
		like = p.style.block()
	}
	if like == nil {
		like = &program.Block{Comment: -1}
	}
	return like
}

// goTo writes a line that leads to a place, with the words gathered before it.
func (p *Pen) goTo(like *program.Block, x, y float64) {
	h := &p.have
	p.ch = append(p.ch, program.Change{Letter: 'X', Num: spelled(x, h.Offset.X, h.Inches)},
		program.Change{Letter: 'Y', Num: spelled(y, h.Offset.Y, h.Inches)})
	p.put(like)
	h.At.X, h.At.Y, h.XKnown, h.YKnown = x, y, true, true
	p.stopped = false
}

// MoveZ moves Z alone, to z in mm: exactly where that is the programmed Z, else
// to the nearest written decimal.
func (p *Pen) MoveZ(like *program.Block, z float64) {
	exact, least := z == p.src.At.Z, 0.0
	if !exact {
		least = p.leastChange(&p.src)
	}
	p.c = p.opt.Sigma() * (z - p.src.At.Z)
	if math.Abs(z-p.Z()) <= least {
		return
	}
	like = p.putIn(like)
	h := &p.have
	num := spelled(z, h.Offset.Z, h.Inches)
	if !exact {
		num = p.zAlone(z, h)
	}
	st := machine.State{Inches: h.Inches, Offset: h.Offset}
	p.checkRange(p.src.At.Z+p.reached(num, p.src.At.Z, p.src.At.Z, &st), like.Line, p.src.At)
	p.writeZ(like, num, &st)
}

// Grid rounds a place in mm to the decimals that are written.
func (p *Pen) Grid(v float64) float64 {
	unit := Unit(p.src.Inches)
	return program.Round(v/unit, p.opt.decimals(p.src.Inches)).Float() * unit
}

// ZAsWritten is the Z that MoveZ comes to where z is asked for.
func (p *Pen) ZAsWritten(z float64) float64 {
	if z == p.src.At.Z {
		return z
	}
	return p.zAlone(z, &p.src).Float()*Unit(p.src.Inches) + p.src.Offset.Z
}

// zAlone is the number of an absolute Z word that leads to z in mm with the units
// and the offset of st.
func (p *Pen) zAlone(z float64, st *machine.State) program.Number {
	return p.zNumber(0, z, 0, p.opt.decimals(st.Inches), &machine.State{Inches: st.Inches, Offset: st.Offset})
}

// ZStep rounds a Z away from the stock to a written step.
func (p *Pen) ZStep(z float64) float64 {
	step := p.opt.Step(p.src.Inches)
	s := p.opt.Sigma()
	return s * math.Ceil(s*z/step-1e-7) * step
}

// FeedTo goes to a place at the feed in force; the beam is to be off. In G93 it
// takes a second.
func (p *Pen) FeedTo(like *program.Block, x, y float64) {
	like = p.putIn(like)
	if p.have.BeamWord == machine.NoBeam && !p.have.PowerSaid {
		p.sayOff(like, p.src.BeamWord != machine.NoBeam) // nothing was said yet, so it would burn
	}
	from, _ := p.At()
	feed, seconds := feedOf(&p.src), 1.0
	if p.src.InverseTime {
		feed = program.Int(60)
	} else if f := feed.Float() * Unit(p.src.Inches); f > 0 {
		seconds = math.Hypot(x-from.X, y-from.Y) / f * 60
	}
	p.takes(seconds)
	p.ch = append(p.ch, g(program.Int(1)))
	if p.src.InverseTime || p.feed.Cmp(feed) != 0 {
		p.ch = append(p.ch, program.Change{Letter: 'F', Num: feed})
		p.feed = feed
	}
	p.goTo(like, x, y)
	p.have.Motion = 1
}

// CanDarken reports whether feed moves can be made without burning: a program
// that never speaks of the beam has no word for it.
func (p *Pen) CanDarken() bool {
	return p.opt.Rehearsal || p.src.BeamWord != machine.NoBeam || p.src.PowerSaid
}

// BeamOff puts the beam off where it may fire: by its word, or by power 0 in a
// program that has none so far, or that travels so, where the travel says it. Where
// sure, its word is in force behind it, whatever the power.
func (p *Pen) BeamOff(like *program.Block, sure bool) {
	like = p.like(like)
	h, src := &p.have, &p.src
	byWord := h.BeamWord != machine.NoBeam || src.BeamWord != machine.NoBeam
	fires := !h.PowerSaid || h.Power.Mant != 0
	switch {
	case p.opt.Rehearsal:
		p.sayDark(like)
	case h.BeamWord != machine.NoBeam && !h.BeamLit:
	case !sure && h.BeamLit && h.PowerSaid && slices.Contains(p.opt.TravelsAtZero, h.BeamWord):
		p.dim = p.dim || fires
	case sure || byWord && fires:
		p.sayOff(like, true)
	case (h.PowerSaid || src.PowerSaid) && fires:
		p.sayOff(like, false)
	}
}

// dimNow says power 0 where the next line was to say it.
func (p *Pen) dimNow(like *program.Block) {
	if p.dim {
		p.sayOff(like, false)
	}
}

// StayDark puts the beam off by its word for good: what would put it on again in the
// blocks to come, which do not burn, is written as in a rehearsal.
func (p *Pen) StayDark(like *program.Block) {
	p.BeamOff(like, true)
	dark := *p.opt
	dark.Rehearsal = true
	p.opt, p.said, p.dark = &dark, true, true
}

// sayOff puts the beam off, by its word or else by power 0.
func (p *Pen) sayOff(like *program.Block, byWord bool) {
	h := &p.have
	p.dim = false
	if byWord {
		p.say(like, m(p.opt.offWord()))
		h.BeamWord, h.BeamLit, h.BeamFollows = p.opt.Machine.BeamOff[0], false, false
		return
	}
	p.say(like, program.Change{Letter: p.opt.Machine.PowerWord, Num: program.Int(0)})
	h.Power, h.PowerSaid, p.lowered = program.Int(0), true, false
}

// Wait writes a stop with the beam put off by its word, and says what it is for. It
// returns the line on which the program stops.
func (p *Pen) Wait(like *program.Block, format string, args ...any) (line int) {
	like = p.like(like)
	p.BeamOff(like, true)
	p.mark(like)
	p.comment(like, p.opt.cutText(fmt.Sprintf(format, args...)))
	p.say(like, m(program.Int(0)))
	p.Figures.Waits++
	return p.LineCount()
}

// Remark writes a comment line, where they are allowed.
func (p *Pen) Remark(like *program.Block, text string) {
	like = p.like(like)
	p.mark(like)
	p.comment(like, p.opt.cutText(text))
}

// PassRest writes what of a left-out block acts on other things than the head and
// the beam: comments, settings, tools, texts, pauses, dwells and words that are
// not known.
func (p *Pen) PassRest(it *stream.Item) {
	a, b := &it.Actions, &it.Block
	if len(b.Words) > 0 {
		p.dimNow(b)
	}
	const modal = 1<<machine.Units | 1<<machine.Distance | 1<<machine.FeedMode | 1<<machine.ArcMode | 1<<machine.PathMode | 1<<machine.MotionMode
	plain := it.Move.Kind == machine.Still && a.Beam == 0 && a.Power == 0 && a.F == 0 && a.Coolant == 0 && !a.Ends && (a.G[machine.NonModal] == 0 || a.Codes[machine.NonModal] == 100)
	for group, word := range a.G {
		plain = plain && (word == 0 || modal>>group&1 == 0) // modes are restored where they matter
	}
	switch {
	case it.IsRun() || len(bytes.Trim(b.Body(), " \t\r%")) == 0: // empty, or an end of the tape
		return
	case plain:
		p.sayRehearsal(b)
		if len(b.Words) > 0 {
			p.mark(b)
		}
		p.write(b)
		p.style.keepBlock(b)
		p.open = len(b.EOL()) == 0
		if a.G[machine.WorkOffset] != 0 {
			p.have.Work = it.After.Work
		}
		return
	}
	for i := range b.Words {
		if w := &b.Words[i]; w.Letter == 'T' || (a.Passed | a.Unknown).Has(i) || a.OfUnknown(b, i) {
			p.ch = append(p.ch, program.Change{Letter: w.Letter, Num: w.Num})
		}
	}
	if it.Move.Kind == machine.Dwell && !it.Move.Burn {
		p.ch = append(p.ch, g(program.Int(4)), program.Change{Letter: 'P', Num: a.P.In(b).Num})
		p.takes(it.Move.Seconds)
	}
	if w := a.Stop.In(b); w != nil && !a.Ends {
		p.ch = append(p.ch, m(w.Num))
	}
	p.put(b)
}

// PassEnd ends the program with the word by which a left-out block ends it.
func (p *Pen) PassEnd(it *stream.Item) {
	b := &it.Block
	p.dimNow(b)
	p.regainModes(b, &p.src)
	p.regainFeed(b)
	p.say(b, m(it.Actions.Stop.In(b).Num))
	p.src, p.have, p.stopped = it.After, it.After, true
}

// PassPart writes the part of a burn from fraction s0 to s1 as a burn of its own,
// at correction c. The head is where the part begins, as Place has it.
func (p *Pen) PassPart(it *stream.Item, s0, s1, c float64) {
	p.c, p.due = c, c // all of it is at this correction
	if s0 <= 0 && s1 >= 1 {
		p.Pass(it, Target{C: c})
		return
	}
	p.checkStart(it)
	p.dim = false // it burns on from where it stands
	b, st := &it.Block, &it.During
	modes := st
	if s0 <= 0 {
		modes = &it.Before
	}
	p.restore(b, modes, modes.Relative)
	p.jumped = false
	p.sayDark(b)
	p.mark(b)
	k := newCutter(p, it)
	k.from(s0)
	if s1 >= 1 {
		k.last(c, 1-s0, 0)
		p.close(it, false)
	} else {
		k.piece(s0 <= 0, Corner{S: s1, C: c}, 0)
		p.src = *st
		p.comeTo(st, false, false)
		at := it.Move.XY(s1)
		p.src.At = machine.Point{X: at[0], Y: at[1], Z: k.z(s1)}
		p.have.At.X, p.have.At.Y = k.at[0], k.at[1]
		p.jumped = true
		p.stopped, p.open = false, false
		p.style.keepBlock(b)
	}
}

// Place is where the part of a burn that begins at fraction s is written to begin.
func (p *Pen) Place(it *stream.Item, s float64) [2]float64 {
	k := newCutter(p, it)
	k.from(s)
	return k.at
}
