package zone

import (
	"io"

	"sagitta/internal/program"
)

const (
	// lexedLines, lexedEntries and lexedText bound a part of a program:
	// large enough that handing it on costs nothing beside what is in it.
	lexedLines   = 1024
	lexedEntries = 256
	lexedText    = 48 << 10
	// lexedAhead is how many parts may be ahead of what is made of them.
	lexedAhead = 4
)

// lexed is a part of the program as read. All that it points to is its own.
type lexed struct {
	entries []entry
	lines   []program.PlainLine
	text    []byte
	blocks  []program.Block
	err     error
}

// entry is a run of n plain lines with size bytes of text, or one block where
// n is 0.
type entry struct {
	n, size int
	like    program.Block
}

func (l *lexed) clear() {
	l.entries, l.lines, l.text, l.blocks, l.err = l.entries[:0], l.lines[:0], l.text[:0], l.blocks[:0], nil
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

func newLexer(r io.Reader, name string, power byte) *lexer {
	return &lexer{
		r: program.NewReader(r, name), power: power,
		out: make(chan *lexed, lexedAhead), empty: make(chan *lexed, lexedAhead+2), done: make(chan struct{}),
	}
}

// run reads to the end, or until done is closed. It closes out.
func (x *lexer) run() {
	defer close(x.out)
	for {
		l := x.part()
		for l.err == nil && len(l.entries) < lexedEntries && len(l.lines) < lexedLines && len(l.text) < lexedText {
			x.next(l)
		}
		select {
		case x.out <- l:
		case <-x.done:
			return
		}
		if l.err != nil {
			return
		}
	}
}

// part returns an empty part.
func (x *lexer) part() *lexed {
	select {
	case l := <-x.empty:
		l.clear()
		return l
	default:
		return &lexed{lines: make([]program.PlainLine, 0, lexedLines)}
	}
}

// giveBack lets the lexer use a part again.
func (x *lexer) giveBack(l *lexed) {
	select {
	case x.empty <- l:
	default:
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
	n := len(l.blocks)
	if n < cap(l.blocks) {
		l.blocks = l.blocks[:n+1]
	} else {
		l.blocks = append(l.blocks, program.Block{})
	}
	b.Hold(&l.blocks[n])
	l.entries = append(l.entries, entry{})
}
