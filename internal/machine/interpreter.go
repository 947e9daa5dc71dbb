package machine

import (
	"sagitta/internal/diag"
	"sagitta/internal/program"
)

// Interpreter follows a program block by block. Its zero value is of no use;
// New makes one.
type Interpreter struct {
	cfg   Config
	role  [26]role
	task  [tableM]task
	notes []Note

	x, y, z                coord
	at                     Point // the same in mm
	xKnown, yKnown, zKnown bool
	lost                   [3]cause // why X, Y and Z are not known
	placed                 bool     // a move in XY has been met
	offsets
	work

	motion             int8
	relative           bool
	arcs               arcMode
	inches             bool
	inverse            bool
	feed               float64 // as spelled; 0 before the first
	feedNumber         program.Number
	feedSaid           bool
	feedInches         bool // what feed was said in
	beamSaid, beamOn   bool
	powerSaid, follows bool
	power              float64
}

// noMotion is the motion mode before the first motion word and after G80.
const noMotion = -1

// maxNotes bounds the memory that a program of nothing but unknown words
// takes.
const maxNotes = 100

// Note is an M word that the interpreter does not know and has passed.
type Note struct {
	M int
	// Place is where it was met first.
	Place diag.Place
}

// New returns an Interpreter before the first block.
func New(cfg Config) *Interpreter {
	ip := &Interpreter{
		cfg:    cfg,
		role:   cfg.roles(),
		task:   cfg.tasks(),
		x:      length(program.Round(cfg.Start.X, decimalsMM), scaleMM),
		y:      length(program.Round(cfg.Start.Y, decimalsMM), scaleMM),
		z:      length(program.Round(cfg.Start.Z, decimalsMM), scaleMM),
		xKnown: cfg.StartXYKnown,
		yKnown: cfg.StartXYKnown,
		zKnown: true,
		motion: noMotion,
		inches: cfg.Inches,
	}
	ip.at = Point{ip.x.mm(), ip.y.mm(), ip.z.mm()}
	return ip
}

// State returns the state after the last block.
func (ip *Interpreter) State() State {
	return State{
		At:          ip.at,
		XKnown:      ip.xKnown,
		YKnown:      ip.yKnown,
		ZKnown:      ip.zKnown,
		Offset:      ip.offsets.mm,
		Settled:     ip.moved && ip.workLapsed == 0,
		Motion:      ip.motion,
		Relative:    ip.relative,
		Inches:      ip.inches,
		InverseTime: ip.inverse,
		Feed:        ip.feed,
		Beam:        ip.beam(),

		AbsoluteArcs: ip.arcs == arcsAbsolute,
	}
}

// Notes returns the unknown M words met so far, each number once. They have
// been passed: whoever runs the program should know.
func (ip *Interpreter) Notes() []Note { return ip.notes }

// beam returns the beam's state: what was said of it, or else what the power
// tells.
func (ip *Interpreter) beam() Beam {
	switch {
	case !ip.beamSaid && !ip.powerSaid:
		return Unsaid
	case ip.beamSaid && !ip.beamOn, ip.powerSaid && ip.power == 0:
		return Off
	}
	return On
}

// Step takes the next block and fills m with what it makes the head do. Its
// errors are *diag.Error; after one the interpreter is at no particular state. It does not allocate, errors and
// first sights of unknown M words apart.
func (ip *Interpreter) Step(b *program.Block, m *Move) error {
	*m = Move{}
	m.From, m.To = ip.at, ip.at
	var l line
	l.b, l.motion = b, noWord
	for i := range b.Words {
		w := &b.Words[i]
		r := ip.role[w.Letter-'A']
		if b.Optional && r != rolePass && r != roleP && r != roleM {
			return unsupported(b, w, string(w.Letter)+" on an optional line (/) is not supported",
				`take out the "/" or the line`)
		}
		switch r {
		case roleX:
			l.x = w
		case roleY:
			l.y = w
		case roleZ:
			l.z = w
		case roleI:
			l.i = w
		case roleJ:
			l.j = w
		case roleK:
			l.k = w
		case roleR:
			l.r = w
		case roleF:
			l.f = w
		case rolePower:
			l.power = w
		case roleP:
			l.p = w
		case roleG:
			if err := l.takeG(w); err != nil {
				return err
			}
		case roleM:
			if err := ip.takeM(&l, w); err != nil {
				return err
			}
		case roleSpeed:
			if w.Num.Mant < 0 {
				return malformed(b, w, "S is negative", "")
			}
		case roleWrong:
			return unsupported(b, w, "axis "+string(w.Letter)+" is not supported", ip.axisHint(w.Letter))
		}
	}
	if l.argument && l.beam == nil && l.motionWord == nil && l.first() == nil {
		l.power = nil
	}
	if ip.cfg.PowerWord == 'P' && l.dwell != nil {
		l.p, l.power = l.power, nil
	}
	if err := ip.execute(&l, m); err != nil {
		return err
	}
	m.Power, m.PowerFollows = ip.power, ip.follows
	if l.end != nil {
		ip.reset(b.Line)
	}
	return nil
}

