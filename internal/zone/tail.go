package zone

import (
	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// tailItem takes an item behind the last burn.
func (f *frame) tailItem(b *batch, i int) {
	s := f.s
	it := &b.items[i]
	_, _ = f.tail.Write(b.text[b.start(i):it.end])
	f.tailSeconds += it.sec
	f.reliance(b, i)
	if !it.is(isMotion) {
		return
	}
	z0, z1 := s.heightsZ(b, it)
	f.tailEnd = &machine.Point{X: it.x, Y: it.y, Z: s.opt.sigma() * z1}
	// A motion to where the original stands already is one in other zones.
	if f.first == nil && (it.length > 0 || saysPlace(f.s.block(b, i))) {
		f.first, f.firstZ = &machine.Point{X: it.x, Y: it.y}, min(z0, z1)
		return
	}
	f.tailHigh = max(f.tailHigh, passes(it, z0, z1))
}

// reliance notes whether an item of the tail relies on what comes before.
func (f *frame) reliance(b *batch, i int) {
	it := &b.items[i]
	block := f.s.block(b, i)
	_, fed := block.Find('F')
	f.moved, f.fed = f.moved || saysMotion(block), f.fed || fed
	if !it.is(isMotion) {
		return
	}
	rapid := it.held >= 0 && b.blocks[it.held].mv.Rapid
	f.relies = f.relies || !f.moved || !rapid && !f.fed
}

// close ends the zone's program with the tail; e is in force behind the
// original's last burn, and last tells that the zone's program has just come
// from it.
func (f *frame) close(o *out, e *modal, last bool) {
	o.z.Seconds += f.tailSeconds
	sigma := o.sigma()
	like := f.likeOf(&f.tail)
	if last {
		o.force(e)
	}
	// Where the tail does not say where it goes, it begins where the original
	// leaves off.
	goes := last || f.s.p.endGoes
	end := e.at
	if o.opt.ByHand && !last && sigma*end.Z < sigma*o.lastZ {
		end.Z = o.lastZ // the original leaves off lower: nothing here does
	}
	high, from := f.tailHigh, o.m
	if !goes {
		from.at, from.known = e.at, true
	}
	if !last {
		h, _ := o.opt.Surface.At(from.at.X, from.at.Y)
		high = max(high, h-sigma*end.Z) // the original may leave off lower
	}
	if f.first != nil {
		high = max(high, o.over(&from, f.first.X, f.first.Y)-f.firstZ)
	}
	lift := o.lift(high, sigma*o.lastZ)
	hand := 0.0
	if o.opt.ByHand {
		hand, lift = lift, 0
	}
	up := sigma * lift
	switch {
	case last && lift > 0:
		o.darkness(like)
		st := machine.State{Relative: o.m.relative, Inches: o.m.inches}
		o.rise(like, &st, o.m.at.Z+up)
		o.m.motion = 0
	case last:
	case goes && o.written(end.Z)+up == o.m.at.Z:
	case goes:
		o.modes(e, like, false)
		o.toZ(o.written(end.Z)+up, like, 0)
	default:
		o.modes(e, like, false)
		o.travelTo(end.X, end.Y, o.written(end.Z)+up, like, 0, sigma*end.Z)
	}
	if hand > 0 {
		o.darkness(like)
		o.handRaise(hand, like)
	}
	if !last {
		o.modes(e, like, e.relative)
	}
	strayed := o.m.motion != e.motion || !o.m.feedSaid || o.m.feed.Cmp(e.feed) != 0
	if off := o.off + up; off != 0 || o.opt.Rehearsal || strayed && f.relies {
		f.endShifted(o, e, like, off)
		return
	}
	f.copy(o, &f.tail)
}

// endShifted writes the tail with its Z moved by off, and brings Z back to the
// programmed one before the block that stops the program, where that is clear.
func (f *frame) endShifted(o *out, e *modal, like *program.Block, off float64) {
	at := e.at
	if f.tailEnd != nil {
		at = *f.tailEnd
	}
	body, stop := f.split()
	ip := f.prime(*e)
	if !o.m.on() {
		ip = f.prime(o.dimmed(*e))
	}
	f.shift(o, body, ip, off, true, e)
	h, _ := o.opt.Surface.At(at.X, at.Y)
	if off != 0 && o.sigma()*(at.Z)-o.sigma()*o.lastZ+o.set >= h-o.near() {
		st := ip.State()
		if st.Beam == machine.On && !o.opt.Rehearsal {
			o.darkness(like)
		}
		o.rise(like, &st, at.Z)
	}
	f.shift(o, stop, ip, 0, true, nil)
}

// dimmed is m with the beam as the zone's program has it.
func (o *out) dimmed(m modal) modal {
	m.beam, m.lit, m.power, m.powerSaid = o.m.beam, o.m.lit, o.m.power, o.m.powerSaid
	return m
}

// split divides the tail before the block that stops the program.
func (f *frame) split() (body, stop *spool) {
	body, stop = &spool{dir: f.s.dir}, &spool{dir: f.s.dir}
	r, err := f.tail.open()
	if err != nil || f.tail.empty() {
		return body, stop
	}
	defer r.Close()
	rd := program.NewReader(r, f.s.opt.Name)
	to := body
	for {
		b, err := rd.Next()
		if err != nil {
			return body, stop
		}
		if stopsProgram(b) {
			to = stop
		}
		_, _ = to.Write(b.Raw)
	}
}
