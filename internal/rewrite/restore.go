package rewrite

import (
	"math"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// powerSlack is how far a written power may be off the one meant, by its decimals:
// so much that power over speed stays within FeedSlack.
const powerSlack = 0.0025

// Jump leaves out the blocks up to where the original has st in force. What the
// written program has in force differs from then on, and is restored where it
// matters: modes and offsets before the next line, motion, feed, power and beam
// on the next block that relies on them. The head stays where it is.
func (p *Pen) Jump(st *machine.State) {
	z, known := p.src.At.Z+p.off, p.src.ZKnown
	p.src = *st
	p.off = 0
	if known && st.ZKnown {
		p.off = snapped(z - st.At.Z)
	}
	p.c = p.opt.Sigma() * p.off
	p.jumped, p.part, p.numbers.moved = true, true, true
}

// g and m are the changes that put in a G word and an M word.
func g(n program.Number) program.Change { return program.Change{Letter: 'G', Num: n} }
func m(n program.Number) program.Change { return program.Change{Letter: 'M', Num: n} }

// choose returns the first number where ok, else the second.
func choose(ok bool, yes, no program.Number) program.Number {
	if ok {
		return yes
	}
	return no
}

// restore brings the modes of the written program to those of st, but for the
// distance mode, which becomes relative or not. Lines are in the style of like.
func (p *Pen) restore(like *program.Block, st *machine.State, relative bool) {
	h := &p.have
	say := func(differs bool, n program.Number) {
		if differs {
			p.ch = append(p.ch, g(n))
		}
	}
	say(st.Work != 0 && h.Work != st.Work, st.Work.Number())
	unsaid := st.Said &^ h.Said // where a program begins, nobody knows what is in force
	say(unsaid.Has(machine.Plane), program.Int(17))
	say(unsaid.Has(machine.Units) || h.Inches != st.Inches, choose(st.Inches, program.Int(20), program.Int(21)))
	say(unsaid.Has(machine.Distance) || h.Relative != relative, choose(relative, program.Int(91), program.Int(90)))
	say(unsaid.Has(machine.FeedMode) || h.InverseTime != st.InverseTime, choose(st.InverseTime, program.Int(93), program.Int(94)))
	say(h.Arcs != st.Arcs && st.Arcs != machine.UnknownArcs,
		choose(st.Arcs == machine.AbsoluteArcs, program.Number{Mant: 901, Dec: 1}, program.Number{Mant: 911, Dec: 1}))
	within := st.PathP // how far from the path, in the units of the line
	if st.PathInches != st.Inches {
		within = spelled(st.PathP.Float()*Unit(st.PathInches), 0, st.Inches)
	}
	path := st.Path != 0 && (h.Path != st.Path || h.PathHasP != st.PathHasP || pathOff(h, st) > samePath)
	say(path, st.Path.Number())
	if path && st.PathHasP {
		p.ch = append(p.ch, program.Change{Letter: 'P', Num: within})
	}
	if h.Inches != st.Inches || h.InverseTime != st.InverseTime {
		p.feed = program.Number{}
	}
	h.Work, h.Inches, h.Relative, h.InverseTime, h.Arcs = st.Work, st.Inches, relative, st.InverseTime, st.Arcs
	h.Path, h.PathP, h.PathHasP, h.PathInches = st.Path, st.PathP, st.PathHasP, st.PathInches
	h.Said |= st.Said
	p.put(like)
	p.restoreCoolant(like, st)
	p.restoreOffsets(like, st)
}

// samePath is how far apart in mm two distances from a path are the same: what rounding
// loses in other units.
const samePath = 1e-7

// pathOff is how far apart in mm the distances are that two states allow from the path.
func pathOff(a, b *machine.State) float64 {
	return math.Abs(a.PathP.Float()*Unit(a.PathInches) - b.PathP.Float()*Unit(b.PathInches))
}

// SayModes says the modes that the original has said up to where it has st in force,
// whose blocks have been left out: before anything that is put in stands or moves.
func (p *Pen) SayModes(like *program.Block, st *machine.State) {
	s := &p.src
	s.Relative, s.Inches, s.InverseTime, s.Said = st.Relative, st.Inches, st.InverseTime, st.Said
	p.restore(p.like(like), s, s.Relative)
	p.jumped = true
}

// regainModes restores the modes where blocks have been left out or put in.
func (p *Pen) regainModes(like *program.Block, st *machine.State) {
	if p.jumped {
		p.restore(like, st, st.Relative)
	}
}

// restoreCoolant brings air and coolant to those of st.
func (p *Pen) restoreCoolant(like *program.Block, st *machine.State) {
	h := &p.have
	if h.Mist && !st.Mist || h.Flood && !st.Flood {
		p.say(like, m(program.Int(9)))
		h.Mist, h.Flood = false, false
	}
	if st.Mist && !h.Mist {
		p.say(like, m(program.Int(7)))
	}
	if st.Flood && !h.Flood {
		p.say(like, m(program.Int(8)))
	}
	h.Mist, h.Flood = st.Mist, st.Flood
}

// restoreOffsets brings the axis offsets to those of st. A G92 gives an axis the
// number that, where the head stands, makes the offset; it also stores it, so
// that one which is suspended is said and then suspended.
func (p *Pen) restoreOffsets(like *program.Block, st *machine.State) {
	h := &p.have
	if h.Offset == st.Offset && h.Stored == st.Stored {
		return
	}
	suspended := st.Offset != st.Stored
	if h.Stored != st.Stored || !suspended && h.Offset != st.Offset {
		p.ch = append(p.ch, g(program.Int(92)))
		at := [3]float64{h.At.X, h.At.Y, p.Z()}
		want := [3]float64{st.Stored.X, st.Stored.Y, st.Stored.Z}
		now := [3]float64{h.Offset.X, h.Offset.Y, h.Offset.Z}
		same := want == now // all that is stored is in force: say one of them again
		for i, letter := range [3]byte{'X', 'Y', p.opt.Machine.ZAxis} {
			if want[i] != now[i] || same && i == 0 {
				p.ch = append(p.ch, program.Change{Letter: letter, Num: spelled(at[i], want[i], h.Inches)})
			}
		}
		p.put(like)
	}
	if suspended {
		p.say(like, g(program.Number{Mant: 922, Dec: 1}))
	}
	h.Offset, h.Stored = st.Offset, st.Stored
}

// comeTo notes that the written program has st in force, but of the beam's word and
// of the power only what was said.
func (p *Pen) comeTo(st *machine.State, word, power bool) {
	h := &p.have
	beamWord, lit, follows, was, said := h.BeamWord, h.BeamLit, h.BeamFollows, h.Power, h.PowerSaid
	*h = *st
	if !word {
		h.BeamWord, h.BeamLit, h.BeamFollows = beamWord, lit, follows
	}
	if !power {
		h.Power, h.PowerSaid = was, said
	}
	p.opt.dim(h)
}

// regainBeam puts power and beam word into a burn that relies on ones which the
// written program does not have in force, unless they are said there.
func (p *Pen) regainBeam(it *stream.Item, power, beam bool) {
	switch {
	case p.opt.Rehearsal:
		return
	case it.Move.Burn:
	case power:
		p.lowered = false
		return
	case usesPower(it):
		p.regainPower(&it.During)
		return
	default:
		return
	}
	d, h, num := &it.During, &p.have, p.power(it)
	p.lowered = d.PowerSaid && num.Cmp(d.Power) != 0
	if d.PowerSaid && !power && !(h.PowerSaid && h.Power.Cmp(num) == 0) {
		word := program.Change{Letter: p.opt.Machine.PowerWord, Num: num}
		if it.Move.Kind == machine.Dwell && word.Letter == 'P' {
			ch := append([]program.Change(nil), p.ch...)
			p.say(&it.Block, word) // beside a dwell P is its time
			p.ch = append(p.ch[:0], ch...)
		} else {
			p.ch = append(p.ch, word)
		}
	}
	h.Power, h.PowerSaid = num, d.PowerSaid
	switch {
	case d.BeamWord != machine.NoBeam:
		if !beam && h.BeamWord != d.BeamWord {
			p.ch = append(p.ch, m(program.Int(int64(d.BeamWord))))
		}
		h.BeamWord, h.BeamLit, h.BeamFollows = d.BeamWord, d.BeamLit, d.BeamFollows
	case !p.hasBeam(d):
		p.relight(it)
	}
}

// hasBeam reports whether the beam's word of st is in force in the written program, or
// another that lets it fire where st has none.
func (p *Pen) hasBeam(st *machine.State) bool {
	h := &p.have
	if st.BeamWord != machine.NoBeam {
		return h.BeamWord == st.BeamWord
	}
	return h.BeamLit || h.BeamWord == machine.NoBeam && !p.opt.OffBefore
}

// relight puts the beam on again, which the pen has put off by its word in a program
// that has none: by one whose power does not follow the speed, as none does without a
// word. Where the program says no power either, nothing tells when it may fire.
func (p *Pen) relight(it *stream.Item) {
	o := &p.opt.Machine
	for _, on := range o.BeamOn {
		if it.During.PowerSaid && !slices.Contains(o.PowerFollows, on) {
			p.ch = append(p.ch, m(program.Int(int64(on))))
			p.have.BeamWord, p.have.BeamLit, p.have.BeamFollows = on, true, false
			return
		}
	}
	p.breach(NoBeamWord, it.Block.Line, it.Move.From, 0)
}

// power is the number that the power word must have in the line under way, which is
// an item or a piece of it.
func (p *Pen) power(it *stream.Item) program.Number {
	d := &it.During
	if p.share == 1 || !d.PowerSaid {
		return d.Power
	}
	least := p.opt.PowerLeast
	meant := max(d.Power.Float()*p.share, least)
	for dec := d.Power.Trim().Dec; ; dec++ {
		num := program.Round(meant, dec)
		v := num.Float()
		if math.Abs(v-meant) <= powerSlack*meant && v >= least || dec == program.MaxDigits {
			return num
		}
	}
}

// takePower gives the power word of the block of an item, where it has one, the
// number that it must have.
func (p *Pen) takePower(it *stream.Item) {
	w := it.Actions.Power.In(&it.Block)
	if w == nil || p.opt.Rehearsal {
		return
	}
	if num := p.power(it); num.Cmp(w.Num) != 0 {
		p.ch = append(p.ch, program.SetWord(int(it.Actions.Power)-1, num))
	}
}

// usesPower reports whether an item that does not burn uses the power all the same:
// one that moves or waits with the beam on, or by a feed.
func usesPower(it *stream.Item) bool {
	lit := it.During.Beam == machine.On && (it.Move.Kind != machine.Still || it.Actions.Stop != 0)
	return lit || it.Moves() && !it.Move.Rapid
}

// regainPower puts the power in force in st into the line under way, where a share
// of it is in force.
func (p *Pen) regainPower(st *machine.State) {
	if p.lowered {
		p.ch = append(p.ch, program.Change{Letter: p.opt.Machine.PowerWord, Num: st.Power})
		p.have.Power, p.lowered = st.Power, false
	}
}

// sayDark puts the beam off, once, before anything moves in a rehearsal.
func (p *Pen) sayDark(b *program.Block) {
	if !p.opt.Rehearsal || p.dark {
		return
	}
	p.dark = true
	p.say(b, m(p.opt.offWord()))
	p.opt.dim(&p.have)
}
