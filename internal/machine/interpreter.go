package machine

import (
	"math"
	"slices"

	"sagitta/internal/diag"
	"sagitta/internal/program"
)

// Interpreter follows a program block by block. Its zero value is of no use;
// New makes one.
type Interpreter struct {
	cfg   Config
	notes []Note
	// lapses are those of the words' values.
	lapses program.Lapses
	// did is what the words of the last block do; where it has ended the
	// program, during is what was in force before that.
	did    Actions
	during State

	// st is the state, but for what State works out.
	st     State
	at     [3]coord // st.At exactly
	lost   [3]cause // why X, Y and Z are not known
	placed bool     // a move in XY has been met

	// offset is what G92 puts between positions and numbers (RS274 3.5.18),
	// stored what G92.3 would bring back.
	offset, stored shift

	// All places are in the coordinates of the work offset (G54 to G59.3) that
	// is in force at the first motion, which has been met where moved; a program
	// that would need a second is refused. workLapsed is the line of the M2 that
	// went back to another, 0 if none.
	moved      bool
	workLapsed int
	anyWork    bool // which one it was is not known
}

// line is a block while it is taken, and what its words do.
type line struct {
	b *program.Block
	Actions
}

// word returns a word of the line, or nil for none.
func (l *line) word(r Ref) *program.Word { return r.In(l.b) }

// mover returns the word that stands for the motion in messages.
func (l *line) mover() *program.Word {
	if r := l.G[MotionMode]; r != 0 {
		return l.word(r)
	}
	return l.word(l.first())
}

// axisWords returns the words of X, Y and Z, nil for none.
func (l *line) axisWords() [3]*program.Word {
	return [3]*program.Word{l.word(l.X), l.word(l.Y), l.word(l.Z)}
}

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
		cfg: cfg,
		st: State{
			XKnown:   cfg.StartXYKnown,
			YKnown:   cfg.StartXYKnown,
			ZKnown:   true,
			Motion:   noMotion,
			Inches:   cfg.Inches,
			BeamWord: NoBeam,
		},
	}
	for i, mm := range cfg.Start.axes() {
		ip.at[i] = scaleMM.length(program.Round(*mm, decimalsMM))
		*ip.st.At.axes()[i] = ip.at[i].mm()
	}
	return ip
}

// Resume lets the next block be one of the same program that st is in force before, at
// or behind its first burn, and which has been followed whole: places beyond 900 m lose
// what State has lost of them, and behind an end that took it out of its work offset
// any is taken for that.
func (ip *Interpreter) Resume(st *State) {
	ip.st, ip.did = *st, Actions{}
	for i, mm := range ip.st.At.axes() {
		ip.at[i] = coord{q: int64(math.RoundToEven(*mm * unitsPerMM))}
	}
	ip.offset, ip.stored = shiftOf(st.Offset, st.OffsetUnknown), shiftOf(st.Stored, st.StoredUnknown)
	ip.placed, ip.moved, ip.workLapsed, ip.anyWork = st.Placed, st.Moved, 0, st.Moved && !st.Settled
	if ip.anyWork {
		ip.workLapsed = 1
	}
}

// State returns the state after the last block.
func (ip *Interpreter) State() State {
	st := ip.st
	st.Moved, st.Placed = ip.moved, ip.placed
	st.Settled = ip.moved && ip.workLapsed == 0
	if ip.workLapsed != 0 {
		st.Work = firstWork
	}
	st.Beam = st.beam()
	return st
}

// During returns what was in force while the last block moved: the state after
// it, but for what the end of a program resets only then.
func (ip *Interpreter) During() State {
	if ip.did.Ends {
		return ip.during
	}
	return ip.State()
}

// Actions returns what the words of the last block do. After StepPlain there
// are none.
func (ip *Interpreter) Actions() Actions { return ip.did }

// Notes returns the unknown M words met so far, each number once. They have
// been passed: whoever runs the program should know.
func (ip *Interpreter) Notes() []Note { return ip.notes }

// Lapses returns those of lines whose words alone do not tell of them.
func (ip *Interpreter) Lapses() program.Lapses { return ip.lapses }

// Step takes the next block and fills m with what it makes the head do. Its
// errors are *diag.Error; after one the interpreter is at no particular state.
// It does not allocate, errors and first sights of unknown M words apart.
func (ip *Interpreter) Step(b *program.Block, m *Move) error {
	*m = Move{}
	m.From, m.To = ip.st.At, ip.st.At
	did, err := ip.cfg.Actions(b)
	if err != nil {
		return err
	}
	l := line{b, did}
	if err := ip.execute(&l, m); err != nil {
		return err
	}
	m.Power, m.PowerFollows = ip.st.Power.Float(), ip.st.BeamFollows
	ip.did = did
	if l.Ends {
		ip.during = ip.State()
		ip.reset(b.Line)
	}
	return nil
}

