package machine

import (
	"strconv"

	"sagitta/internal/diag"
	"sagitta/internal/program"
)

// line is one block's words by what they do.
type line struct {
	b                   *program.Block
	x, y, z, i, j, k, r *program.Word
	f, power, p         *program.Word

	// What G and M words say; the pointers are the words, nil where the
	// line has none.
	modes                            bool // there is a G word
	groups                           uint32
	motion                           int8 // 0 to 3, noMotion for G80, noWord without one
	feedMode, units, distance, dwell *program.Word
	motionWord                       *program.Word
	beam, pause, end, unknown        *program.Word
	argument                         bool          // S belongs to an M word that is not the beam's
	once                             *program.Word // G10, G28, G30, G53 or G92 to G92.3
	work, arcs                       *program.Word // G54 to G59.3; G90.1 or G91.1
	inverse, inches, relative        bool
	beamTask                         task
}

// noWord: the line has no motion word.
const noWord = -2

// first returns the first word of the line that belongs to a motion, or nil.
func (l *line) first() *program.Word {
	var first *program.Word
	for _, w := range [...]*program.Word{l.x, l.y, l.z, l.i, l.j, l.k, l.r} {
		if w != nil && (first == nil || w.Start < first.Start) {
			first = w
		}
	}
	return first
}

// The modal groups of G words (RS274 3.4, table 4), and the one of those that
// are not modal: a line may have one word of each.
const (
	groupOnce = iota
	groupMotion
	groupPlane
	groupDistance
	groupFeedMode
	groupUnits
	groupCutter
	groupLength
	groupOffset
	groupPath
	groupArcs
)

// takeG takes a G word.
func (l *line) takeG(w *program.Word) error {
	code, ok := w.Num.At(1)
	if !ok {
		return unknownG(l.b, w)
	}
	group := groupOnce
	switch code.Mant {
	case 0, 10, 20, 30:
		group = groupMotion
		l.motion, l.motionWord = int8(code.Mant/10), w
	case 800:
		group = groupMotion
		l.motion, l.motionWord = noMotion, w
	case 40:
		l.dwell = w
	case 100, 280, 300, 530, 920, 921, 922, 923:
		l.once = w
	case 170:
		group = groupPlane
	case 200, 210:
		group = groupUnits
		l.units, l.inches = w, code.Mant == 200
	case 400:
		group = groupCutter
	case 490:
		group = groupLength
	case 540, 550, 560, 570, 580, 590, 591, 592, 593:
		group = groupOffset
		l.work = w
	case 610, 611, 640:
		group = groupPath
	case 901, 911:
		group = groupArcs
		l.arcs = w
	case 900, 910:
		group = groupDistance
		l.distance, l.relative = w, code.Mant == 910
	case 930, 940:
		group = groupFeedMode
		l.feedMode, l.inverse = w, code.Mant == 930
	default:
		return unknownG(l.b, w)
	}
	if l.groups&(1<<group) != 0 {
		if group == groupMotion {
			return malformed(l.b, w, "two motion words on one line", "")
		}
		return malformed(l.b, w, "G"+w.Num.Trim().String()+" and another word of its group on one line", "")
	}
	l.groups |= 1 << group
	l.modes = true
	return nil
}

// unknownG refuses a G word that is not followed, and says what may be done
// about those that are often met.
func unknownG(b *program.Block, w *program.Word) error {
	if w.Num.Mant < 0 {
		return malformed(b, w, "G with a negative number", "")
	}
	hint := ""
	if code, ok := w.Num.At(1); ok {
		switch c := code.Mant; {
		case c == 180 || c == 190:
			hint = "only the XY plane (G17) is followed"
		case c == 410 || c == 420:
			hint = "write the path that the beam itself takes"
		case c >= 810 && c <= 890:
			hint = "write the cycle out as moves"
		}
	}
	return unsupported(b, w, "G"+w.Num.Trim().String()+" is not supported", hint)
}

// takeM takes an M word.
func (ip *Interpreter) takeM(l *line, w *program.Word) error {
	code, ok := w.Num.At(0)
	if !ok || code.Mant < 0 {
		return malformed(l.b, w, "M takes a whole number", "")
	}
	var t task
	if code.Mant < tableM {
		t = ip.task[code.Mant]
	} else {
		t = ip.cfg.beamTask(int(code.Mant))
	}
	switch t {
	case taskPass:
		return nil
	case taskSpindle:
		l.argument = true
		return nil
	case taskText:
		if w != &l.b.Words[len(l.b.Words)-1] {
			return unsupported(l.b, w, "M"+w.Num.Trim().String()+" (text) beside other words is not supported",
				"put it on a line of its own")
		}
		return nil
	case taskCall:
		return unsupported(l.b, w, "M"+w.Num.Trim().String()+" (subprogram) is not supported",
			"write the program out without it")
	case taskPause, taskEnd:
		if l.pause != nil || l.end != nil {
			return malformed(l.b, w, "two words that stop the program on one line", "")
		}
		if t == taskPause {
			l.pause = w
			return nil
		}
		l.end = w
	case taskUnknown:
		l.unknown, l.argument = w, true
		ip.note(l.b, w, int(code.Mant))
		return nil
	default:
		if l.beam != nil {
			return malformed(l.b, w, "two words that switch the beam on one line", "")
		}
		l.beam, l.beamTask = w, t
	}
	if l.b.Optional {
		return unsupported(l.b, w, "M"+strconv.FormatInt(code.Mant, 10)+
			" on an optional line (/) is not supported", `take out the "/" or the line`)
	}
	return nil
}

// note remembers an unknown M word.
func (ip *Interpreter) note(b *program.Block, w *program.Word, m int) {
	for k := range ip.notes {
		if ip.notes[k].M == m {
			return
		}
	}
	if len(ip.notes) < maxNotes {
		ip.notes = append(ip.notes, Note{M: m, Place: b.Place(w.Start)})
	}
}

func malformed(b *program.Block, w *program.Word, what, hint string) error {
	return &diag.Error{Kind: diag.Malformed, Place: b.Place(w.Start), What: what, Hint: hint}
}

func unsupported(b *program.Block, w *program.Word, what, hint string) error {
	return &diag.Error{Kind: diag.Unsupported, Place: b.Place(w.Start), What: what, Hint: hint}
}
