package program

import "io"

const (
	// partLines, partText and partEntries bound what is handed on at once.
	partLines, partText, partEntries = 1024, 16 << 10, 128
	// partsAhead is how many parts the reading may be ahead.
	partsAhead = 6
)

// Part is a stretch of a program on its way from an Ahead: runs of plain lines
// and blocks, in order. All of it is its own.
type Part struct {
	entries []entry
	lines   []PlainLine
	text    []byte
	blocks  []Block
	// err ends the program: io.EOF, or why it cannot be read.
	err error
}

// entry is a run of n plain lines with size bytes of text, or a block where n
// is 0.
type entry struct {
	n, size int
	// like is what the blocks of the lines have in common.
	like Block
}

// Each hands the part's runs of plain lines to run, with their text and what
// PlainBlock gives for them, and its other lines to block, in order. It
// returns the first error of those or, behind the last line of the program,
// io.EOF or why it cannot be read further.
func (p *Part) Each(run func(lines []PlainLine, text []byte, like *Block) error, block func(*Block) error) error {
	lines, text, blocks := p.lines, p.text, p.blocks
	for k := range p.entries {
		e := &p.entries[k]
		if e.n == 0 {
			if err := block(&blocks[0]); err != nil {
				return err
			}
			blocks = blocks[1:]
			continue
		}
		if err := run(lines[:e.n], text[:e.size], &e.like); err != nil {
			return err
		}
		lines, text = lines[e.n:], text[e.size:]
	}
	return p.err
}

func (p *Part) clear() {
	p.entries, p.lines, p.text, p.blocks, p.err = p.entries[:0], p.lines[:0], p.text[:0], p.blocks[:0], nil
}

// block returns a further block, with the memory that it had before.
func (p *Part) block() *Block {
	n := len(p.blocks)
	if n < cap(p.blocks) {
		p.blocks = p.blocks[:n+1]
	} else {
		p.blocks = append(p.blocks, Block{})
	}
	return &p.blocks[n]
}

// Ahead reads a program beside what is made of it. How it is divided into
// parts depends on how the source's reads fall.
type Ahead struct {
	r     *Reader
	power byte
	out   chan *Part
	// empty brings parts back; done tells that nobody wants more.
	empty chan *Part
	done  chan struct{}
}

// ReadAhead begins to read the program in r, which it does until the end, an
// error, or Stop. The name is for messages, power the letter of the power word
// (see Reader.Plain).
func ReadAhead(r io.Reader, name string, power byte) *Ahead {
	a := &Ahead{
		r: NewReader(r, name), power: power,
		out: make(chan *Part, partsAhead), empty: make(chan *Part, partsAhead+2), done: make(chan struct{}),
	}
	go a.run()
	return a
}

// Parts gives the parts in order; it ends behind the one that ends the
// program.
func (a *Ahead) Parts() <-chan *Part { return a.out }

// GiveBack lets a part be used again.
func (a *Ahead) GiveBack(p *Part) {
	select {
	case a.empty <- p:
	default:
	}
}

// Stop ends the reading: when it returns, the source is not read any more. It
// must be called once, also at the end of the program.
func (a *Ahead) Stop() {
	close(a.done)
	for range a.out { // until the reading has seen it
	}
}

func (a *Ahead) run() {
	defer close(a.out)
	for {
		p := a.part()
		for p.err == nil && len(p.entries) < partEntries && len(p.lines) < partLines && len(p.text) < partText {
			a.next(p)
		}
		select {
		case a.out <- p:
		case <-a.done:
			return
		}
		if p.err != nil {
			return
		}
	}
}

// part returns an empty part.
func (a *Ahead) part() *Part {
	select {
	case p := <-a.empty:
		p.clear()
		return p
	default:
		return &Part{lines: make([]PlainLine, 0, partLines)}
	}
}

// next reads what is next.
func (a *Ahead) next(p *Part) {
	at := len(p.lines)
	if n, text := a.r.Plain(p.lines[at:partLines], a.power); n > 0 {
		p.lines = p.lines[:at+n]
		p.text = append(p.text, text...)
		p.entries = append(p.entries, entry{n: n, size: len(text)})
		a.r.PlainBlock(&p.entries[len(p.entries)-1].like)
		return
	}
	b, err := a.r.Next()
	if err != nil {
		p.err = err
		return
	}
	b.Hold(p.block())
	p.entries = append(p.entries, entry{})
}
