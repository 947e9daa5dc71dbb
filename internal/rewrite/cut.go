package rewrite

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// arcDigits is how many decimals more than a cut point an arc's centre gets,
// so that both radii stay within RS274's rule.
const arcDigits = 1

// cutter cuts one move into pieces: all but the last are blocks of their own,
// and the block itself becomes the last.
type cutter struct {
	p     *Pen
	it    *stream.Item
	unit  float64
	dec   int8
	words [2]*program.Word // the block's own X and Y, nil where it has none
	has   [2]bool          // which of X and Y are written
	zero  [2]float64       // where their numbers count from, in mm, but for done
	at    [2]float64       // where the last piece ended, as written, in mm
	s     float64          // the fraction of the move there, as meant
	done  [2]int64         // sum of the relative words so far, in last decimals
}

func newCutter(p *Pen, it *stream.Item) cutter {
	m, st, a, b := &it.Move, &it.During, &it.Actions, &it.Block
	k := cutter{p: p, it: it, unit: Unit(st.Inches), dec: p.opt.decimals(st.Inches), at: [2]float64{m.From.X, m.From.Y},
		words: [2]*program.Word{a.X.In(b), a.Y.In(b)}, zero: [2]float64{st.Offset.X, st.Offset.Y}}
	if st.Relative {
		k.zero = k.at
	}
	if m.Kind == machine.Arc {
		k.dec = max(k.dec, machine.ArcDecimals(st.Inches))
	}
	for i, w := range k.words {
		if w != nil {
			k.dec = max(k.dec, w.Num.Dec)
		}
		k.has[i] = w != nil || m.Kind == machine.Arc
	}
	return k
}

// cut writes all pieces of the move but the last, and adds to the block itself
// what it needs to be the last piece, which ends at the target.
func (k *cutter) cut(t *Target) {
	k.p.mark(&k.it.Block)
	m := &k.it.Move
	for i, corner := range t.Corners {
		next := 1.0
		if i+1 < len(t.Corners) {
			next = t.Corners[i+1].S
		}
		k.piece(i == 0, corner, m.Seconds*(next-corner.S))
	}
	k.last(t.C, k.part(k.at, [2]float64{m.To.X, m.To.Y}, 1-k.s), t.Next)
	k.p.Figures.Points += len(t.Corners)
}

// z is the programmed Z at a fraction of the move.
func (k *cutter) z(s float64) float64 {
	m := &k.it.Move
	return m.From.Z + (m.To.Z-m.From.Z)*s
}

// leads reports whether word i, which is none of the motion's own, must be on
// the first piece, since it acts before or during motion.
func (k *cutter) leads(i int) bool {
	w := &k.it.Block.Words[i]
	switch w.Letter {
	case 'N', 'G', 'X', 'Y', 'I', 'J', 'K', 'R', 'F', k.p.opt.Machine.ZAxis:
		return false
	}
	return !k.it.Actions.Stop.Set().Has(i)
}

// piece writes the piece up to a corner, behind which the next takes so many s.
func (k *cutter) piece(first bool, c Corner, next float64) {
	p, m, st := k.p, &k.it.Move, &k.it.During
	if first {
		for _, w := range k.it.Block.Words {
			if w.Letter == 'G' {
				p.ch = append(p.ch, g(w.Num))
			}
		}
	}
	a := &k.it.Actions
	p.regainMotion(k.it, first && a.G[machine.MotionMode] != 0)
	at := k.at
	nums := k.spell(m.XY(c.S))
	for i, letter := range [2]byte{'X', 'Y'} {
		if k.has[i] {
			p.ch = append(p.ch, program.Change{Letter: letter, Num: nums[i]})
		}
	}
	p.finely(k.it, m.Length*(c.S-k.s), next)
	z0, z1, before := k.z(k.s), k.z(c.S), p.off
	if z1 != z0 || p.needsZ(c.C, st) {
		p.addZ(z0, z1, p.opt.Sigma()*c.C, p.dec, st)
		p.checkRange(z1+p.off, k.it.Block.Line, m.To)
	}
	if m.Kind == machine.Arc {
		p.ch = append(p.ch, k.centre(at)...)
	}
	p.setFeed(k.it, p.link(k.part(at, k.at, c.S-k.s), before, c.C), false, first)
	k.s = c.S
	p.regainBeam(k.it, first && a.Power != 0, first && a.Beam != 0)
	if first {
		for i := range k.it.Block.Words {
			if w := &k.it.Block.Words[i]; k.leads(i) {
				num, _ := p.opt.unlit(w.Letter, w.Num)
				if i == int(a.Power)-1 && !p.opt.Rehearsal {
					num = p.power(k.it)
				}
				p.ch = append(p.ch, program.Change{Letter: w.Letter, Num: num})
			}
		}
	}
	p.put(&k.it.Block)
	p.have.Motion = st.Motion
}

