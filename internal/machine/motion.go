package machine

import (
	"math"
	"strconv"

	"sagitta/internal/program"
)

// move fills the motion that the line makes, if it makes one.
func (ip *Interpreter) move(l *line, m *Move) error {
	if l.first() == 0 {
		return nil
	}
	if err := l.checkUnknown(); err != nil {
		return err
	}
	arc := ip.st.Motion >= 2
	if centre := l.centre(); centre != 0 && !arc {
		return l.notArc(centre)
	}
	if ip.workLapsed != 0 {
		n := ip.st.Work.Number().String()
		return l.b.Unsupported(l.word(l.first()).Start, "a motion after the program's end on line "+strconv.Itoa(ip.workLapsed)+
			" took it out of G"+n+" is not supported", "say G"+n+" again before it")
	}
	if ip.st.Motion == noMotion {
		w := l.word(l.first())
		return l.b.Malformed(w.Start, string(w.Letter)+" without a motion mode", "say G0 or G1 first")
	}
	if !ip.placed && (l.X != 0 || l.Y != 0 || arc) {
		ip.placed = true
		if ip.st.Relative {
			ip.st.XKnown, ip.st.YKnown = true, true
			ip.offset.lost[0], ip.offset.lost[1] = 0, 0
			ip.setShifts(ip.offset, ip.stored)
		}
	}
	if ip.st.Motion > 0 {
		if err := ip.checkFeed(l); err != nil {
			return err
		}
	}
	m.Rapid = ip.st.Motion == 0
	m.Burn = ip.burns(m.Rapid)
	m.FromUnknown = !(ip.st.XKnown && ip.st.YKnown)
	m.ZUnknown = !ip.st.ZKnown
	if m.FromUnknown && arc && !m.Burn {
		return ip.unknown(l, l.mover(), "an arc")
	}
	if m.Burn && !ip.known() {
		return ip.unknown(l, l.mover(), "a burn")
	}
	ip.moved = true
	m.Kind = Line
	if err := l.tooFar(); err != nil {
		return err
	}
	to := ip.at
	for axis, w := range l.axisWords() {
		if w != nil {
			to[axis] = ip.target(axis, w)
			*m.To.axes()[axis] = to[axis].mm()
			ip.reach(axis)
		}
	}
	if !ip.st.Relative && !ip.known() {
		// By an offset that is not known it may have gone to such a place.
		m.FromUnknown = m.FromUnknown || !(ip.st.XKnown && ip.st.YKnown)
		m.ZUnknown = m.ZUnknown || !ip.st.ZKnown
		if m.Burn || m.FromUnknown && arc {
			return ip.unknown(l, l.mover(), "a burn")
		}
	}
	if math.Abs(m.To.X) > farthestMM || math.Abs(m.To.Y) > farthestMM || math.Abs(m.To.Z) > farthestMM {
		return l.b.Unsupported(l.word(l.first()).Start, "a place beyond a thousand kilometres is not supported", "")
	}
	if arc {
		if err := ip.arc(l, m, to[0], to[1]); err != nil {
			return err
		}
		if far(m.CX, m.CY) {
			return l.b.Unsupported(l.word(first(l.I, l.J, l.R)).Start, "an arc whose centre is beyond a thousand kilometres is not supported", "")
		}
	} else {
		dx, dy := to[0].sub(ip.at[0]).span(), to[1].sub(ip.at[1]).span()
		m.Length = math.Sqrt(dx*dx + dy*dy)
	}
	m.Loose = m.Rapid && !ip.cfg.RapidsStraight
	ip.time(m, to[2].sub(ip.at[2]).span())
	ip.at, ip.st.At = to, m.To
	return nil
}

// burns reports whether a move with the beam as it is burns.
func (ip *Interpreter) burns(rapid bool) bool {
	if rapid {
		return ip.cfg.RapidsFire && ip.st.beam() == On
	}
	return ip.st.beam() != Off
}

// farthestMM bounds coordinates: far over any bench; within it
// float64 holds a tenth of a micrometre.
const farthestMM = 1e9

// far reports whether a centre is beyond it.
func far(x, y float64) bool { return math.Abs(x) > farthestMM || math.Abs(y) > farthestMM }

// tooFar refuses a word of the motion that is beyond farthestMM in any unit.
func (l *line) tooFar() error {
	for _, r := range [...]Ref{l.X, l.Y, l.Z, l.I, l.J, l.R} {
		if w := l.word(r); w != nil && math.Abs(w.Num.Float()) > farthestMM {
			return l.b.Unsupported(w.Start, "a coordinate beyond a thousand kilometres is not supported", "")
		}
	}
	return nil
}

// scale returns the scale of the units in force.
func (ip *Interpreter) scale() *unitScale {
	if ip.st.Inches {
		return scaleIn
	}
	return scaleMM
}

// target returns where an axis goes.
func (ip *Interpreter) target(axis int, w *program.Word) coord {
	v := ip.scale().length(w.Num)
	if ip.st.Relative {
		return ip.at[axis].add(v)
	}
	return v.add(ip.offset.by[axis])
}

// checkUnknown refuses words of a motion beside an M word that is not known:
// they may be its own.
func (l *line) checkUnknown() error {
	if l.Unknown == 0 {
		return nil
	}
	return l.b.Unsupported(l.word(l.Unknown.first()).Start, "an unknown M word with "+
		string(l.word(l.first()).Letter)+" is not supported", "")
}

// notArc refuses a word that only an arc has.
func (l *line) notArc(r Ref) error {
	return l.b.Malformed(l.word(r).Start, "I, J, K and R belong to an arc (G2 or G3)", "")
}

// checkFeed refuses a feed move without a speed.
func (ip *Interpreter) checkFeed(l *line) error {
	switch {
	case ip.st.InverseTime && l.F == 0:
		// RS274 3.5.19.
		return l.b.Malformed(l.mover().Start, "a G93 move without F on its line", "")
	case !ip.st.FeedSaid:
		return l.b.Malformed(l.mover().Start, "a feed move without a feed", "say F before it or on its line")
	case ip.st.Feed.Mant == 0:
		at := l.mover()
		if l.F != 0 {
			at = l.word(l.F)
		}
		return l.b.Malformed(at.Start, "a feed move at F0", "write the feed that is meant before it or on its line")
	case !ip.st.InverseTime && ip.st.FeedInches != ip.st.Inches:
		return l.b.Unsupported(l.mover().Start, "a feed move at an F from before the units changed",
			"say F again after G20 or G21")
	}
	return nil
}

// time fills Feed and Seconds of a move that rises by dz.
func (ip *Interpreter) time(m *Move, dz float64) {
	path := m.Length
	if m.Rapid {
		m.Seconds = math.Sqrt(path*path+dz*dz) / ip.cfg.RapidMMMin * 60
		return
	}
	if ip.st.InverseTime {
		m.Feed = ip.st.Feed.Float()
		m.Seconds = 60 / m.Feed
		return
	}
	m.Feed = ip.st.FeedMM()
	if path == 0 {
		// Alone, the focus axis moves at the feed however it counts.
		path = math.Abs(dz)
	} else if dz != 0 && ip.cfg.FeedCountsZ && ip.cfg.ZAxis == 'Z' {
		path = math.Sqrt(path*path + dz*dz)
	}
	m.Seconds = path / m.Feed * 60
}

const mmPerInch = 25.4
