package rewrite

import (
	"math"

	"sagitta/internal/bench"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// The Z written is the programmed one plus an offset. The offset is tracked as
// it was spelled, not as it was wanted, so that relative words sum exactly.

// setZ adds the change of the block's Z that leads to correction c at its end,
// or none where what stands already does.
func (p *Pen) setZ(it *stream.Item, c float64) {
	m, z := &it.Move, it.Actions.Z.In(&it.Block)
	if m.Lost != 0 || !it.After.ZKnown {
		// It goes where the machine says, or from there by what the program
		// says; an absolute Z will count from zero again.
		if !it.After.ZKnown {
			p.off = 0
		}
		return
	}
	dec := p.dec
	kept := p.off // the offset that results if the block is left alone
	if z != nil {
		dec = max(dec, z.Num.Dec)
		if !it.During.Relative {
			kept = 0
		}
	}
	want := p.opt.Sigma() * c
	mark := m.Length == 0 && !m.FromUnknown && !m.ZUnknown && (m.From.Z == m.To.Z || m.Burn)
	if mark || m.Burn && p.opt.ZMoves == bench.BeamOff {
		want = p.off // moves as it did, whatever a finer unit's rounding would like
	}
	if math.Abs(want-kept) <= p.leastChange(&it.During) {
		p.off = kept
		if z != nil {
			p.Figures.z(m.To.Z + p.off)
		}
		return
	}
	p.addZ(m.From.Z, m.To.Z, want, dec, &it.During)
}

// addZ adds the Z word that leads from the programmed height from to the height to
// with the offset want.
func (p *Pen) addZ(from, to, want float64, dec int8, st *machine.State) {
	num := p.zNumber(to, want, from, dec, st)
	p.reach(num, from, to, st)
	p.ch = append(p.ch, program.Change{Letter: p.opt.Machine.ZAxis, Num: num})
}

// zNumber is the number of a Z word that leads from the programmed height
// from, with the offset in force, to the programmed height to with the offset
// off, in mm. The offset alone goes by steps: a programmed move of Z stays.
func (p *Pen) zNumber(to, off, from float64, dec int8, st *machine.State) program.Number {
	unit := Unit(st.Inches)
	if p.opt.Coarse(st.Inches) {
		off = math.Round(off/p.opt.ZResolution) * p.opt.ZResolution
	}
	z := to + off
	if !st.Relative {
		return program.Round((z-st.Offset.Z)/unit, dec)
	}
	// Where the way starts between two decimals, as after a change of units,
	// they must not be rounded to before the start is taken off.
	start, end := (from+p.off)/unit, z/unit
	if on := program.Round(start, dec); math.Abs(on.Float()-start) < rounding {
		end = program.Round(end, dec).Float()
	}
	return program.Round(end-start, dec)
}

// reach sets the offset to what the number of a Z word leads to, exactly: the
// word goes from the programmed height from to the programmed height to.
func (p *Pen) reach(num program.Number, from, to float64, st *machine.State) {
	p.off, p.offStep = p.reached(num, from, to, st), p.step(st.Inches)
	p.Figures.z(to + p.off)
}

// reached is the offset that the number of a Z word leads to.
func (p *Pen) reached(num program.Number, from, to float64, st *machine.State) float64 {
	z := num.Float() * Unit(st.Inches)
	if st.Relative {
		z += from + p.off
	} else {
		z += st.Offset.Z
	}
	return snapped(z - to)
}

// snap is how many of the smallest parts of an offset are a mm.
const snap = 1e10

// snapped rounds an offset to what numbers can say, so that sums of relative
// words do not drift by rounding.
func snapped(off float64) float64 { return math.RoundToEven(off*snap) / snap }

// leastChange is the least change of Z that is worth a word. That a unit with finer
// steps comes into force is no reason to change it; that Z is written finer is.
func (p *Pen) leastChange(st *machine.State) float64 {
	step := p.step(st.Inches)
	if p.dec <= p.opt.decimals(st.Inches) {
		step = max(step, p.offStep)
	}
	return step / 2 * (1 + rounding)
}

// needsZ reports whether what stands is further from correction c than a written
// step tells.
func (p *Pen) needsZ(c float64, st *machine.State) bool {
	return p.away(c) > p.leastChange(st)
}

// checkStart notes a burn that does not start where its caller has it: there
// was no place to write the Z.
func (p *Pen) checkStart(it *stream.Item) {
	if p.Off(p.c) {
		p.breach(NoWay, it.Block.Line, it.Move.From, p.away(p.c))
	}
}

// Off reports whether what stands is further from correction c than any step that can
// be written.
func (p *Pen) Off(c float64) bool { return p.away(c) > max(p.opt.Step(false), p.opt.Step(true)) }

// away is by how much what stands is off correction c.
func (p *Pen) away(c float64) float64 { return math.Abs(p.opt.Sigma()*c - p.off) }

// checkRange notes a Z that the bench does not have.
func (p *Pen) checkRange(z float64, line int, at machine.Point) {
	if out := p.opt.OutOfRange(z); out > 0 {
		p.breach(OutOfRange, line, at, out)
	}
}

// keepOffset gives the G92 of a block the Z that it stands for where Z is
// written otherwise than programmed: the offset is then the one that the
// program means.
func (p *Pen) keepOffset(it *stream.Item) {
	z := it.Actions.Z.In(&it.Block)
	if z == nil || p.off == 0 || !it.After.ZKnown || it.Actions.Codes[machine.NonModal] != 920 {
		return
	}
	num := program.Round(z.Num.Float()+p.off/Unit(it.During.Inches), exactDigits).Trim()
	p.ch = append(p.ch, program.Change{Letter: z.Letter, Num: num})
}

// exactDigits is how many decimals tell a programmed number exactly in spite of
// the float that carries it.
const exactDigits = 9

// spelled is a place of the program, or an offset, as a number: lengths in mm
// less the offset in force, in its units.
func spelled(mm, offset float64, inches bool) program.Number {
	return program.Round((mm-offset)/Unit(inches), exactDigits).Trim()
}

// Where the path is rounded, Z is written with as many decimals as keep rounding from
// kinking it on a short move.

const (
	// kinked is the part of the step of Z's speed that the head takes which rounding may
	// make: what is left of it beside the corners that are planned.
	kinked = 0.2
	// longestZ is how many characters a Z word and a feed may make a line longer, finest
	// decimals and all.
	longestZ = 32
)

// coarsely lets Z have the usual decimals.
func (p *Pen) coarsely(inches bool) { p.dec = p.opt.decimals(inches) }

// finely decides the decimals of the Z where an item, or a part of it, ends that is so many
// mm of its length. Rounding moves both ends and the middle of two moves by half a decimal:
// that turns the slope by two decimals over the length of the shorter, next being how long
// in s what follows takes (see Target.Next).
func (p *Pen) finely(it *stream.Item, length, next float64) {
	p.decide(it, length, next, len(it.Block.Raw))
}

// decide decides them for lines of at most so many bytes.
func (p *Pen) decide(it *stream.Item, length, next float64, size int) {
	o, m, inches := p.opt, &it.Move, it.During.Inches
	p.coarsely(inches)
	most := o.finest(inches)
	if !o.Fine || p.dec >= most || o.Coarse(inches) || length <= 0 || m.Seconds <= 0 {
		return
	}
	if o.LineMax > 0 && size+longestZ > o.LineMax {
		return
	}
	seconds := next
	if own := m.Seconds * length / m.Length; !m.Rapid && (next <= 0 || own < next) {
		seconds = own
	}
	if seconds <= 0 {
		return
	}
	allowed := kinked * o.Inertia.Rise(0, 1) * seconds // Z's speed is its slope times that over XY
	for p.dec < most && 2*p.step(inches) > allowed*(1+rounding) {
		p.dec++
	}
}

// finelyRun decides them for all lines of a run, by the shortest.
func (p *Pen) finelyRun(it *stream.Item, next float64) {
	p.coarsely(it.During.Inches)
	if !p.opt.Fine {
		return
	}
	lines := it.Lines()
	first, last := &lines[0], &lines[len(lines)-1]
	shortest, longest := first.D-it.StartD, it.Size()-int(last.End-first.End)
	for k := 1; k < len(lines); k++ {
		shortest, longest = min(shortest, lines[k].D-lines[k-1].D), max(longest, int(lines[k].End-lines[k-1].End))
	}
	p.decide(it, shortest, next, longest)
}

// finest is the most decimals of a Z, in the unit of the program.
func (o *Options) finest(inches bool) int8 {
	if inches {
		return int8(o.DecimalsMaxInch)
	}
	return int8(o.DecimalsMaxMM)
}

// step is the least change of Z that is written on the line under way, in mm.
func (p *Pen) step(inches bool) float64 {
	if p.dec > p.opt.decimals(inches) {
		return Unit(inches) * math.Pow10(-int(p.dec))
	}
	return p.opt.Step(inches)
}
