package rewrite

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"sagitta/internal/phrase"
	"sagitta/internal/program"
)

// numbering follows the line numbers of the written lines.
type numbering struct {
	// last is the last line's number, valid with numbered; added tells that
	// the line was put in.
	last            int64
	numbered, added bool
	// moved tells that lines have been put in or left out, so that those behind
	// may have other numbers than in the original.
	moved bool
}

// mostNumber is the greatest line number there is (RS274 3.3.2: five digits).
const mostNumber = 99999

// put writes a line of the words gathered, if there are any, in the style of the
// block like.
func (p *Pen) put(like *program.Block) {
	if len(p.ch) == 0 {
		return
	}
	p.mark(like)
	if p.dim {
		p.ch = append(p.ch, program.Change{Letter: p.opt.Machine.PowerWord, Num: program.Int(0)})
		p.have.Power, p.lowered, p.dim = program.Int(0), false, false
	}
	start := p.sink.begin(like)
	p.Figures.Added++
	p.number(like)
	p.sink.buf = program.AppendBlock(p.sink.buf, like, p.ch)
	p.checkLength(like.Line, start)
	p.pass(like.Line)
	p.ch = p.ch[:0]
}

// say writes a line of these words.
func (p *Pen) say(like *program.Block, words ...program.Change) {
	p.ch = append(p.ch[:0], words...)
	p.put(like)
}

// number puts a line number before the words where added lines carry one.
// With numbers and checksums a controller asks for the lines one by one: a
// line without a number would stop it.
func (p *Pen) number(like *program.Block) {
	l := &p.numbers
	next, words := like.LineNumber()
	if !l.numbered && words == 0 {
		return
	}
	if !p.opt.Numbered {
		if like.Checked() {
			p.refuse(like, "a line must be added here to a program with line numbers and checksums",
				"set numbered = true in the machine profile, so that it is numbered too")
		}
		return
	}
	n := l.last + 1
	if !l.numbered {
		n = max(0, next-1)
	}
	if n > mostNumber {
		p.refuse(like, "the lines to add here leave no line number", "number the program from a smaller one on")
		return
	}
	l.last, l.numbered, l.added, l.moved = n, true, true, true
	p.ch = slices.Insert(p.ch, 0, program.Change{Letter: 'N', Num: program.Int(n)})
}

// refuse ends the writing at the block.
func (p *Pen) refuse(b *program.Block, what, hint string) {
	if p.sink.err == nil {
		p.sink.err = b.Unsupported(0, what, hint)
	}
}

// count adds the change that gives a line with a checksum the number behind the
// last one's, where lines have been left out, or put in so that its own is taken: a
// controller that checks sums takes no other. A line that sets the controller's
// count (M110) keeps its own. n and words are those of the line, see LineNumber, and
// what it returns is the number that the line gets.
func (p *Pen) count(b *program.Block, n int64, words int) int64 {
	l := &p.numbers
	if !l.moved || !l.numbered || words != 1 || !b.Checked() || n > l.last && !p.part || n == l.last+1 {
		return n
	}
	n = l.last + 1
	p.ch = append(p.ch, program.Change{Letter: 'N', Num: program.Int(n)})
	if !p.opt.Numbered {
		p.refuse(b, "the lines of a program with line numbers and checksums must be numbered anew from here on",
			"set numbered = true in the machine profile, so that they are")
	} else if n > mostNumber {
		p.refuse(b, "the lines added before leave no line number", "number the program from a smaller one on")
	}
	return n
}

// write writes the block with the changes gathered, and its line number.
func (p *Pen) write(b *program.Block) {
	n, words := b.LineNumber()
	n = p.count(b, n, words)
	start := p.sink.begin(b)
	p.sink.buf = program.AppendChanged(p.sink.buf, b, p.ch)
	p.ch = p.ch[:0]
	if words > 0 {
		l := &p.numbers
		if l.added && n <= l.last && p.Figures.NumbersRepeat == 0 {
			p.Figures.NumbersRepeat = b.Line
		}
		l.last, l.numbered, l.added = n, true, false
	}
	p.checkLength(b.Line, start)
	if len(b.Words) > 0 && !p.inRun {
		p.pass(b.Line)
	}
}

// checkLength notes a line that is longer than the controller takes.
func (p *Pen) checkLength(line, start int) {
	if p.opt.LineMax <= 0 {
		return
	}
	if n := len(bytes.TrimRight(p.sink.buf[start:], "\r\n")); n > p.opt.LineMax {
		p.breach(TooLong, line, p.src.At, float64(n))
	}
}

// mark writes the marker once, before the first change.
func (p *Pen) mark(like *program.Block) {
	p.sayRehearsal(like)
	if p.marked {
		return
	}
	p.marked = true
	for _, text := range p.opt.markerTexts() {
		p.comment(like, text)
	}
}

// sayRehearsal writes as the first line of a rehearsal, behind a "%" and a program
// number, which must come first, what became of the words that let the beam fire.
func (p *Pen) sayRehearsal(b *program.Block) {
	if !p.opt.Rehearsal || p.said {
		return
	}
	if text := bytes.TrimSpace(b.Body()); len(text) > 0 && strings.IndexByte("%Oo:", text[0]) >= 0 {
		return
	}
	p.said = true
	var on []string
	for _, m := range p.opt.Machine.BeamOn {
		on = append(on, "M"+strconv.Itoa(m))
	}
	p.comment(b, p.opt.cutText(fmt.Sprintf("rehearsal, beam off: %s written as M%s, %c as 0",
		phrase.List(on), p.opt.offWord(), p.opt.Machine.PowerWord)))
}

// comment writes a line that is one comment, where they are allowed.
func (p *Pen) comment(like *program.Block, text string) {
	if p.opt.Comments && text != "" {
		p.sink.begin(like)
		p.sink.buf = program.AppendComment(p.sink.buf, like, text)
	}
}

// pass lets the time of a line go by.
func (p *Pen) pass(line int) {
	p.pace.line(p.took)
	p.took = 0
	p.paced(line)
}

// paced takes the most lines so far into the figures.
func (p *Pen) paced(line int) {
	if most := float64(p.pace.most); most > p.Figures.LinesPerS {
		p.Figures.LinesPerS, p.Figures.LinesPerSLine = most, line
	}
}

// appendLines writes the lines of body, numbered anew where they have checksums.
func (p *Pen) appendLines(fork *Pen, body io.Reader) error {
	like := p.style.block()
	if like != nil {
		p.sink.begin(like)
	}
	if like == nil || !like.Checked() {
		p.numbers = fork.numbers
		_, err := io.Copy(&p.sink, body)
		return err
	}
	r := program.NewReader(body, p.opt.Name)
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		p.write(b)
	}
}
