package follow

import (
	"io"

	"sagitta/internal/program"
)

const (
	// lexedLines, lexedText and lexedEntries bound what is handed on at once.
	lexedLines, lexedText, lexedEntries = 1024, 16 << 10, 128
	// lexedAhead is how many such parts the lexer may be ahead.
	lexedAhead = 6
)

// lexed is a part of the program as lines: entries in order, each a run of
// plain lines or a block. All of it is its own and is used again.
type lexed struct {
	entries []entry
	lines   []program.PlainLine
	text    []byte
	blocks  []program.Block
	// err ends the program: io.EOF, or why it cannot be read.
	err error
}

// entry is a run of n plain lines with the text of size bytes, or a block if
// n is 0.
type entry struct {
	n, size int
	// like is what the blocks of the lines have in common.
	like program.Block
}

func newLexed() *lexed {
	return &lexed{lines: make([]program.PlainLine, 0, lexedLines)}
}

func (l *lexed) clear() {
	l.entries, l.lines, l.text, l.blocks, l.err = l.entries[:0], l.lines[:0], l.text[:0], l.blocks[:0], nil
}

// block returns a further block, with the memory that it had before.
func (l *lexed) block() *program.Block {
	n := len(l.blocks)
	if n < cap(l.blocks) {
		l.blocks = l.blocks[:n+1]
	} else {
		l.blocks = append(l.blocks, program.Block{})
	}
	return &l.blocks[n]
}

// lexer reads the program. It runs beside what makes moves of the lines.
type lexer struct {
	r     *program.Reader
	power byte
	out   chan *lexed
	// empty brings parts back; done tells that nobody wants more.
	empty chan *lexed
	done  chan struct{}
}

func newLexer(r io.Reader, opt *Options) *lexer {
	return &lexer{
		r: program.NewReader(r, opt.Name), power: opt.Machine.PowerWord,
		out: make(chan *lexed, lexedAhead), empty: make(chan *lexed, lexedAhead+2), done: make(chan struct{}),
	}
}

// run reads to the end, or until done is closed. It closes out.
func (x *lexer) run() {
	defer close(x.out)
	for l := newLexed(); l != nil; l = x.send(l) {
		for l.err == nil && len(l.entries) < lexedEntries && len(l.lines) < lexedLines && len(l.text) < lexedText {
			x.next(l)
		}
		if l.err != nil {
			x.send(l)
			return
		}
	}
}

// next reads what is next.
func (x *lexer) next(l *lexed) {
	at := len(l.lines)
	if n, text := x.r.Plain(l.lines[at:lexedLines], x.power); n > 0 {
		l.lines = l.lines[:at+n]
		l.text = append(l.text, text...)
		l.entries = append(l.entries, entry{n: n, size: len(text)})
		x.r.PlainBlock(&l.entries[len(l.entries)-1].like)
		return
	}
	b, err := x.r.Next()
	if err != nil {
		l.err = err
		return
	}
	b.Hold(l.block())
	l.entries = append(l.entries, entry{})
}

// send hands a part on and returns another, or nil where nobody wants it.
func (x *lexer) send(l *lexed) *lexed {
	select {
	case x.out <- l:
	case <-x.done:
		return nil
	}
	select {
	case l = <-x.empty:
		l.clear()
		return l
	default:
		return newLexed()
	}
}

// giveBack lets the lexer use a part again.
func (x *lexer) giveBack(l *lexed) {
	select {
	case x.empty <- l:
	default:
	}
}
