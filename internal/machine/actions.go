package machine

import (
	"bytes"
	"slices"
	"strings"

	"sagitta/internal/program"
)

// Actions says what each word of a block does, with the modes left out that
// decide whether a motion comes of it. The zero value does nothing. It refers
// to words by their place, so it holds for a copy of the block as well.
type Actions struct {
	// X to R are the words of a motion, F the feed, P that of a dwell, of
	// G64 or of an M word. Power is the power word where it sets the power;
	// S beside an M word that is not the beam's is that word's own.
	X, Y, Z, I, J, K, R, F, P, Power Ref
	// G holds the G word of each group, Codes which it is, 0 without one.
	G     [Groups]Ref
	Codes [Groups]GCode
	// Beam switches the beam: on or off, BeamFollows where power follows
	// speed.
	Beam                Ref
	BeamOn, BeamFollows bool
	// Stop acts after the motion, all others before it: M0, M1 and M60
	// pause; M2 and M30 end the program, which Ends reports.
	Stop Ref
	Ends bool
	// Every other M word is in one of these: Coolant has M7, M8 and M9,
	// Passed those that change nothing that an Interpreter follows, Unknown
	// those that it does not know.
	Coolant, Passed, Unknown WordSet
}

// Places returns the words by which numbers of the block become places: units,
// distance mode and work offset.
func (a *Actions) Places() WordSet {
	return a.G[Units].Set() | a.G[Distance].Set() | a.G[WorkOffset].Set()
}

// OfUnknown reports whether word i of the block goes with an M word that is not known.
func (a *Actions) OfUnknown(b *program.Block, i int) bool {
	own := refTo(i)
	return a.Unknown != 0 && !bytes.ContainsRune([]byte("GMNT"), rune(b.Words[i].Letter)) &&
		own != a.F && own != a.Power && (own != a.P || a.G[NonModal] == 0 && a.G[PathMode] == 0)
}

// Axes are those with a word on the line.
func (a *Actions) Axes() (axes AxisSet) {
	for i, r := range [...]Ref{a.X, a.Y, a.Z} {
		if r != 0 {
			axes |= 1 << i
		}
	}
	return axes
}

// Waits reports whether the block waits for the operator: by M0, M1 or M60, or with M6
// for another tool.
func (a *Actions) Waits(b *program.Block) bool {
	if a.Stop != 0 && !a.Ends {
		return true
	}
	for i := range a.Passed.All() {
		if wholeOf(&b.Words[i]) == 6 {
			return true
		}
	}
	return false
}

// centre returns the first of the words that only an arc has.
func (a *Actions) centre() Ref { return first(a.I, a.J, a.K, a.R) }

// first returns the first word that belongs to a motion.
func (a *Actions) first() Ref { return first(a.X, a.Y, a.Z, a.I, a.J, a.K, a.R) }

// Actions returns what the block's words do, in the one pass over them. The errors are
// those of Step that the words alone give reason for.
func (c *Config) Actions(b *program.Block) (a Actions, err error) {
	if len(b.Words) > maxWords {
		return a, b.Unsupported(b.Words[maxWords].Start, "a line of more than 64 words is not supported", "")
	}
	argument := false // S belongs to an M word
	for i := range b.Words {
		w, ref := &b.Words[i], refTo(i)
		place := a.place(c, w.Letter)
		wrong := place == nil && strings.IndexByte("ABCUVWZ", w.Letter) >= 0
		if acts := wrong || place != nil && place != &a.P || w.Letter == 'G' || w.Letter == 'S'; acts && b.Optional {
			return a, b.Unsupported(w.Start, string(w.Letter)+" on an optional line (/) is not supported",
				`take out the "/" or the line`)
		}
		switch {
		case place != nil:
			*place = ref
		case wrong:
			hint := "the program may move X, Y and " + string(c.ZAxis)
			if w.Letter == 'A' {
				hint += "; for stock that turns, wrap Y round it and give a surface that repeats (# wraps_y_mm:)"
			}
			return a, b.Unsupported(w.Start, "axis "+string(w.Letter)+" is not supported", hint)
		case w.Letter == 'G':
			if err := a.takeG(b, ref); err != nil {
				return a, err
			}
		case w.Letter == 'M':
			argues, err := a.takeM(c, b, ref)
			if err != nil {
				return a, err
			}
			argument = argument || argues
		case w.Letter == 'S' && w.Num.Mant < 0:
			return a, b.Malformed(w.Start, "S is negative", "")
		}
	}
	if argument && a.Beam == 0 && a.G[MotionMode] == 0 && a.first() == 0 {
		a.Power = 0
	}
	if c.PowerWord == 'P' && a.Codes[NonModal] == 40 {
		a.P, a.Power = a.Power, 0
	}
	return a, nil
}

