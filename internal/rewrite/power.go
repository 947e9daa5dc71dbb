package rewrite

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// What marks is power over speed. A burn that is slowed gets the same share of its
// power, unless the source sees to that: its power word is lowered for it alone.

// powerSlack is how far a written power may be off the one meant, by its decimals:
// so much that power over speed stays within FeedSlack.
const powerSlack = 0.0025

// slowed returns the share of its power that a burn gets which takes so long instead
// of the programmed time, and counts it where it is slowed.
func (p *Pen) slowed(it *stream.Item, seconds, took float64) (share float64) {
	m, o := &it.Move, p.opt
	if !m.Burn || took <= seconds*(1+FeedSlack) {
		return 1
	}
	share = seconds / took
	p.Figures.Slowed++
	p.Figures.SlowedBy = max(p.Figures.SlowedBy, 1-share)
	switch {
	case !o.PowerGoes(m):
		return 1
	case m.Power <= 0:
		p.breach(PowerUnsaid, it.Block.Line, m.From, 1-share)
	case share*m.Power < o.PowerLeast*(1-FeedSlack):
		p.breach(PowerLow, it.Block.Line, m.From, 1-share)
	}
	if o.Rehearsal {
		return 1
	}
	return share
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