// from begins at a fraction of the move, as near as places are written.
func (k *cutter) from(s float64) {
	if s > 0 {
		k.spell(k.it.Move.XY(s))
		k.s = s
	}
}

// spell gives the numbers that lead from the last place to another, as near as they
// are written, and goes on there.
func (k *cutter) spell(to [2]float64) (nums [2]program.Number) {
	for i := range to {
		if !k.has[i] {
			k.at[i] = to[i]
			continue
		}
		num := program.Round((to[i]-k.zero[i])/k.unit, k.dec)
		k.at[i] = num.Float()*k.unit + k.zero[i]
		if nums[i] = num; k.it.During.Relative {
			nums[i].Mant -= k.done[i]
			k.done[i] = num.Mant
		}
	}
	return nums
}

// part is the part of the move's length between two places as written, which
// is meant to be ds.
func (k *cutter) part(from, to [2]float64, ds float64) float64 {
	m := &k.it.Move
	if m.Kind != machine.Arc {
		return math.Hypot(to[0]-from[0], to[1]-from[1]) / m.Length
	}
	a := math.Atan2(to[1]-m.CY, to[0]-m.CX) - math.Atan2(from[1]-m.CY, from[0]-m.CX)
	// a is known but for whole turns; the intended part tells them.
	turns := math.Round((ds*m.Sweep - a) / (2 * math.Pi))
	return (a + 2*math.Pi*turns) / m.Sweep
}

// centre gives I and J of an arc that starts at the given place, in the arc
// distance mode in force.
func (k *cutter) centre(at [2]float64) []program.Change {
	m, st := &k.it.Move, &k.it.During
	dec := k.dec + arcDigits
	if st.Arcs == machine.AbsoluteArcs {
		at = [2]float64{st.Offset.X, st.Offset.Y}
	}
	return []program.Change{
		{Letter: 'I', Num: program.Round((m.CX-at[0])/k.unit, dec)},
		{Letter: 'J', Num: program.Round((m.CY-at[1])/k.unit, dec)},
	}
}

// last adds to the block itself what it needs to be the last piece, the part ds of
// the move, which ends at correction c, behind which what is next takes so many s.
func (k *cutter) last(c, ds, next float64) {
	p, from := k.p, k.p.off
	p.finely(k.it, k.it.Move.Length*(1-k.s), next)
	for i := range k.it.Block.Words {
		if w := &k.it.Block.Words[i]; k.leads(i) && (w.Letter == 'M' || w.Letter == 'T') {
			p.ch = append(p.ch, program.DropWord(i)) // stands on the first piece, once
		}
	}
	k.lastPlace()
	if to, st, z := k.it.Move.To.Z, &k.it.During, k.z(k.s); st.Relative && z != to {
		// The block's own increment counts from the start of the move.
		p.addZ(z, to, p.opt.Sigma()*c, p.dec, st)
	} else {
		p.setZ(k.it, c)
	}
	p.setFeed(k.it, p.link(ds, from, c), true, false)
}

// lastPlace adds what the block's own words need to lead to the end from where the
// piece before ended.
func (k *cutter) lastPlace() {
	p, m, st := k.p, &k.it.Move, &k.it.During
	for i, letter := range [2]byte{'X', 'Y'} {
		w := k.words[i]
		if !k.has[i] || !st.Relative && w != nil {
			continue
		}
		num := spelled([2]float64{m.To.X, m.To.Y}[i], k.zero[i], st.Inches)
		if st.Relative {
			num = program.Number{}
			if w != nil {
				num, _ = w.Num.At(k.dec)
			}
			num.Dec = k.dec
			num.Mant -= k.done[i]
		}
		p.ch = append(p.ch, program.Change{Letter: letter, Num: num})
	}
	if m.Kind == machine.Arc {
		p.ch = append(p.ch, k.centre(k.at)...)
		if r := k.it.Actions.R; r != 0 {
			p.ch = append(p.ch, program.DropWord(int(r)-1))
		}
	}
}
