package program

import (
	"bytes"
	"math/bits"
)

// PlainLine is a plain motion line: X or Y or both, and at most I, J, a G1, G2
// or G3, an F and a power word, each number of at most eight digits.
// Long programs are made of little else.
type PlainLine struct {
	mant [plainNumbers]int32
	dec  [plainNumbers]int8
	// Has says which words the line has.
	Has PlainWords
	// End is where the line ends in the text it came with, its LF included.
	End int32
	// Axis is the offset within the line behind its last axis word, where a
	// further one goes.
	Axis uint8
	// Style is how a further word is spelled.
	Style PlainStyle
}

// Num returns the number of a word that the line has, one of PlainX to PlainS.
func (l *PlainLine) Num(word PlainWords) Number {
	k := bits.TrailingZeros16(uint16(word)) % plainNumbers
	return Number{int64(l.mant[k]), l.dec[k]}
}

// PlainWords is a set of words.
type PlainWords uint16

// The words of a plain line: those with a number of their own, the power word
// whatever its letter, and G1 to G3.
const (
	PlainX PlainWords = 1 << iota
	PlainY
	PlainI
	PlainJ
	PlainF
	PlainS
	PlainG1
	PlainG2
	PlainG3
)

const (
	plainNumbers = 6 // X, Y, I, J, F and power
	plainG       = PlainG1 | PlainG2 | PlainG3
)

// PlainStyle is the style of a line as AppendChanged would find it: the
// lowest bits are the decimals that coordinates are filled up to.
type PlainStyle uint8

const (
	plainDecimals PlainStyle = 15
	plainTight    PlainStyle = 16
	plainLower    PlainStyle = 32
	plainPowered  PlainStyle = 64
)

// Powered reports whether the line has a power word.
func (s PlainStyle) Powered() bool { return s&plainPowered != 0 }

// maxPlainLine is the longest plain line: its offsets fit a byte.
const maxPlainLine = 120

// Plain takes plain lines off the program, as many as are next, in the
// buffer, and fit dst. It returns their number and their text. power is the
// letter of the power word. With 0 the next line is for Next, as all lines
// may be.
//
// The text holds until the next call.
func (r *Reader) Plain(dst []PlainLine, power byte) (n int, text []byte) {
	if r.err != nil || !r.plain.set(power) {
		return 0, nil
	}
	whole := bytes.LastIndexByte(r.buf[r.lo:r.hi], '\n') + 1
	if whole == 0 {
		// An error, and the last line without line end, are for Next.
		if _, err := r.fill(); err != nil {
			return 0, nil
		}
		if whole = bytes.LastIndexByte(r.buf[r.lo:r.hi], '\n') + 1; whole == 0 {
			return 0, nil
		}
	}
	r.plain.habit = r.habit
	n, used := r.plain.scan(r.buf[r.lo:r.lo+whole+reach], whole, dst)
	text = r.buf[r.lo : r.lo+used : r.lo+used]
	r.lo += used
	r.plainLine = r.line + 1
	r.line += n
	r.habit = r.plain.habit
	return n, text
}

// eachLines is how many plain lines Each hands on at once: so many that they stay
// in the nearest cache until they are used.
const eachLines = 256

// Each hands the runs of plain lines that are left of the program to run, with
// their text and what PlainBlock gives for them, and its other lines to block, in
// order; all of them hold until the next call. It returns the first error of
// those or, behind the last line, io.EOF or why the program cannot be read
// further. power is as for Plain.
func (r *Reader) Each(power byte, run func(lines []PlainLine, text []byte, like *Block) error, block func(*Block) error) error {
	lines := make([]PlainLine, eachLines)
	var like Block
	for {
		n, text := r.Plain(lines, power)
		if n == 0 {
			b, err := r.Next()
			if err == nil {
				err = block(b)
			}
			if err != nil {
				return err
			}
			continue
		}
		r.PlainBlock(&like)
		if err := run(lines[:n], text, &like); err != nil {
			return err
		}
	}
}

// PlainBlock fills what the blocks of the lines that Plain took last have in
// common, for SetPlain. Its Line is that of the first one.
func (r *Reader) PlainBlock(like *Block) {
	like.File, like.Line, like.habit = r.name, r.plainLine, r.habit
}

// SetPlain makes b the block of a plain line, as Next would have given it. Its
// Line is i lines behind like's. Raw is the line itself, not a copy.
func (b *Block) SetPlain(like *Block, raw []byte, i int, style PlainStyle) {
	words := b.Words[:cap(b.Words)]
	if len(words) < plainWords {
		words = make([]Word, plainWords)
	}
	n, _ := scanPlain(raw, words)
	*b = Block{File: like.File, Line: like.Line + i, Raw: raw, Words: words[:n], Comment: -1, habit: like.habit}
	b.habit.tight = style&plainTight != 0
}

// plainWords is the most words that a plain line has: the numbers, and G.
const plainWords = plainNumbers + 1
