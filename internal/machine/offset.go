package machine

import (
	"cmp"
	"fmt"
	"math"
	"strconv"

	"sagitta/internal/program"
)

// shift is an offset of the axes. A position is a number of the program plus it.
type shift struct {
	by [3]coord
	// lost is the line of the G92 whose offset is not known, because the
	// axis was not known where it was set; 0 where the offset is known.
	lost [3]int
}

// mm is the offset in mm, and the axes of which it is not known.
func (s *shift) mm() (mm Point, unknown AxisSet) {
	for axis, line := range s.lost {
		*mm.axes()[axis] = s.by[axis].mm()
		if line != 0 {
			unknown |= 1 << axis
		}
	}
	return mm, unknown
}

// shiftOf is the shift that mm tells. Where it is not known, the line of the G92 is
// lost: 1 stands for it.
func shiftOf(at Point, unknown AxisSet) (s shift) {
	for axis, mm := range at.axes() {
		s.by[axis] = coord{q: int64(math.RoundToEven(*mm * unitsPerMM))}
		if unknown&(1<<axis) != 0 {
			s.lost[axis] = 1
		}
	}
	return s
}

// firstWork is the work offset before any is said: G54 (RS274 3.6.1 has the
// end of a program go back to it).
const firstWork = 540

// cause says why an axis is not known: a G word by its number, 0 before the
// program has said anything, and its line.
type cause struct {
	g    int8
	line int
}

// known reports whether all axes are.
func (ip *Interpreter) known() bool { return ip.st.XKnown && ip.st.YKnown && ip.st.ZKnown }

// reach notes that a word has moved the axis: an absolute one to a known
// place, unless its offset is not known.
func (ip *Interpreter) reach(axis int) {
	known := ip.st.known()[axis]
	switch line := ip.offset.lost[axis]; {
	case ip.st.Relative:
	case line == 0:
		*known = true
	default:
		*known = false
		ip.lost[axis] = cause{92, line}
	}
}

// unknown refuses a burn or an arc while an axis is not known.
func (ip *Interpreter) unknown(l *line, w *program.Word, what string) error {
	const start = "say where the head stands with --start X,Y"
	known, lost := [3]bool{ip.st.XKnown, ip.st.YKnown, ip.st.ZKnown}, ip.lost
	if ip.known() { // the place of a centre is not
		for axis, line := range ip.offset.lost {
			known[axis], lost[axis] = line == 0, cause{92, line}
		}
	}
	for axis, known := range known {
		if known {
			continue
		}
		c, letter := lost[axis], string([3]byte{'X', 'Y', ip.cfg.ZAxis}[axis])
		since := " on line " + strconv.Itoa(c.line)
		switch c.g {
		case 0:
			return l.b.Unsupported(w.Start, what+" from an unknown X and Y", start)
		case 92:
			return l.b.Unsupported(w.Start, what+" while "+letter+" is unknown: the G92"+since+
				" was said where it was not known", start)
		}
		return l.b.Unsupported(w.Start, what+" while "+letter+" is unknown since the G"+strconv.Itoa(int(c.g))+since,
			"go to an absolute "+letter+" before it, with the beam off")
	}
	return nil
}

// setOffset does G92: the named axes get the numbers on the line where they
// stand.
func (ip *Interpreter) setOffset(l *line) error {
	if l.Axes() == 0 {
		return l.b.Malformed(l.word(l.G[NonModal]).Start, "G92 without an axis", "")
	}
	if err := l.tooFar(); err != nil {
		return err
	}
	for axis, w := range l.axisWords() {
		if w == nil {
			continue
		}
		ip.offset.by[axis] = ip.at[axis].sub(ip.scale().length(w.Num))
		ip.offset.lost[axis] = 0
		if !*ip.st.known()[axis] {
			ip.offset.lost[axis] = l.b.Line
		}
	}
	ip.setShifts(ip.offset, ip.offset)
	return nil
}

// setShifts puts offsets in force, and into the state.
func (ip *Interpreter) setShifts(offset, stored shift) {
	ip.offset, ip.stored = offset, stored
	ip.st.Offset, ip.st.OffsetUnknown = offset.mm()
	ip.st.Stored, ip.st.StoredUnknown = stored.mm()
}

// selectWork takes a work offset word.
func (ip *Interpreter) selectWork(l *line) error {
	word, code := l.word(l.G[WorkOffset]), l.Codes[WorkOffset]
	now := ip.st.Work
	if now == 0 {
		now = cmp.Or(ip.cfg.Work, firstWork)
	}
	if only := ip.cfg.Work; only != 0 && code != only {
		return l.b.Unsupported(word.Start, fmt.Sprintf("G%s is another work offset than G%s, in which the stock is held", code.Number(), only.Number()),
			"the fixture's record says which its zero is (work_offset)")
	}
	if ip.moved && code != now && !ip.anyWork {
		return l.b.Unsupported(word.Start, "G"+word.Num.Trim().String()+" after the first motion is not supported",
			oneOffset)
	}
	ip.st.Work, ip.workLapsed = code, 0
	return nil
}

const oneOffset = "the program must keep to one work offset"