func (ip *Interpreter) axisHint(axis byte) string {
	hint := "the program may move X, Y and " + string(ip.cfg.ZAxis)
	if axis == 'A' {
		hint += "; for stock that turns, wrap Y round it and give a surface that repeats (# wraps_y_mm:)"
	}
	return hint
}

// execute does what the words say, in the order of RS274 3.8.
func (ip *Interpreter) execute(l *line, m *Move) error {
	if l.modes && l.feedMode != nil {
		if inverse := l.inverse; inverse != ip.inverse {
			// The number of the one mode has no meaning in the other.
			ip.inverse, ip.feedSaid, ip.feed = inverse, false, 0
		}
	}
	if w := l.f; w != nil {
		if w.Num.Mant < 0 {
			return malformed(l.b, w, "F is negative", "")
		}
		// A unit word on the line acts later, but before the motion that
		// the feed is for.
		ip.feed, ip.feedNumber, ip.feedSaid, ip.feedInches = w.Num.Float(), w.Num, true, ip.inches
		if l.units != nil {
			ip.feedInches = l.inches
		}
	}
	if w := l.power; w != nil {
		if w.Num.Mant < 0 {
			return malformed(l.b, w, string(w.Letter)+" is negative", "")
		}
		ip.power, ip.powerSaid = w.Num.Float(), true
	}
	if l.beam != nil {
		ip.beamSaid = true
		ip.beamOn = l.beamTask != taskOff
		ip.follows = l.beamTask == taskOnFollows
	}
	if l.dwell != nil {
		return ip.dwell(l, m)
	}
	if err := ip.setModes(l); err != nil {
		return err
	}
	if l.once != nil {
		return ip.once(l, m)
	}
	return ip.move(l, m)
}

// setModes takes units, distance modes, motion mode and work offset.
func (ip *Interpreter) setModes(l *line) error {
	if !l.modes {
		return nil
	}
	if l.units != nil {
		ip.inches = l.inches
	}
	if l.distance != nil {
		ip.relative = l.relative
	}
	if l.motion != noWord {
		ip.motion = l.motion
	}
	if l.arcs != nil {
		ip.arcs = arcsRelative
		if l.arcs.Num.Float() < 91 {
			ip.arcs = arcsAbsolute
		}
	}
	if l.work != nil {
		return ip.selectWork(l)
	}
	return nil
}

// dwell fills a dwell. It lasts P seconds (RS274 3.5.4).
func (ip *Interpreter) dwell(l *line, m *Move) error {
	if l.p == nil {
		return malformed(l.b, l.dwell, "G4 without P", "P gives the seconds to wait")
	}
	if l.p.Num.Mant < 0 {
		return malformed(l.b, l.p, "G4 waits a negative time", "")
	}
	if w := l.first(); w != nil {
		return unsupported(l.b, w, "a dwell and a motion on one line are not supported",
			"put them on two lines")
	}
	if err := ip.setModes(l); err != nil {
		return err
	}
	m.Kind, m.Seconds = Dwell, l.p.Num.Float()
	m.Burn = ip.beam() == On
	if m.Burn && !ip.known() {
		return ip.unknown(l, l.dwell, "a burn")
	}
	return nil
}

// reset does what M2 and M30 do after the motion (RS274 3.6.1). The units
// stay.
func (ip *Interpreter) reset(line int) {
	ip.suspend()
	ip.lapse(line)
	if ip.arcs == arcsAbsolute {
		ip.arcs = arcsUnsaid
	}
	if ip.inverse {
		ip.inverse, ip.feedSaid, ip.feed = false, false, 0
	}
	ip.relative = false
	ip.motion = 1
	ip.beamSaid, ip.beamOn, ip.follows = true, false, false
}