// execute does what the words say, in the order of RS274 3.8.
func (ip *Interpreter) execute(l *line, m *Move) error {
	st := &ip.st
	if inverse := l.Codes[FeedMode] == 930; l.G[FeedMode] != 0 && inverse != st.InverseTime {
		// The number of the one mode has no meaning in the other.
		st.InverseTime, st.FeedSaid, st.Feed = inverse, false, program.Number{}
	}
	if w := l.word(l.F); w != nil {
		if w.Num.Mant < 0 {
			return l.b.Malformed(w.Start, "F is negative", "")
		}
		if w.Num.Mant == 0 {
			ip.lapses.Add(program.ZeroFeed, l.b.Line)
		}
		// A unit word on the line acts later, but before the motion that
		// the feed is for.
		st.Feed, st.FeedSaid, st.FeedInches = w.Num, true, st.Inches
		if l.G[Units] != 0 {
			st.FeedInches = l.Codes[Units] == 200
		}
	}
	if w := l.word(l.Power); w != nil {
		if w.Num.Mant < 0 {
			return l.b.Malformed(w.Start, string(w.Letter)+" is negative", "")
		}
		st.Power, st.PowerSaid = w.Num, true
	}
	if w := l.word(l.Beam); w != nil {
		st.BeamWord, st.BeamLit, st.BeamFollows = wholeOf(w), l.BeamOn, l.BeamFollows
	}
	for i := range l.Unknown.All() {
		ip.note(l.b, &l.b.Words[i])
	}
	for i := range l.Coolant.All() {
		switch wholeOf(&l.b.Words[i]) {
		case 7:
			st.Mist = true
		case 8:
			st.Flood = true
		default:
			st.Mist, st.Flood = false, false
		}
	}
	if l.Codes[NonModal] == 40 {
		return ip.dwell(l, m)
	}
	if err := ip.setModes(l); err != nil {
		return err
	}
	if l.G[NonModal] != 0 {
		return ip.once(l, m)
	}
	return ip.move(l, m)
}

// wholeOf is the number of an M word, which is whole.
func wholeOf(w *program.Word) int {
	n, _ := w.Num.At(0)
	return int(n.Mant)
}

// note remembers an unknown M word.
func (ip *Interpreter) note(b *program.Block, w *program.Word) {
	m := wholeOf(w)
	known := slices.ContainsFunc(ip.notes, func(n Note) bool { return n.M == m })
	if !known && len(ip.notes) < maxNotes {
		ip.notes = append(ip.notes, Note{M: m, Place: b.Place(w.Start)})
	}
}

// setModes takes units, distance modes, motion mode, path mode and work offset.
func (ip *Interpreter) setModes(l *line) error {
	st := &ip.st
	for _, group := range [...]Group{Plane, Distance, FeedMode, Units} {
		if l.G[group] != 0 {
			st.Said |= 1 << group
		}
	}
	if l.G[Units] != 0 {
		st.Inches = l.Codes[Units] == 200
	}
	if l.G[PathMode] != 0 {
		st.Path, st.PathP, st.PathHasP, st.PathInches = l.Codes[PathMode], program.Number{}, false, false
		if p := l.word(l.P); p != nil && l.Codes[NonModal] != 40 {
			st.PathP, st.PathHasP, st.PathInches = p.Num, true, st.Inches
		}
	}
	if l.G[Distance] != 0 {
		st.Relative = l.Codes[Distance] == 910
	}
	if l.G[MotionMode] != 0 {
		st.Motion = int8(l.Codes[MotionMode] / 10)
		if l.Codes[MotionMode] == noMotionCode {
			st.Motion = noMotion
		}
	}
	if l.G[ArcMode] != 0 {
		st.Arcs = RelativeArcs
		if l.Codes[ArcMode] == 901 {
			st.Arcs = AbsoluteArcs
		}
	}
	if l.G[WorkOffset] != 0 {
		return ip.selectWork(l)
	}
	return nil
}

// dwell fills a dwell. It lasts P seconds (RS274 3.5.4).
func (ip *Interpreter) dwell(l *line, m *Move) error {
	word, p := l.word(l.G[NonModal]), l.word(l.P)
	if p == nil {
		return l.b.Malformed(word.Start, "G4 without P", "P gives the seconds to wait")
	}
	if p.Num.Mant < 0 {
		return l.b.Malformed(p.Start, "G4 waits a negative time", "")
	}
	if w := l.word(l.first()); w != nil {
		return l.b.Unsupported(w.Start, "a dwell and a motion on one line are not supported",
			"put them on two lines")
	}
	if err := ip.setModes(l); err != nil {
		return err
	}
	m.Kind, m.Seconds = Dwell, p.Num.Float()
	m.Burn = ip.st.beam() == On
	if m.Burn && !ip.known() {
		return ip.unknown(l, word, "a burn")
	}
	return nil
}

// reset does what M2 and M30 do after the motion (RS274 3.6.1). The units
// stay.
func (ip *Interpreter) reset(line int) {
	ip.setShifts(shift{}, ip.stored)
	st := &ip.st
	if st.Work != 0 && st.Work != firstWork {
		ip.workLapsed = line
	}
	if st.Arcs == AbsoluteArcs {
		st.Arcs = UnknownArcs
	}
	if st.InverseTime {
		st.InverseTime, st.FeedSaid, st.Feed = false, false, program.Number{}
	}
	st.Relative = false
	st.Motion = 1
	st.BeamWord, st.BeamLit, st.BeamFollows = ip.cfg.BeamOff[0], false, false
	st.Mist, st.Flood = false, false
}
