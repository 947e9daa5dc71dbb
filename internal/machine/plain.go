package machine

import (
	"math"

	"sagitta/internal/program"
)

// PlainMove is the move of a plain line: at the feed in force, Z unchanged, and
// longer than nothing.
type PlainMove struct {
	// X and Y are its end and Length its length, in mm.
	X, Y, Length float64
	// Burn tells a move with the beam on.
	Burn bool
	// Motion is 1 for a straight move, 2 and 3 for an arc.
	Motion int8
}

// plain tells whether the modes are such that plain lines can be taken in
// short: G1 to G3 in G94 and G91.1 at a known place, with the beam on or off.
func (ip *Interpreter) plain() bool {
	return ip.motion >= 1 && ip.arcs == arcsRelative && !ip.inverse && ip.feedSaid && ip.feedNumber.Mant > 0 && ip.feedInches == ip.inches &&
		ip.moved && ip.workLapsed == 0 && ip.known() && ip.offset[0].r == 0 && ip.offset[1].r == 0 && ip.astray == [3]int{} &&
		ip.placed && ip.x.r == 0 && ip.y.r == 0 && ip.beam() != Unsaid
}

// StepPlain takes plain lines as Step would take their blocks, and fills the
// moves; those of arcs go into arcs, in order, besides. It returns how many it
// has taken; the next is for Step. It takes lines of G1, G2 and G3 in G94 at
// the F in force, at a known place, with the beam on or off, that do move, and
// not too far for a coord.
func (ip *Interpreter) StepPlain(lines []program.PlainLine, moves []PlainMove, arcs []Move) int {
	if !ip.plain() {
		return 0
	}
	s := ip.scale()
	x, y := ip.x.q, ip.y.q
	at := ip.at
	fromX, fromY := ip.offset[0].q, ip.offset[1].q // what a number counts from
	lit := !ip.beamSaid || ip.beamOn
	dark := ip.powerSaid && ip.power == 0
	power := -1 // the last line with a power word
	motion := ip.motion
	n, bent := 0, 0
	for ; n < min(len(lines), len(moves)); n++ {
		l, m := &lines[n], &moves[n]
		if l.Has&program.PlainF != 0 && (int64(l.F) != ip.feedNumber.Mant || l.DecF != ip.feedNumber.Dec) {
			break
		}
		toX, toY := x, y
		m.X, m.Y = at.X, at.Y
		if l.Has&program.PlainX != 0 {
			q, ok := s.units(l.X, l.DecX)
			if !ok {
				break
			}
			if toX = q + fromX; ip.relative {
				toX = q + x
			}
			m.X = float64(toX) / unitsPerMM
		}
		if l.Has&program.PlainY != 0 {
			q, ok := s.units(l.Y, l.DecY)
			if !ok {
				break
			}
			if toY = q + fromY; ip.relative {
				toY = q + y
			}
			m.Y = float64(toY) / unitsPerMM
		}
		if max(toX, toY) > maxUnits || min(toX, toY) < -maxUnits {
			break
		}
		now := motion
		if l.Has&plainMotion != 0 {
			now = motionOf(l)
		}
		m.Motion = now
		if now != 1 {
			if bent == len(arcs) {
				break
			}
			ip.x.q, ip.y.q = x, y
			a := &arcs[bent]
			if !ip.plainArc(l, s, now, toX, toY, a) {
				break
			}
			bent++
			a.From, a.To = at, Point{m.X, m.Y, at.Z}
			m.Length = a.Length
		} else {
			if l.Has&plainCentre != 0 || toX == x && toY == y {
				break
			}
			dx, dy := coord{q: toX - x}.span(), coord{q: toY - y}.span()
			switch {
			case toY == y:
				m.Length = math.Abs(dx)
			case toX == x:
				m.Length = math.Abs(dy)
			default:
				m.Length = math.Sqrt(dx*dx + dy*dy)
			}
		}
		if l.Has&program.PlainS != 0 {
			power = n
			dark = l.S == 0
		}
		m.Burn = lit && !dark
		motion, x, y = now, toX, toY
		at.X, at.Y = m.X, m.Y
	}
	if power >= 0 {
		l := &lines[power]
		ip.power = program.Number{Mant: int64(l.S), Dec: l.DecS}.Float()
		ip.powerSaid = true
	}
	ip.x.q, ip.y.q, ip.at, ip.motion = x, y, at, motion
	return n
}

// FeedMM returns the F in force in mm/min (of G94), and whether power follows
// the speed.
func (ip *Interpreter) FeedMM() (feed float64, follows bool) {
	feed = ip.feed
	if ip.inches {
		feed *= mmPerInch
	}
	return feed, ip.follows
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

// plainArc fills the arc of a plain line that ends at x, y. It reports false
// where the line is for Step.
func (ip *Interpreter) plainArc(l *program.PlainLine, s *scale, motion int8, x, y int64, m *Move) bool {
	if l.Has&plainCentre == 0 {
		return false
	}
	var i, j coord
	fits := true
	if l.Has&program.PlainI != 0 {
		i.q, fits = s.units(int64(l.I), l.DecI)
	}
	if fits && l.Has&program.PlainJ != 0 {
		j.q, fits = s.units(int64(l.J), l.DecJ)
	}
	if !fits {
		return false
	}
	*m = Move{Kind: Arc}
	return ip.aroundCentre(m, motion, coord{q: x}, coord{q: y}, i, j) && math.Abs(m.R1-m.R0) <= ip.radiiDiffer() && !m.farCentre()
}
