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
	r := plainRun{
		ip: ip, s: ip.scale(), arcs: arcs,
		at: [2]int64{ip.x.q, ip.y.q}, mm: [2]float64{ip.st.At.X, ip.st.At.Y},
		lit: ip.st.BeamWord == NoBeam || ip.st.BeamLit, dark: ip.st.PowerSaid && ip.st.Power.Mant == 0, motion: ip.st.Motion,
		d: d, shift: shift, power: -1,
	}
	n = min(len(lines), len(moves))
	lines, moves = lines[:n], moves[:n]
	for k := 0; ; {
		if r.motion == 1 && k < n {
			switch lines[k].Has &^ program.PlainS {
			case program.PlainX:
				k = r.row(0, program.PlainX, lines, moves, k)
			case program.PlainY:
				k = r.row(1, program.PlainY, lines, moves, k)
			}
		}
		if k+1 < n && isBend(&lines[k]) && isBend(&lines[k+1]) {
			k = r.bends(lines, moves, k)
		}
		if k == n || !r.line(k, &lines[k], &moves[k]) {
			n = k
			break
		}
		k++
	}
	if r.power >= 0 {
		l := &lines[r.power]
		ip.st.Power = program.Number{Mant: int64(l.S), Dec: l.DecS}
		ip.st.PowerSaid = true
	}
	ip.x.q, ip.y.q, ip.st.At.X, ip.st.At.Y, ip.st.Motion = r.at[0], r.at[1], r.mm[0], r.mm[1], r.motion
	return n, len(arcs) - len(r.arcs)
}

// plainRun is the machine while it takes a run of plain lines.
type plainRun struct {
	ip   *Interpreter
	s    *scale
	arcs []Turn // those not filled yet
	// at is where it stands in units of a coord, mm the same in mm.
	at        [2]int64
	mm        [2]float64
	lit, dark bool
	motion    int8
	d         float64
	shift     int32
	power     int // the last line with a power word, -1 if none
}

// from is what the number of an axis counts from.
func (r *plainRun) from(axis int) int64 {
	if r.ip.st.Relative {
		return r.at[axis]
	}
	return r.ip.offset[axis].q
}

// row takes the lines from k on that have an axis alone, and perhaps a power,
// in G1: what rasters are made of. It returns the first that is another, or
// that line must look at.
func (r *plainRun) row(axis int, has program.PlainWords, lines []program.PlainLine, moves []PlainMove, k int) int {
	at, d, dark, power, from, relative := r.at[axis], r.d, r.dark, r.power, r.from(axis), r.ip.st.Relative
	mm, other := r.mm[axis], r.mm[1-axis]
	moves = moves[:len(lines)]
	for ; k < len(lines); k++ {
		l, m := &lines[k], &moves[k]
		if l.Has&^program.PlainS != has {
			break
		}
		mant, dec := l.X, l.DecX
		if axis == 1 {
			mant, dec = l.Y, l.DecY
		}
		q, ok := r.s.units(int64(mant), dec)
		to := q + from
		next := float64(to) / unitsPerMM
		if !ok || to > maxUnits || to < -maxUnits || next == mm {
			break
		}
		d += math.Abs(next - mm)
		at, mm = to, next
		if relative {
			from = to
		}
		if l.Has&program.PlainS != 0 {
			dark = l.S == 0
			power = k
		}
		m.D, m.X, m.Y = d, mm, other
		if axis == 1 {
			m.X, m.Y = other, mm
		}
		m.End, m.Axis, m.Style, m.Burn, m.Motion = l.End+r.shift, l.Axis, l.Style, r.lit && !dark, 1
	}
	r.at[axis], r.mm[axis], r.d, r.dark, r.power = at, mm, d, dark, power
	return k
}

// line takes line k, any plain line. It reports false, and changes nothing, where the
// line is for Step.
func (r *plainRun) line(k int, l *program.PlainLine, m *PlainMove) bool {
	ip := r.ip
	if r.newFeed(l) {
		return false
	}
	to, mm := r.at, r.mm
	if l.Has&program.PlainX != 0 {
		q, ok := r.s.units(int64(l.X), l.DecX)
		if !ok {
			return false
		}
		to[0] = q + r.from(0)
		mm[0] = float64(to[0]) / unitsPerMM
	}
	if l.Has&program.PlainY != 0 {
		q, ok := r.s.units(int64(l.Y), l.DecY)
		if !ok {
			return false
		}
		to[1] = q + r.from(1)
		mm[1] = float64(to[1]) / unitsPerMM
	}
	if max(to[0], to[1]) > maxUnits || min(to[0], to[1]) < -maxUnits {
		return false
	}
	motion, length := r.motion, 0.0
	if l.Has&plainMotion != 0 {
		motion = motionOf(l)
	}
	if motion != 1 {
		if len(r.arcs) == 0 {
			return false
		}
		ip.x.q, ip.y.q = r.at[0], r.at[1]
		a, ok := ip.plainArc(l, r.s, motion, to[0], to[1])
		if !ok {
			return false
		}
		length, a.Mark = a.Length(), int32(k)
		r.arcs[0], r.arcs = a, r.arcs[1:]
	} else {
		if l.Has&plainCentre != 0 || to == r.at {
			return false
		}
		switch {
		case to[1] == r.at[1]: // as row has it, which may have taken the line as well
			length = math.Abs(mm[0] - r.mm[0])
		case to[0] == r.at[0]:
			length = math.Abs(mm[1] - r.mm[1])
		default:
			dx, dy := coord{q: to[0] - r.at[0]}.span(), coord{q: to[1] - r.at[1]}.span()
			length = math.Sqrt(dx*dx + dy*dy)
		}
		if length == 0 {
			return false
		}
	}
	if l.Has&program.PlainS != 0 {
		r.power = k
		r.dark = l.S == 0
	}
	r.d += length
	r.motion, r.at, r.mm = motion, to, mm
	m.D, m.X, m.Y = r.d, mm[0], mm[1]
	m.End, m.Axis, m.Style, m.Burn, m.Motion = l.End+r.shift, l.Axis, l.Style, r.lit && !r.dark, motion
	return true
}

// newFeed tells a line with an F other than the one in force, or spelled otherwise.
func (r *plainRun) newFeed(l *program.PlainLine) bool {
	feed := &r.ip.st.Feed
	return l.Has&program.PlainF != 0 && (int64(l.F) != feed.Mant || l.DecF != feed.Dec)
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
