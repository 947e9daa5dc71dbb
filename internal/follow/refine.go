package follow

// Most moves have nothing to say: the string passes through the middle of
// what the surface leaves them. So the heights along a burn are only bounded
// at first, as one stretch with a gate at its end. The string is pulled as if
// only the heights at its ends were known, which is a wider tube than the true
// one; where it then leaves what the bound allows the burn is looked at more
// closely, and the string is pulled again. One that stays within all bounds is
// the taut string of the true tube, and of all between.

const (
	// outOfBounds in mm is how far the string must leave a bound to count.
	outOfBounds = 1e-6
	// refinings bounds how often a window is pulled again before every bound
	// in it is replaced.
	refinings = 24
)

// pullBounded is pullAll where burns are rough.
func (f *runner) pullBounded() {
	f.allow(false)
	for time := 1; ; time++ {
		f.pullAll()
		if !f.refine(time) {
			break
		}
	}
	f.allow(true)
}

// allow lets the rough burns ask for what bounds them, or for what they are
// known to ask for.
func (f *runner) allow(bounds bool) {
	for _, h := range f.blocks {
		if !h.rough {
			continue
		}
		if bounds {
			f.ask(h, h.bound[0], h.bound[1])
		} else {
			f.ask(h, f.tube.ends(h, 0), f.tube.ends(h, 1))
		}
	}
}

// ask lets a rough burn ask for these spans at its ends.
func (f *runner) ask(h *held, from, to span) {
	start, end := &f.gates[h.g0], &f.gates[h.g1]
	start.starting, end.ending = from, to
	start.settle()
	end.settle()
}

// refine looks more closely at the rough burns whose bounds the string leaves,
// at last at all of them. It reports whether the string must be pulled again.
func (f *runner) refine(time int) bool {
	first := -1
	for i, h := range f.blocks {
		if h.rough && (time > refinings || f.leaves(h)) {
			h.rough, h.refined = false, true
			if first < 0 {
				first = i
			}
		}
	}
	if first < 0 {
		return false
	}
	old := append(f.oldGates[:0], f.gates...)
	f.oldGates = old
	blocks := append(f.oldBlocks[:0], f.blocks[first:]...)
	f.oldBlocks = blocks
	tb := &f.tube
	tb.gates, f.blocks = f.gates[:blocks[0].g0+1], f.blocks[:first]
	lastBurn := f.lastBurn
	for n, h := range blocks {
		g0, g1 := h.g0, h.g1
		if !h.refined {
			if first+n == f.lastBurn {
				lastBurn = len(f.blocks)
			}
			h.g0 = int32(len(tb.gates) - 1)
			for _, g := range old[g0+1 : g1+1] {
				g.move = int32(len(f.blocks))
				tb.gates = append(tb.gates, g)
			}
			h.g1 = int32(len(tb.gates) - 1)
			f.blocks = append(f.blocks, h)
			continue
		}
		h.refined = false
		from := len(f.blocks)
		if h.loose {
			f.blocks = f.takeApart(f.blocks, h, time > refinings)
		} else {
			f.blocks = append(f.blocks, h)
		}
		tb.reopen()
		d := 0.0
		for i := from; i < len(f.blocks); i++ {
			p, start := f.blocks[i], int32(len(tb.gates)-1)
			switch {
			case time > refinings:
				tb.layWell(int32(i), p)
			case p.loose:
				p.rough = true
				tb.layRough(int32(i), p)
			default:
				f.closer(int32(i), p, h, d)
			}
			d += p.mv.Length
			p.g0, p.g1 = start, int32(len(tb.gates)-1)
			if first+n == f.lastBurn && p.mv.Burn {
				lastBurn = i
			}
		}
		tb.rejoin(&old[g1])
	}
	f.gates, f.lastBurn = tb.gates, lastBurn
	return true
}

// leaves tells that the string leaves what the bounds of a rough burn allow, and
// that for a loose chunk no others do.
func (f *runner) leaves(h *held) bool {
	if h.loose && h.bound == [2]span{} {
		level := span{h.high.h + f.opt.Defocus, h.low.h + f.opt.Defocus}
		h.bound = [2]span{level, level}
	}
	out := f.beyond(h, f.c[h.g0], f.c[h.g1])
	return out && !(h.loose && f.rebound(h))
}

// beyond tells that a straight way from correction c0 to c1 leaves what the
// bounds of a rough burn allow.
func (f *runner) beyond(h *held, c0, c1 float64) bool {
	over, under := h.spends(c0, c1)
	return over > f.reach.near+outOfBounds || under > f.reach.far+outOfBounds
}

// reopen takes back what the rough burn that begins at the last gate asks of it.
func (tb *tubeBuilder) reopen() {
	start := &tb.gates[len(tb.gates)-1]
	start.starting = all()
	start.settle()
}

// closer lays the gates of a burn that its bounds were not good enough for, as
// part of the loose chunk whole or not: with closer bounds, if the string as it
// lies stays within those, and with all that there is to know otherwise.
func (f *runner) closer(i int32, h, whole *held, from float64) {
	tb := &f.tube
	g0, g1 := whole.g0, whole.g1
	slope := (f.c[g1] - f.c[g0]) / whole.mv.Length
	c0 := f.c[g0] + slope*from
	c1 := c0 + slope*h.mv.Length
	before := h.known
	for !h.rough && tb.bound(h, knownClosely) {
		h.rough = !f.beyond(h, c0, c1)
	}
	switch {
	case h.rough:
		tb.layRough(i, h)
	case h.known == knownClosely && before < knownClosely: // just now
		tb.lay(i, &h.mv)
	default:
		tb.layWell(i, h)
	}
}

// rejoin takes what others ask of the gate that it ended at.
func (tb *tubeBuilder) rejoin(end *gate) {
	g := &tb.gates[len(tb.gates)-1]
	g.well.narrow(end.well.a, end.well.b)
	if end.min > g.min {
		g.min, g.tipLine, g.tipAt = end.min, end.tipLine, end.tipAt
	}
	g.max = min(g.max, end.max)
	g.starting = end.starting
	g.settle()
}
