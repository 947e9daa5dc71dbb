package machine

import (
	"math"

	"sagitta/internal/program"
)

// PlainMove is the move of a plain line: straight, at the feed in force, Z
// unchanged, and longer than nothing.
type PlainMove struct {
	// X and Y are its end and Length its length, in mm.
	X, Y, Length float64
	// Burn tells a move with the beam on.
	Burn bool
}

// plain tells whether the modes are such that plain lines can be taken in
// short: G1 and G94 at a known place, with the beam on or off.
func (ip *Interpreter) plain() bool {
	return ip.motion == 1 && !ip.inverse && ip.feedSaid && ip.feedNumber.Mant > 0 && ip.feedInches == ip.inches &&
		ip.moved && ip.workLapsed == 0 && ip.known() && ip.offset[0].r == 0 && ip.offset[1].r == 0 && ip.astray == [3]int{} &&
		ip.placed && ip.x.r == 0 && ip.y.r == 0 && ip.beam() != Unsaid
}

// StepPlain takes plain lines as Step would take their blocks, and fills the
// moves. It returns how many it has taken; the next is for Step. It takes
// lines of G1 in G94 at the F in force, at a known place, with the beam on or
// off, that do move, and not too far for a coord.
func (ip *Interpreter) StepPlain(lines []program.PlainLine, moves []PlainMove) int {
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
	n := 0
	for ; n < min(len(lines), len(moves)); n++ {
		l, m := &lines[n], &moves[n]
		if l.Has&program.PlainF != 0 && (int64(l.F) != ip.feedNumber.Mant || l.DecF != ip.feedNumber.Dec) {
			break
		}
		toX, toY := x, y
		m.X, m.Y = at.X, at.Y
		if l.Has&program.PlainX != 0 {
			if most := s.most[l.DecX]; l.X > most || l.X < -most {
				break
			}
			toX = l.X * s.unit[l.DecX]
			if ip.relative {
				toX += x
			} else {
				toX += fromX
			}
			m.X = float64(toX) / unitsPerMM
		}
		if l.Has&program.PlainY != 0 {
			if most := s.most[l.DecY]; l.Y > most || l.Y < -most {
				break
			}
			toY = l.Y * s.unit[l.DecY]
			if ip.relative {
				toY += y
			} else {
				toY += fromY
			}
			m.Y = float64(toY) / unitsPerMM
		}
		if max(toX, toY) > maxUnits || min(toX, toY) < -maxUnits || toX == x && toY == y {
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
		if l.Has&program.PlainS != 0 {
			power = n
			dark = l.S == 0
		}
		m.Burn = lit && !dark
		x, y = toX, toY
		at.X, at.Y = m.X, m.Y
	}
	if power >= 0 {
		l := &lines[power]
		ip.power = program.Number{Mant: int64(l.S), Dec: l.DecS}.Float()
		ip.powerSaid = true
	}
	ip.x.q, ip.y.q, ip.at = x, y, at
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
