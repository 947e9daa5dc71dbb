package machine

import (
	"math"

	"sagitta/internal/program"
)

// PlainMove is the move of a plain line: at the feed in force, Z unchanged, and
// longer than nothing.
type PlainMove struct {
	// D is how far along the path its end is, X and Y are that end, in mm.
	D, X, Y float64
	// End, Axis and Style are the line's, see program.PlainLine.
	End   int32
	Axis  uint8
	Style program.PlainStyle
	// Burn reports a move with the beam on.
	Burn bool
	// Motion is 1 for a straight move, 2 and 3 for an arc.
	Motion int8
}

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
	ip.did = Actions{}
	st, s := &ip.st, ip.scale()
	lit, power := st.BeamWord == NoBeam || st.BeamLit, -1
	dark := st.PowerSaid && st.Power.Mant == 0
	n = min(len(lines), len(moves))
	for k := range lines[:n] {
		l, m := &lines[k], &moves[k]
		motion := st.Motion
		if l.Has(program.PlainG) {
			motion = l.Motion()
		}
		x, y, mmX, mmY, ok := ip.at[0].q, ip.at[1].q, st.At.X, st.At.Y, true
		if l.Has(program.PlainX) {
			x, mmX, ok = ip.plainTarget(l.Num(program.PlainX), 0, x, s)
		}
		if ok && l.Has(program.PlainY) {
			y, mmY, ok = ip.plainTarget(l.Num(program.PlainY), 1, y, s)
		}
		length := 0.0
		switch {
		case !ok || l.Has(program.PlainF) && l.Num(program.PlainF) != st.Feed:
		case motion != 1:
			if bent < len(arcs) && ip.plainArc(l, s, motion, x, y, &arcs[bent]) {
				length = arcs[bent].Length()
				bent++
			}
		case l.Has(program.PlainI) || l.Has(program.PlainJ):
		case y == ip.at[1].q:
			length = math.Abs(mmX - st.At.X)
		case x == ip.at[0].q:
			length = math.Abs(mmY - st.At.Y)
		default:
			dx, dy := coord{q: x - ip.at[0].q}.span(), coord{q: y - ip.at[1].q}.span()
			length = math.Sqrt(dx*dx + dy*dy)
		}
		if length == 0 {
			n = k
			break
		}
		if l.Has(program.PlainPower) {
			power, dark = k, l.Num(program.PlainPower).Mant == 0
		}
		d += length
		ip.at[0].q, ip.at[1].q, st.At.X, st.At.Y, st.Motion = x, y, mmX, mmY, motion
		m.D, m.X, m.Y = d, mmX, mmY
		m.End, m.Axis, m.Style, m.Burn, m.Motion = l.End+shift, l.Axis, l.Style, lit && !dark, motion
	}
	if power >= 0 {
		st.Power, st.PowerSaid = lines[power].Num(program.PlainPower), true
	}
	return n, bent
}

// plain reports whether the modes are such that plain lines can be taken in
// short: G1 to G3 in G94 and G91.1 at a known place, with the beam on or off.
func (ip *Interpreter) plain() bool {
	st := &ip.st
	return st.Motion >= 1 && st.Arcs == RelativeArcs && !st.InverseTime && st.Fed() && st.Feed.Mant > 0 &&
		ip.moved && ip.workLapsed == 0 && ip.known() && ip.offset.by[0].r == 0 && ip.offset.by[1].r == 0 && ip.offset.lost == [3]int{} &&
		ip.placed && ip.at[0].r == 0 && ip.at[1].r == 0 && st.beam() != Unsaid
}

// plainTarget is where a number takes an axis that stands at from, in units of a
// coord and in mm. It reports false where that is for Step.
func (ip *Interpreter) plainTarget(num program.Number, axis int, from int64, s *unitScale) (to int64, mm float64, ok bool) {
	if !ip.st.Relative {
		from = ip.offset.by[axis].q
	}
	q, ok := s.units(num.Mant, num.Dec)
	to = q + from
	return to, float64(to) / unitsPerMM, ok && to <= maxUnits && to >= -maxUnits
}

// plainArc gives the arc of a plain line that ends at x, y. It reports false
// where the line is for Step.
func (ip *Interpreter) plainArc(l *program.PlainLine, s *unitScale, motion int8, x, y int64, a *Turn) bool {
	var centre [2]coord
	for i, word := range [...]program.PlainWord{program.PlainI, program.PlainJ} {
		if l.Has(word) {
			num, ok := l.Num(word), false
			if centre[i].q, ok = s.units(num.Mant, num.Dec); !ok {
				return false
			}
		}
	}
	turn, ok := ip.turnAround(motion, coord{q: x}, coord{q: y}, centre[0], centre[1])
	*a = turn // without I and J it has no radius
	return ok && math.Abs(a.R1-a.R0) <= ip.radiiDiffer() && !far(a.CX, a.CY)
}
