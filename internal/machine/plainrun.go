package machine

import (
	"math"

	"sagitta/internal/program"
)

// StepPlain takes plain lines as Step would take their blocks, and fills the
// moves; what those of arcs turn goes into arcs, in order, besides. It returns
// how many it has taken, and how many of them are arcs; the next is for Step.
// It takes lines of G1, G2 and G3 in G94 at the F in force, at a known place,
// with the beam on or off, that do move, and not too far for a coord.
//
// The path is d mm long so far, and the ends of lines are told shift later
// than they are.
func (ip *Interpreter) StepPlain(lines []program.PlainLine, moves []PlainMove, arcs []Turn, d float64, shift int32) (n, bent int) {
	if !ip.plain() {
		return 0, 0
	}
	ip.did, ip.ended = Actions{}, false
	st := &ip.st
	r := plainRun{
		ip: ip, s: ip.scale(), arcs: arcs, x: ip.x.q, y: ip.y.q, mmX: st.At.X, mmY: st.At.Y,
		lit: st.BeamWord == NoBeam || st.BeamLit, dark: st.PowerSaid && st.Power.Mant == 0, motion: st.Motion,
		d: d, shift: shift, power: -1,
	}
	n = min(len(lines), len(moves))
	lines, moves = lines[:n], moves[:n]
	for k := range lines {
		if !r.line(k, &lines[k], &moves[k]) {
			n = k
			break
		}
	}
	if r.power >= 0 {
		l := &lines[r.power]
		st.Power, st.PowerSaid = l.Num(program.PlainS), true
	}
	ip.x.q, ip.y.q, st.At.X, st.At.Y, st.Motion = r.x, r.y, r.mmX, r.mmY, r.motion
	return n, len(arcs) - len(r.arcs)
}

// plainRun is the machine while it takes a run of plain lines.
type plainRun struct {
	ip   *Interpreter
	s    *scale
	arcs []Turn // those not filled yet
	// x and y are where it stands in units of a coord, mmX and mmY the same
	// in mm.
	x, y      int64
	mmX, mmY  float64
	lit, dark bool
	motion    int8
	d         float64
	shift     int32
	power     int // the last line with a power word, -1 if none
}

// target is where an axis goes that stands at from, in units of a coord and in
// mm.
func (r *plainRun) target(axis int, num program.Number, from int64) (to int64, mm float64, ok bool) {
	if !r.ip.st.Relative {
		from = r.ip.offset[axis].q
	}
	q, ok := r.s.units(num.Mant, num.Dec)
	to = q + from
	return to, float64(to) / unitsPerMM, ok && to <= maxUnits && to >= -maxUnits
}

// line takes line k, any plain line. It reports false, and changes nothing, where the
// line is for Step.
func (r *plainRun) line(k int, l *program.PlainLine, m *PlainMove) bool {
	if r.newFeed(l) {
		return false
	}
	x, y, mmX, mmY := r.x, r.y, r.mmX, r.mmY
	ok := true
	if l.Has&program.PlainX != 0 {
		if x, mmX, ok = r.target(0, l.Num(program.PlainX), x); !ok {
			return false
		}
	}
	if l.Has&program.PlainY != 0 {
		if y, mmY, ok = r.target(1, l.Num(program.PlainY), y); !ok {
			return false
		}
	}
	motion, length := r.motion, 0.0
	if l.Has&plainMotion != 0 {
		motion = motionOf(l)
	}
	if motion != 1 {
		if len(r.arcs) == 0 {
			return false
		}
		r.ip.x.q, r.ip.y.q = r.x, r.y
		a, ok := r.ip.plainArc(l, r.s, motion, x, y)
		if !ok {
			return false
		}
		length, a.Mark = a.Length(), int32(k)
		r.arcs[0], r.arcs = a, r.arcs[1:]
	} else {
		if l.Has&plainCentre != 0 {
			return false
		}
		switch {
		case y == r.y:
			length = math.Abs(mmX - r.mmX)
		case x == r.x:
			length = math.Abs(mmY - r.mmY)
		default:
			dx, dy := coord{q: x - r.x}.span(), coord{q: y - r.y}.span()
			length = math.Sqrt(dx*dx + dy*dy)
		}
		if length == 0 {
			return false
		}
	}
	if l.Has&program.PlainS != 0 {
		r.power = k
		r.dark = l.Num(program.PlainS).Mant == 0
	}
	r.d += length
	r.motion, r.x, r.y, r.mmX, r.mmY = motion, x, y, mmX, mmY
	m.D, m.X, m.Y = r.d, mmX, mmY
	m.End, m.Axis, m.Style, m.Burn, m.Motion = l.End+r.shift, l.Axis, l.Style, r.lit && !r.dark, motion
	return true
}

// newFeed reports whether a line has an F other than the one in force, or spelled otherwise.
func (r *plainRun) newFeed(l *program.PlainLine) bool {
	return l.Has&program.PlainF != 0 && l.Num(program.PlainF) != r.ip.st.Feed
}

const (
	plainMotion = program.PlainG1 | program.PlainG2 | program.PlainG3
	plainCentre = program.PlainI | program.PlainJ
)

// motionOf is the motion of a plain line with a motion word.
func motionOf(l *program.PlainLine) int8 {
	switch {
	case l.Has&program.PlainG1 != 0:
		return 1
	case l.Has&program.PlainG2 != 0:
		return 2
	}
	return 3
}
