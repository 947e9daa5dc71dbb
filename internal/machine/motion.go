package machine

import (
	"math"

	"sagitta/internal/program"
)

// move fills the motion that the line makes, if it makes one.
func (ip *Interpreter) move(l *line, m *Move) error {
	axes := l.x != nil || l.y != nil || l.z != nil
	offsets := l.i != nil || l.j != nil || l.k != nil || l.r != nil
	if !axes && !offsets {
		return nil
	}
	if l.unknown != nil {
		return unsupported(l.b, l.unknown, "an unknown M word with "+string(l.first().Letter)+
			" is not supported", "")
	}
	arc := ip.motion >= 2
	if offsets && !arc {
		return malformed(l.b, firstOf(l.i, l.j, l.k, l.r),
			"I, J, K and R belong to an arc (G2 or G3)", "")
	}
	if ip.workLapsed != 0 {
		return ip.lapsed(l)
	}
	if ip.motion == noMotion {
		w := l.first()
		return malformed(l.b, w, string(w.Letter)+" without a motion mode", "say G0 or G1 first")
	}
	if !ip.placed && (l.x != nil || l.y != nil || arc) {
		ip.placed = true
		if ip.relative {
			ip.xKnown, ip.yKnown = true, true
			ip.astray[0], ip.astray[1] = 0, 0
			ip.shift()
		}
	}
	if ip.motion > 0 {
		if err := ip.checkFeed(l); err != nil {
			return err
		}
	}
	beam := ip.beam()
	m.Rapid = ip.motion == 0
	m.Burn = !m.Rapid && beam != Off || m.Rapid && beam == On && ip.cfg.RapidsFire
	m.FromUnknown = !(ip.xKnown && ip.yKnown)
	m.ZUnknown = !ip.zKnown
	if m.FromUnknown && arc && !m.Burn {
		return ip.unknown(l, l.word(), "an arc")
	}
	if m.Burn && !ip.known() {
		return ip.unknown(l, l.word(), "a burn")
	}
	ip.moved = true
	m.Kind = Line
	if w := l.tooFar(); w != nil {
		return tooFar(l, w)
	}
	x, y, z := ip.x, ip.y, ip.z
	if w := l.x; w != nil {
		x = ip.target(0, ip.x, w)
		m.To.X = x.mm()
		ip.reach(0, &ip.xKnown)
	}
	if w := l.y; w != nil {
		y = ip.target(1, ip.y, w)
		m.To.Y = y.mm()
		ip.reach(1, &ip.yKnown)
	}
	if w := l.z; w != nil {
		z = ip.target(2, ip.z, w)
		m.To.Z = z.mm()
		ip.reach(2, &ip.zKnown)
	}
	if !ip.relative && ip.shifted && !ip.known() {
		// By an offset that is not known it may have gone to such a place.
		m.FromUnknown = m.FromUnknown || !(ip.xKnown && ip.yKnown)
		m.ZUnknown = m.ZUnknown || !ip.zKnown
		if m.Burn || m.FromUnknown && arc {
			return ip.unknown(l, l.word(), "a burn")
		}
	}
	if math.Abs(m.To.X) > farthestMM || math.Abs(m.To.Y) > farthestMM || math.Abs(m.To.Z) > farthestMM {
		return unsupported(l.b, l.first(), "a place beyond a thousand kilometres is not supported", "")
	}
	if arc {
		if err := ip.arc(l, m, x, y); err != nil {
			return err
		}
		if far(m.CX, m.CY) {
			return unsupported(l.b, firstOf(l.i, l.j, l.r), "an arc whose centre is beyond a thousand kilometres is not supported", "")
		}
	} else {
		dx, dy := x.sub(ip.x).span(), y.sub(ip.y).span()
		m.Length = math.Sqrt(dx*dx + dy*dy)
	}
	ip.time(m, z.sub(ip.z).span())
	ip.x, ip.y, ip.z, ip.at = x, y, z, m.To
	return nil
}

// farthestMM bounds coordinates: far over any bench; within it
// float64 holds a tenth of a micrometre.
const farthestMM = 1e9

// far tells a centre that is no place either.
func far(x, y float64) bool { return math.Abs(x) > farthestMM || math.Abs(y) > farthestMM }

// tooFar returns a word of the motion that is beyond farthestMM in any unit,
// or nil.
func (l *line) tooFar() *program.Word {
	for _, w := range [...]*program.Word{l.x, l.y, l.z, l.i, l.j, l.r} {
		if w != nil && math.Abs(w.Num.Float()) > farthestMM {
			return w
		}
	}
	return nil
}

// scale returns the scale of the units in force.
func (ip *Interpreter) scale() *scale {
	if ip.inches {
		return scaleIn
	}
	return scaleMM
}

// target returns where an axis goes that stands at from.
func (ip *Interpreter) target(axis int, from coord, w *program.Word) coord {
	v := length(w.Num, ip.scale())
	if ip.relative {
		return from.add(v)
	}
	if ip.shifted {
		return v.add(ip.offset[axis])
	}
	return v
}

// word returns the word that stands for the motion in messages.
func (l *line) word() *program.Word {
	if l.motionWord != nil {
		return l.motionWord
	}
	return l.first()
}

// firstOf returns the first of the words in the text; nil ones do not count.
func firstOf(words ...*program.Word) *program.Word {
	var first *program.Word
	for _, w := range words {
		if w != nil && (first == nil || w.Start < first.Start) {
			first = w
		}
	}
	return first
}

// checkFeed refuses a feed move without a speed.
func (ip *Interpreter) checkFeed(l *line) error {
	switch {
	case ip.inverse && l.f == nil:
		// RS274 3.5.19.
		return malformed(l.b, l.word(), "a G93 move without F on its line", "")
	case !ip.feedSaid:
		return malformed(l.b, l.word(), "a feed move without a feed", "say F before it or on its line")
	case ip.feed == 0:
		at := l.word()
		if l.f != nil {
			at = l.f
		}
		return malformed(l.b, at, "a feed move at F0", "")
	case !ip.inverse && ip.feedInches != ip.inches:
		return unsupported(l.b, l.word(), "a feed move at an F from before the units changed",
			"say F again after G20 or G21")
	}
	return nil
}

const secondsPerMinute = 60

// time fills Feed and Seconds of a move that rises by dz.
func (ip *Interpreter) time(m *Move, dz float64) {
	path := m.Length
	if m.Rapid {
		m.Seconds = math.Sqrt(path*path+dz*dz) / ip.cfg.RapidMMMin * secondsPerMinute
		return
	}
	m.Feed = ip.feed
	if ip.inverse {
		m.Seconds = secondsPerMinute / m.Feed
		return
	}
	if ip.inches {
		m.Feed *= mmPerInch
	}
	if path == 0 {
		// Alone, the focus axis moves at the feed however it counts.
		path = math.Abs(dz)
	} else if dz != 0 && ip.cfg.FeedCountsZ && ip.cfg.ZAxis == 'Z' {
		path = math.Sqrt(path*path + dz*dz)
	}
	m.Seconds = path / m.Feed * secondsPerMinute
}

const mmPerInch = 25.4
