package program

import (
	"bytes"
	"io"
	"strconv"

	"sagitta/internal/diag"
)

// MaxLine is the most bytes a line may have, its line end included. Real
// lines have at most some hundred; a file whose lines are longer is not a
// program, and must not fill the memory.
const MaxLine = 256 << 10

const (
	// startBuffer is large enough that the calls to the source do not
	// count, and holds any real line.
	startBuffer = 64 << 10
	// startWords is more words than a plain line has.
	startWords = 64
	// maxEmptyReads is how often a source may give neither bytes nor an
	// error before it counts as broken, as in package bufio.
	maxEmptyReads = 100
)

// Reader reads a program block by block. It holds one line, not the program.
type Reader struct {
	src  io.Reader
	name string

	// buf[lo:hi] is read but not handed out; there is always room for
	// reach bytes behind hi.
	buf    []byte
	lo, hi int
	srcErr error

	line int
	// plainLine is the first line of those that Plain took last.
	plainLine int
	plain     plainScanner
	err       error // sticky
	words     []Word
	block     Block
	gen       general
	habit     habit
}

// NewReader returns a Reader of the program in r. The name is for messages
// and for Block.File.
func NewReader(r io.Reader, name string) *Reader {
	return &Reader{
		src:   r,
		name:  name,
		buf:   make([]byte, startBuffer+reach),
		words: make([]Word, startWords),
	}
}

// Next returns the next block, which holds until the call after. At the end
// the error is io.EOF. Errors of the text are *diag.Error, any other
// is the source's. An error stays.
func (r *Reader) Next() (*Block, error) {
	if r.err != nil {
		return nil, r.err
	}
	n := bytes.IndexByte(r.buf[r.lo:r.hi], '\n') + 1
	if n == 0 || n > MaxLine {
		if n, r.err = r.fill(); r.err != nil {
			return nil, r.err
		}
	}
	start := r.lo
	r.lo += n
	r.line++

	b := &r.block
	b.File, b.Line = r.name, r.line
	b.Raw = r.buf[start:r.lo:r.lo]
	b.Comment, b.Optional, b.Checksum = -1, false, 0

	text := b.Raw
	if text[n-1] != '\n' {
		// The last line of the file; there is room for the LF that the
		// scanner asks for.
		r.buf[r.hi] = '\n'
		text = r.buf[start : r.hi+1]
	}
	k, plain := scanPlain(text, r.words)
	if plain {
		b.Words = r.words[:k]
	} else {
		b.Words = r.words[:0]
		b.habit = r.habit
		if r.err = r.gen.parse(b); r.err != nil {
			return nil, r.err
		}
		r.habit.semicolon, r.habit.checked = b.habit.semicolon, b.habit.checked
		k = len(b.Words)
		if k > len(r.words) {
			r.words = b.Words
		}
	}
	if k > 1 {
		r.habit.tight = b.Words[0].End == b.Words[1].Start
	}
	if k > 0 {
		r.habit.lower = b.Raw[b.Words[k-1].Start] >= 'a'
	}
	if b.Raw[n-1] == '\n' {
		r.habit.crlf = n > 1 && b.Raw[n-2] == '\r'
	}
	b.habit = r.habit
	return b, nil
}

// fill reads until a whole line is in the buffer and returns its length.
func (r *Reader) fill() (int, error) {
	from := r.lo // bytes before it have no LF
	for {
		if i := bytes.IndexByte(r.buf[from:r.hi], '\n'); i >= 0 {
			n := from + i + 1 - r.lo
			if n > MaxLine {
				return 0, r.tooLong()
			}
			return n, nil
		}
		from = r.hi
		if r.hi-r.lo > MaxLine {
			return 0, r.tooLong()
		}
		if r.srcErr != nil {
			switch {
			case r.srcErr != io.EOF:
				return 0, r.srcErr
			case r.hi > r.lo:
				return r.hi - r.lo, nil // the last line, without line end
			case r.line == 0:
				return 0, &diag.Error{
					Kind:  diag.Malformed,
					Place: diag.Place{File: r.name, Line: 1, Col: 1},
					What:  "the program is empty",
				}
			}
			return 0, io.EOF
		}
		if r.lo > 0 {
			copy(r.buf, r.buf[r.lo:r.hi])
			from -= r.lo
			r.hi -= r.lo
			r.lo = 0
		}
		if room := len(r.buf) - reach; r.hi == room {
			grown := make([]byte, min(2*room, MaxLine+startBuffer)+reach)
			copy(grown, r.buf[:r.hi])
			r.buf = grown
		}
		r.read()
	}
}

// read asks the source once for more, or until it gives something.
func (r *Reader) read() {
	for range maxEmptyReads {
		n, err := r.src.Read(r.buf[r.hi : len(r.buf)-reach])
		if n < 0 || n > len(r.buf)-reach-r.hi {
			panic("program: source returned an invalid count from Read")
		}
		r.hi += n
		r.srcErr = err
		if n > 0 || err != nil {
			return
		}
	}
	r.srcErr = io.ErrNoProgress
}

// tooLong refuses the line that begins at lo. A file without line ends is
// often not text: then that is what it says.
func (r *Reader) tooLong() error {
	b := Block{File: r.name, Line: r.line + 1, Raw: r.buf[r.lo:min(r.hi, r.lo+MaxLine)]}
	if err := checkText(&b, b.Raw); err != nil {
		return err
	}
	return malformed(&b, MaxLine, "line is longer than "+strconv.Itoa(MaxLine)+" bytes",
		"a program has one block per line")
}
