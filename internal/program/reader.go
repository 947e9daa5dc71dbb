package program

import (
	"bufio"
	"bytes"
	"cmp"
	"errors"
	"io"
	"strconv"
)

// MaxLine is the most bytes a line may have, its line end included. Real
// lines have at most some hundred; a file whose lines are longer is not a
// program, and must not fill the memory.
const MaxLine = 256 << 10

// Reader reads a program block by block. It holds a buffer of lines, not the
// program.
type Reader struct {
	src  *bufio.Reader
	name string
	err  error // sticky

	line int // the last one handed out
	// percents counts the lines of "%", and behind is the first line behind the
	// second that is not blank, 0 for none.
	percents, behind int
	words            []Word
	block            Block
	plain            plainScanner
	lapses           Lapses
	like             Block // what the blocks of plain lines have in common
	habit            habit
}

// firstBuffer is room for the lines of nearly every program: it is had for each that is
// read, and one with a longer line gets room for the longest.
const firstBuffer = 32 << 10

// startWords is more words than a line has that is of any use.
const startWords = 64

// NewReader returns a Reader of the program in r. The name is for messages
// and for Block.File.
func NewReader(r io.Reader, name string) *Reader {
	return &Reader{
		src:   bufio.NewReaderSize(&source{r: r}, firstBuffer),
		name:  name,
		words: make([]Word, startWords),
	}
}

// Resume goes on with lines from elsewhere in the program, the first of which is of
// the number line; percents of its lines of "%" come before.
func (r *Reader) Resume(from io.Reader, line, percents int) {
	r.src.Reset(&source{r: from})
	r.err, r.line, r.percents, r.behind = nil, line-1, percents, 0
	r.habit.open, r.habit.closes = 0, 0 // which are of lines that need not be before these
}

// source is a reader whose error stays, which bufio's forgets.
type source struct {
	r   io.Reader
	err error
}

func (s *source) Read(b []byte) (n int, err error) {
	if s.err == nil {
		n, s.err = s.r.Read(b)
	}
	return n, s.err
}

// programPercents is how many lines of "%" a program has: they stand at its begin and
// its end (RS274, NISTIR 6556, from memory). Where a file has a second one, no
// more of it than blank lines are blocks.
const programPercents = 2

// Behind returns the line of the first text that stands behind the end of the program
// and was not read, 0 where there is none, once Next has come there.
func (r *Reader) Behind() int { return r.behind }

// Lapses returns those of the lines read so far.
func (r *Reader) Lapses() Lapses { return r.lapses }

// Next returns the next block, which holds until the call after. At the end
// the error is io.EOF. Errors of the text are *diag.Error, any other
// is the source's. An error stays.
func (r *Reader) Next() (*Block, error) {
	if r.err != nil {
		return nil, r.err
	}
	raw, err := r.src.ReadSlice('\n')
	if err == bufio.ErrBufferFull && len(raw) < MaxLine {
		// A byte more shows that a line is too long.
		r.src = bufio.NewReaderSize(io.MultiReader(bytes.NewReader(bytes.Clone(raw)), r.src), MaxLine+1)
		raw, err = r.src.ReadSlice('\n')
	}
	if err == io.EOF && len(raw) > 0 { // the last line, without line end
		err = nil
	}
	switch {
	case r.percents == programPercents && len(bytes.TrimSpace(raw)) > 0:
		r.behind = r.line + 1
		_, r.err = io.Copy(io.Discard, r.src)
		r.err = cmp.Or(r.err, io.EOF)
	case len(raw) > MaxLine || errors.Is(err, bufio.ErrBufferFull):
		r.err = r.tooLong(raw)
	case err == io.EOF && r.line == 0:
		r.err = (&Block{File: r.name, Line: 1}).Malformed(0, "the program is empty", "")
	case err != nil:
		r.err = err
	default:
		r.line++
		r.err = r.read(raw)
	}
	if r.err != nil {
		return nil, r.err
	}
	return &r.block, nil
}

// read makes the block of a line.
func (r *Reader) read(raw []byte) error {
	b, n := &r.block, len(raw)
	*b = Block{File: r.name, Line: r.line, Raw: raw[:n:n], Words: r.words[:0], Comment: -1, habit: r.habit}
	whole := raw[n-1] == '\n'
	k, plain := 0, false
	if whole {
		k, plain = scanPlain(raw, r.words)
		b.Words = r.words[:k]
	}
	if !plain {
		b.Words = r.words[:0]
		if err := parse(b); err != nil {
			return b.goesOn(err)
		}
		r.lapses.take(b)
		k = len(b.Words)
		r.words = b.Words[:max(k, startWords)]
	}
	if b.Percent {
		r.percents++
	}
	if k > 1 {
		b.habit.tight = b.Words[0].End == b.Words[1].Start
	}
	if k > 0 {
		b.habit.lower = raw[b.Words[k-1].Start] >= 'a'
	}
	if whole {
		b.habit.crlf = n > 1 && raw[n-2] == '\r'
	}
	r.habit = b.habit
	return nil
}

// tooLong refuses the next line, which begins with raw. A file without line
// ends is often not text: then that is what it says.
func (r *Reader) tooLong(raw []byte) error {
	b := Block{File: r.name, Line: r.line + 1, Raw: raw[:min(len(raw), MaxLine)]}
	if err := checkText(&b, b.Raw); err != nil {
		return err
	}
	return b.Malformed(MaxLine, "line is longer than "+strconv.Itoa(MaxLine)+" bytes",
		"a program has one block per line")
}

// whole returns the whole lines that are in the buffer, one at least; none where
// Next has to say why there is no more.
func (r *Reader) whole() []byte {
	for r.percents < programPercents {
		text, _ := r.src.Peek(r.src.Buffered())
		if n := bytes.LastIndexByte(text, '\n') + 1; n > 0 {
			return text[:n]
		}
		if _, err := r.src.Peek(len(text) + 1); err != nil {
			return nil
		}
	}
	return nil
}