// place returns where the reference to a word with the letter goes, or nil: for G
// and M words, for S where it is not the power word, for axes that are not
// followed, and for what is passed, N, T and arguments of M words.
func (a *Actions) place(c *Config, letter byte) *Ref {
	switch letter {
	case c.ZAxis:
		return &a.Z
	case c.PowerWord:
		return &a.Power
	case 'X':
		return &a.X
	case 'Y':
		return &a.Y
	case 'I':
		return &a.I
	case 'J':
		return &a.J
	case 'K':
		return &a.K
	case 'R':
		return &a.R
	case 'F':
		return &a.F
	case 'P':
		return &a.P
	}
	return nil
}

// oneOf is what to do about words that contradict each other.
const oneOf = "one controller goes by the first, another by the last: leave the one that is meant"

// takeG takes a G word.
func (a *Actions) takeG(b *program.Block, ref Ref) error {
	w := ref.In(b)
	num, ok := w.Num.At(1)
	code := GCode(num.Mant)
	for group, of := range codes {
		switch {
		case !ok || int64(code) != num.Mant || !slices.Contains(of, code):
		case a.G[group] == 0:
			a.G[group], a.Codes[group] = ref, code
			return nil
		case Group(group) == MotionMode:
			return b.Malformed(w.Start, "two motion words on one line", oneOf)
		default:
			return b.Malformed(w.Start, "G"+w.Num.Trim().String()+" and another word of its group on one line", oneOf)
		}
	}
	if w.Num.Mant < 0 {
		return b.Malformed(w.Start, "G with a negative number", "")
	}
	hint := ""
	switch c := num.Mant; {
	case !ok:
	case c == 180 || c == 190:
		hint = "only the XY plane (G17) is followed"
	case c == 410 || c == 420:
		hint = "write the path that the beam itself takes"
	case c == 430 || c == 431:
		hint = "take it out, with its H: a lens has no tool length"
	case c >= 810 && c <= 890:
		hint = "write the cycle out as moves"
	}
	return b.Unsupported(w.Start, "G"+w.Num.Trim().String()+" is not supported", hint)
}

// takeM takes an M word. It reports whether an S may be the word's own.
func (a *Actions) takeM(c *Config, b *program.Block, ref Ref) (argues bool, err error) {
	w := ref.In(b)
	code, ok := w.Num.At(0)
	if !ok || code.Mant < 0 {
		return false, b.Malformed(w.Start, "M takes a whole number", "")
	}
	m := int(code.Mant)
	off := slices.Contains(c.BeamOff, m)
	if off || slices.Contains(c.BeamOn, m) {
		if a.Beam != 0 {
			return false, b.Malformed(w.Start, "two words that switch the beam on one line", "put each on a line of its own")
		}
		a.Beam, a.BeamOn, a.BeamFollows = ref, !off, !off && slices.Contains(c.PowerFollows, m)
		return false, notOptional(b, w)
	}
	switch m {
	case 6, 48, 49, 110: // no matter here
		a.Passed |= ref.Set()
	case 3, 4, 5:
		// RS274 3.6 has them for a spindle. Where the bench switches its
		// beam otherwise, they do nothing to it.
		a.Passed |= ref.Set()
		return true, nil
	case 7, 8, 9:
		a.Coolant |= ref.Set()
	case 117, 118:
		// Not in RS274: texts for a display, and calls of subprograms
		// (common practice, no source).
		a.Passed |= ref.Set()
		if int(ref) != len(b.Words) {
			return false, b.Unsupported(w.Start, "M"+code.String()+" (text) beside other words is not supported",
				"put it on a line of its own")
		}
	case 98, 99:
		return false, b.Unsupported(w.Start, "M"+code.String()+" (subprogram) is not supported",
			"write the program out without it")
	case 0, 1, 60, 2, 30:
		if a.Stop != 0 {
			return false, b.Malformed(w.Start, "two words that stop the program on one line", "")
		}
		if a.Stop, a.Ends = ref, m == 2 || m == 30; a.Ends {
			return false, notOptional(b, w)
		}
	default:
		a.Unknown |= ref.Set()
		return true, nil
	}
	return false, nil
}

// notOptional refuses an M word that must not hang on a switch of the controller.
func notOptional(b *program.Block, w *program.Word) error {
	if !b.Optional {
		return nil
	}
	return b.Unsupported(w.Start, "M"+w.Num.Trim().String()+" on an optional line (/) is not supported",
		`take out the "/" or the line`)
}
