package follow

import (
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/program"
)

// lines is what the written lines have in common: their numbers and how fast
// they follow each other.
type lines struct {
	// number is the last line's, valid with numbered; added tells that the
	// line was put in.
	number          int64
	numbered, added bool
	n               []program.Change

	pace pace
}

// mostNumber is the greatest line number there is (RS274 3.3.2: five digits).
const mostNumber = 99999

// add writes a line of its own, in the style of the block like.
func (w *writer) add(like *program.Block, ch []program.Change) {
	start := len(w.buf)
	w.sum.Added++
	w.buf = program.AppendBlock(w.buf, like, w.number(like, ch))
	w.overlong(like.Line, start)
	w.pass(like.Line)
}

// number puts a line number before the words where added lines carry one.
// With numbers and checksums a controller asks for the lines one by one: a
// line without a number would stop it.
func (w *writer) number(like *program.Block, ch []program.Change) []program.Change {
	l := &w.lines
	next, has := like.LineNumber()
	if !l.numbered && !has {
		return ch
	}
	if !w.opt.Numbered {
		if like.Checked() {
			w.refuse(like, "a line must be added here to a program with line numbers and checksums",
				"set numbered = true in the machine profile, so that it is numbered too")
		}
		return ch
	}
	n := l.number + 1
	if !l.numbered {
		n = max(0, next-1)
	}
	if n > mostNumber {
		w.refuse(like, "the lines to add here leave no line number", "number the program from a smaller one on")
		return ch
	}
	l.number, l.numbered, l.added = n, true, true
	l.n = append(append(l.n[:0], program.Change{Letter: 'N', Num: program.Int(n)}), ch...)
	return l.n
}

// refuse ends the run at the block.
func (w *writer) refuse(b *program.Block, what, hint string) {
	if w.err == nil {
		p := b.Place(0)
		p.File = w.opt.Name
		w.err = &diag.Error{Kind: diag.Unsupported, Place: p, What: what, Hint: hint}
	}
}

// wrote looks at the block just written, from start on in the buffer.
func (w *writer) wrote(b *program.Block, start int) {
	if n, ok := b.LineNumber(); ok {
		l := &w.lines
		if l.added && n <= l.number && w.sum.NumbersRepeat == 0 {
			w.sum.NumbersRepeat = b.Line
		}
		l.number, l.numbered, l.added = n, true, false
	}
	w.overlong(b.Line, start)
	if len(b.Words) > 0 && !w.inChunk {
		w.pass(b.Line)
	}
}

// overlong notes a line that is longer than the controller takes.
func (w *writer) overlong(line, start int) {
	if w.opt.LineMax <= 0 {
		return
	}
	n := len(w.buf) - start
	for n > 0 && (w.buf[start+n-1] == '\n' || w.buf[start+n-1] == '\r') {
		n--
	}
	if n > w.opt.LineMax {
		w.fails.add(Failure{Line: line, Kind: TooLong, Amount: float64(n)})
	}
}

// passChunk lets the time of a chunk's lines go by, slot by slot: most have
// many lines, or last for many slots.
func (w *writer) passChunk(h *held) {
	p, marks := &w.lines.pace, h.batch.marks[h.first:h.end]
	begin, slots := p.t, h.mv.Seconds/h.mv.Length*paceSlots // slots in a mm
	begin -= h.startD * slots                               // as if where D counts from
	length := 1 / slots
	now, at, sum := p.now, p.at, p.sum
	t := p.t
	for k := 0; k < len(marks); {
		// Line k begins now; those whose line before ends in the same slot
		// begin in it too.
		until := (float64(now+1) - onTime - begin) * length
		n := 1
		for last := len(marks) - 1; k+n-1 < last && marks[k+n-1].D < until; n++ {
		}
		k += n
		p.count[at] += int32(n)
		if sum += n; sum > p.most {
			p.most = sum
			w.paced(h.block.Line + k - 1)
		}
		t = begin + marks[k-1].D*slots
		now, at, sum = p.until(t, now, at, sum)
	}
	p.t, p.now, p.at, p.sum = t, now, at, sum
}

// pass lets the time of a line go by.
func (w *writer) pass(line int) {
	w.lines.pace.line(w.took)
	w.took = 0
	w.paced(line)
}

// paced takes the most lines so far into the summary.
func (w *writer) paced(line int) {
	if most := float64(w.lines.pace.most); most > w.sum.LinesPerS {
		w.sum.LinesPerS, w.sum.LinesPerSLine = most, line
	}
}

// markerText is the marker, cut to what a line takes but never so that it is
// not known again: then there is none.
func (w *writer) markerText() string {
	text := w.opt.Marker
	const signs = len("()")
	if w.opt.LineMax <= 0 || len(text)+signs <= w.opt.LineMax {
		return text
	}
	for len(text)+signs > w.opt.LineMax {
		i := strings.LastIndexByte(text, ' ')
		if i < 0 {
			return ""
		}
		text = text[:i]
	}
	if !marks(text + " ") {
		return ""
	}
	return text
}

// paceSlots is how finely time is told for the lines in a second: steady ones
// are counted exactly, a burst to within a slot.
const paceSlots = 50

// onTime is the part of a slot by which a line may begin early and still be of
// the next: steady lines begin on its bounds, and rounding must not decide.
const onTime = 1e-6

// pace counts the lines of the last second.
type pace struct {
	t     float64 // in slots
	now   int64   // the slot under way
	at    int     // its place in count
	count [paceSlots]int32
	sum   int
	most  int
}

// line counts a line that begins now and takes so many seconds.
func (p *pace) line(seconds float64) {
	p.count[p.at]++
	p.sum++
	p.most = max(p.most, p.sum)
	if seconds > 0 {
		p.t += seconds * paceSlots
		p.now, p.at, p.sum = p.until(p.t, p.now, p.at, p.sum)
	}
}

// until lets the time go by to t, from where slot, place and sum are given, and
// gives what they are then.
func (p *pace) until(t float64, now int64, at, sum int) (int64, int, int) {
	to := int64(t + onTime)
	n := to - now
	if n >= paceSlots {
		p.count = [paceSlots]int32{}
		return to, at, 0
	}
	for ; n > 0; n-- {
		if at++; at == paceSlots {
			at = 0
		}
		sum -= int(p.count[at])
		p.count[at] = 0
	}
	return to, at, sum
}

// keepOffset gives the G92 of a block the Z that it stands for where Z is
// written otherwise than programmed: the offset is then the one that the
// program means.
func (w *writer) keepOffset(h *held) {
	z, has := h.block.Find(w.opt.Machine.ZAxis)
	if !has || w.off == 0 || !h.after.ZKnown || !setsOffset(&h.block) {
		return
	}
	num := program.Round(z.Num.Float()+w.off/unitOf(&h.during), endDigits).Trim()
	w.ch = append(w.ch, program.Change{Letter: z.Letter, Num: num})
}

// setsOffset tells whether the block has a G92.
func setsOffset(b *program.Block) bool {
	for _, wd := range b.Words {
		if wd.Letter == 'G' && wd.Num.Cmp(program.Int(92)) == 0 {
			return true
		}
	}
	return false
}
