package follow

import (
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// arcDigits is how many decimals more than a cut point an arc's centre gets,
// so that both radii stay within RS274's rule.
const arcDigits = 1

// cut writes all pieces of a move but the last as blocks of their own, and
// adds to the block itself what it needs to be the last piece.
func (w *writer) cut(h *held) {
	b, m, st := &h.block, &h.mv, &h.during
	w.mark(b)
	k := cutter{w: w, h: h, unit: unitOf(st), dec: w.opt.decimals(st.Inches), at: [2]float64{m.From.X, m.From.Y}}
	if m.Kind == machine.Arc {
		k.dec = max(k.dec, machine.ArcDecimals(st.Inches))
	}
	for i, letter := range [2]byte{'X', 'Y'} {
		wd, has := b.Find(letter)
		if has {
			k.dec = max(k.dec, wd.Num.Dec)
		}
		k.has[i] = has || m.Kind == machine.Arc
	}
	s := 0.0
	for i, c := range w.corners {
		k.piece(i == 0, s, c)
		s = c.s
	}
	from := w.off
	w.ch = w.ch[:0]
	for i, wd := range b.Words {
		if wd.Letter == 'M' && !afterMotion(wd.Num) {
			w.ch = append(w.ch, program.DropWord(i)) // stands on the first piece
		}
	}
	k.last()
	w.setZAfterCuts(h)
	w.setFeed(h, link{ds: k.part(k.at, [2]float64{m.To.X, m.To.Y}, 1-s), doff: w.off - from}, nil)
	w.sum.Points += len(w.corners)
}

// cutter cuts one move.
type cutter struct {
	w    *writer
	h    *held
	unit float64
	dec  int8
	has  [2]bool    // which of X and Y are written
	at   [2]float64 // where the last piece ended, as written, in mm
	done [2]int64   // sum of the relative words so far, in last decimals
}

// piece writes the piece from fraction s to corner c.
func (k *cutter) piece(first bool, s float64, c corner) {
	w, m, st := k.w, &k.h.mv, &k.h.during
	ch := w.ch[:0]
	if first {
		for _, wd := range k.h.block.Words {
			if wd.Letter == 'G' {
				ch = append(ch, program.Change{Letter: 'G', Num: wd.Num})
			}
		}
		if w.strayed {
			w.ch = ch
			w.regainMotion(k.h)
			ch = w.ch
		}
	}
	to := m.XY(c.s)
	at := k.at
	for i, letter := range [2]byte{'X', 'Y'} {
		if !k.has[i] {
			k.at[i] = to[i]
			continue
		}
		var num program.Number
		if st.Relative {
			start := [2]float64{m.From.X, m.From.Y}[i]
			num = program.Round((to[i]-start)/k.unit, k.dec)
			sum := num.Mant
			num.Mant -= k.done[i]
			k.done[i] = sum
			k.at[i] = start + program.Number{Mant: sum, Dec: num.Dec}.Float()*k.unit
		} else {
			zero := [2]float64{st.Offset.X, st.Offset.Y}[i]
			num = program.Round((to[i]-zero)/k.unit, k.dec)
			k.at[i] = num.Float()*k.unit + zero
		}
		ch = append(ch, program.Change{Letter: letter, Num: num})
	}
	z0 := m.From.Z + (m.To.Z-m.From.Z)*s
	z1 := m.From.Z + (m.To.Z-m.From.Z)*c.s
	before := w.off
	if want := w.opt.sigma() * c.c; z1 != z0 || math.Abs(want-w.off) > w.leastChange(st) {
		num := w.zNumber(z1+want, z0, w.opt.decimals(st.Inches), st)
		w.reach(num, z0, z1, st)
		ch = append(ch, program.Change{Letter: w.opt.Machine.ZAxis, Num: num})
	}
	if m.Kind == machine.Arc {
		ch = append(ch, k.centre(at)...)
	}
	w.ch = ch
	w.setFeed(k.h, link{ds: k.part(at, k.at, c.s-s), doff: w.off - before}, &first)
	if first {
		for _, wd := range k.h.block.Words {
			switch {
			case wd.Letter == 'M' && afterMotion(wd.Num):
			case leads(wd.Letter, w.opt.Machine.ZAxis):
				w.ch = append(w.ch, program.Change{Letter: wd.Letter, Num: wd.Num})
			}
		}
	}
	if w.opt.Rehearsal {
		w.darkenChanges()
	}
	w.add(&k.h.block, w.ch)
	w.ch = w.ch[:0]
}

// part is the part of the move's length between two places as written, which
// is meant to be ds.
func (k *cutter) part(from, to [2]float64, ds float64) float64 {
	m := &k.h.mv
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
	m, st := &k.h.mv, &k.h.during
	dec := k.dec + arcDigits
	if st.Arcs == machine.AbsoluteArcs {
		at = [2]float64{st.Offset.X, st.Offset.Y}
	}
	return []program.Change{
		{Letter: 'I', Num: program.Round((m.CX-at[0])/k.unit, dec)},
		{Letter: 'J', Num: program.Round((m.CY-at[1])/k.unit, dec)},
	}
}

// endDigits is how many decimals tell a programmed end exactly in spite of
// the float that carries it.
const endDigits = 9

// last adds what the block's own words need to be those of the last piece.
func (k *cutter) last() {
	w, m, st := k.w, &k.h.mv, &k.h.during
	for i, letter := range [2]byte{'X', 'Y'} {
		wd, has := k.h.block.Find(letter)
		if !k.has[i] || !st.Relative && has {
			continue
		}
		var num program.Number
		if st.Relative {
			if has {
				num, _ = wd.Num.At(k.dec)
			}
			num.Dec = k.dec
			num.Mant -= k.done[i]
		} else {
			end := [2]float64{m.To.X - st.Offset.X, m.To.Y - st.Offset.Y}[i]
			num = program.Round(end/k.unit, endDigits).Trim()
		}
		w.ch = append(w.ch, program.Change{Letter: letter, Num: num})
	}
	if m.Kind == machine.Arc {
		w.ch = append(w.ch, k.centre(k.at)...)
		if _, has := k.h.block.Find('R'); has {
			w.ch = append(w.ch, program.Change{Letter: 'R', Drop: true})
		}
	}
}

// setZAfterCuts is setZ for the last piece: its programmed Z starts where the
// piece before ended.
func (w *writer) setZAfterCuts(h *held) {
	m := h.mv
	s := w.corners[len(w.corners)-1].s
	from := m.From.Z + (m.To.Z-m.From.Z)*s
	if from != m.To.Z && h.during.Relative {
		// The block's own increment counts from the start of the move.
		dec := w.opt.decimals(h.during.Inches)
		num := w.zNumber(m.To.Z+w.opt.sigma()*h.c, from, dec, &h.during)
		w.reach(num, from, m.To.Z, &h.during)
		w.ch = append(w.ch, program.Change{Letter: w.opt.Machine.ZAxis, Num: num})
		return
	}
	w.setZ(h, h.c)
}

// afterMotion tells the M words that act after the motion of their line.
func afterMotion(n program.Number) bool {
	for _, m := range [...]int64{0, 1, 2, 30, 60} {
		if n.Cmp(program.Int(m)) == 0 {
			return true
		}
	}
	return false
}

// leads tells the words besides G that must be on the first piece of a cut
// move, since they act before or during motion.
func leads(letter, zAxis byte) bool {
	switch letter {
	case 'N', 'G', 'X', 'Y', 'I', 'J', 'K', 'R', 'F', zAxis:
		return false
	}
	return true
}
