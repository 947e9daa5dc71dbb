package zone

import (
	"math"

	"sagitta/internal/program"
)

// out is the program of one zone as it is written.
type out struct {
	p    *Plan
	opt  *Options
	z    *Zone
	lens *Lens
	w    *appender
	// m is what its program has in force, the Z written included.
	m modal
	// off is what is added to the programmed Z of burns, and set what the
	// focus at the bench adds to c: their sum, off counted away from the
	// stock, is the zone's focus.
	off, set float64
	// lastZ is the programmed Z at the end of its last burn.
	begun, marked, dark bool
	// owes tells that its program has come to a burn that is no motion, and
	// has still to say the motion mode and the feed.
	owes  bool
	lastZ float64
	// inches are the units of the block that is being changed.
	inches bool
	// stopZ is the Z written at the zone's stop, in a program with pauses,
	// and stopDark what is in force there.
	stopZ    float64
	stopDark modal
	ch       []program.Change
	buf      []byte
	fails    *failures
}

func (o *out) sigma() float64 { return o.opt.sigma() }

// near is the zone's lens's depth on that side, less the defocus.
func (o *out) near() float64 { return o.lens.Depth.Near - o.opt.Defocus }

// clear gives the lowest Z written, counted away from the stock, at which a
// travel over heights up to high is clear between burns programmed at zref
// (the higher of both, counted so too).
func (o *out) clear(high, zref float64) float64 { return high - o.near() - o.set + zref }

// write gathers text.
func (o *out) write(b []byte) { _, _ = o.w.Write(b) }

// mark writes the marker once, before the first change.
func (o *out) mark(like *program.Block) {
	if o.marked {
		return
	}
	o.marked = true
	if o.opt.Comments && o.opt.Marker != "" && o.opt.Within == nil { // following says it
		o.buf = program.AppendComment(o.buf[:0], like, o.opt.Marker)
		o.write(o.buf)
	}
	if o.opt.Rehearsal && !o.dark {
		o.dark = true
		o.buf = program.AppendBlock(o.buf[:0], like, []program.Change{{Letter: 'M', Num: o.offWord()}})
		o.write(o.buf)
		o.m.beam, o.m.lit = o.offWord().Mant, false
	}
}

func (o *out) offWord() program.Number { return program.Int(int64(o.opt.Machine.BeamOff[0])) }

// line writes a line of the words gathered in o.ch.
func (o *out) line(like *program.Block) {
	if len(o.ch) == 0 {
		return
	}
	o.mark(like)
	o.buf = program.AppendBlock(o.buf[:0], like, o.ch)
	o.write(o.buf)
	o.ch = o.ch[:0]
}

// say adds a word to the line under way.
func (o *out) say(letter byte, num program.Number) {
	o.ch = append(o.ch, program.Change{Letter: letter, Num: num})
}

func (o *out) sayG(n int64) { o.say('G', program.Int(n)) }

// exactDigits is how many decimals tell a place of a program exactly in spite
// of the float that carries it.
const exactDigits = 9

// exact spells a place that a program has.
func (o *out) exact(mm float64, inches bool) program.Number {
	return program.Round(mm/unit(inches), exactDigits).Trim()
}

// darkness switches the beam off, if it is on.
func (o *out) darkness(like *program.Block) {
	switch {
	case o.opt.Rehearsal || !o.m.on():
		return
	case o.m.beam != noBeam:
		o.say('M', o.offWord())
		o.m.beam, o.m.lit = o.offWord().Mant, false
	case o.m.powerSaid:
		o.say(o.opt.Machine.PowerWord, program.Int(0))
		o.m.power = program.Int(0)
	default:
		return // nothing ever speaks of the beam: there is no word for it
	}
	o.line(like)
}

// canDarken tells whether feed moves can be made without burning.
func (o *out) canDarken() bool { return o.opt.Rehearsal || o.m.beam != noBeam || o.m.powerSaid }

// modes brings units, distance mode and feed mode to those of m.
func (o *out) modes(m *modal, like *program.Block, relative bool) {
	o.ch = o.ch[:0]
	if o.m.inches != m.inches {
		o.sayG(map[bool]int64{false: 21, true: 20}[m.inches])
	}
	if o.m.relative != relative {
		o.sayG(map[bool]int64{false: 90, true: 91}[relative])
	}
	if o.m.inverse != m.inverse {
		o.sayG(map[bool]int64{false: 94, true: 93}[m.inverse])
		o.m.feedSaid = false
	}
	if o.m.inches != m.inches {
		o.m.feedSaid = false
	}
	o.m.inches, o.m.relative, o.m.inverse = m.inches, relative, m.inverse
	if m.path != 0 && o.m.path != m.path {
		o.sayG(m.path)
		o.m.path = m.path
	}
	o.line(like)
	if (o.m.mist && !m.mist) || (o.m.flood && !m.flood) {
		o.say('M', program.Int(9))
		o.m.mist, o.m.flood = false, false
		o.line(like)
	}
	if m.mist && !o.m.mist {
		o.say('M', program.Int(7))
		o.line(like)
	}
	if m.flood && !o.m.flood {
		o.say('M', program.Int(8))
		o.line(like)
	}
	o.m.mist, o.m.flood = m.mist, m.flood
}

// toZ moves the focus axis alone to a Z in mm; the distance mode is G90.
func (o *out) toZ(z float64, like *program.Block, line int) {
	num, least := o.exact(z, o.m.inches), 0.0
	if o.off != 0 {
		// The zone's own Z has no more decimals than are written.
		num = program.Round(z/unit(o.m.inches), o.opt.decimals(o.m.inches))
		least = o.opt.decimal(o.m.inches) / 2 * (1 + rounding)
	}
	if math.Abs(z-o.m.at.Z) <= least {
		return
	}
	o.sayG(0)
	o.say(o.opt.Machine.ZAxis, num)
	o.line(like)
	o.m.motion = 0
	o.m.at.Z = num.Float() * unit(o.m.inches)
	o.checkRange(o.m.at.Z, line)
	o.z.Seconds += math.Abs(z-o.m.at.Z) / o.opt.Machine.RapidMMMin * 60
}

// checkRange notes a Z that the profile does not have.
func (o *out) checkRange(z float64, line int) {
	if by := o.opt.outOfRange(z); by > 0 {
		o.fails.add(line, "the range of Z is exceeded by %.3f mm in zone %d", by, o.z.Order)
	}
}

// written is what a block's Z becomes: programmed, and the zone's offset.
func (o *out) written(z float64) float64 { return z + o.off }

// up rounds a Z away from the stock to a written decimal.
func (o *out) up(z float64, inches bool) float64 {
	q := math.Pow10(int(o.opt.decimals(inches)))
	s := o.sigma()
	return s * math.Ceil(s*z/unit(inches)*q-rounding) / q * unit(inches)
}
