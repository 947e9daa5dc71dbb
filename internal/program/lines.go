package program

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
)

// Lines that are more than words: texts for the display, program numbers and
// checksums. None is in RS274 as NISTIR 6556 has it; later controllers take
// them (common practice, no source).

// M117 and M118 are taken only where they are spelled so: to any other word, blanks
// and zeros mean nothing.
var textBegins = regexp.MustCompile(`^[Mm]11[78](?:[^.0-9]|$)`)

// startsText reports whether M117 or M118 stands at the beginning of text, which
// words stand before, with nothing but a line number among them.
func startsText(words []Word, text []byte) bool {
	return (len(words) == 0 || len(words) == 1 && words[0].Letter == 'N') && textBegins.Match(text)
}

// A program number is O or ":" and digits, with nothing but a comment after
// them; with anything else on its line an O word is part of a subprogram.
var programNumbers = regexp.MustCompile(`^([Oo:][0-9]+)[ \t\r]*(?:[(;]|$)`)

// programNumber returns the length of the program number that text begins with,
// 0 where there is none.
func programNumber(text []byte) int {
	if text[0] == ':' || text[0]|0x20 == 'o' {
		if m := programNumbers.FindSubmatch(text); m != nil {
			return len(m[1])
		}
	}
	return 0
}

// renumbers reports whether a word is M110, which sets the line number: N may then
// stand twice.
func renumbers(w Word) bool { return w.Letter == 'M' && w.Num.Trim() == Int(110) }

// LineNumber returns the number by which the controller counts the block, that of
// its N word or, with M110, of the last of two, and how many N words it has.
func (b *Block) LineNumber() (n int64, words int) {
	for _, w := range b.Words {
		if w.Letter == 'N' {
			n, words = w.Num.Mant, words+1
		}
	}
	return n, words
}

// sum returns the "*" at the beginning of text and the number after it.
func sum(text []byte) []byte {
	return text[:len(text)-len(bytes.TrimLeft(text[1:], "0123456789"))]
}

// checksum takes "*" and the number after it at i, and holds it to the line.
func checksum(b *Block, i int) (end int, err error) {
	text := sum(b.Body()[i:])
	said, err := strconv.ParseUint(string(text[1:]), 10, 8)
	if err != nil {
		return 0, b.Malformed(i, `"*" without a checksum of 0 to 255`, "")
	}
	if want := xor(b.Raw[b.begin():i]); want != byte(said) {
		return 0, b.Malformed(i, fmt.Sprintf("the checksum is %d, the line has %d", said, want),
			"the line was changed or damaged after it was written")
	}
	b.Checksum = i
	b.habit.checked = true
	return i + len(text), nil
}

// xor is the checksum of a line: the exclusive or of its bytes.
func xor(line []byte) (sum byte) {
	for _, c := range line {
		sum ^= c
	}
	return sum
}

// Checked reports whether lines carry checksums: this one or one before it.
func (b *Block) Checked() bool { return b.Checksum > 0 || b.habit.checked }

// appendChecksum appends the checksum of the line in dst from start on.
func appendChecksum(dst []byte, start int) []byte {
	sum := xor(dst[start:])
	return strconv.AppendUint(append(dst, '*'), uint64(sum), 10)
}

// rechecked replaces the checksum of the block that was written to dst from
// start on. What follows the "*" there is what follows it in Raw.
func (b *Block) rechecked(dst []byte, start int) []byte {
	old := b.Raw[b.Checksum:]
	dst = dst[:len(dst)-len(old)]
	return append(appendChecksum(dst, start+b.begin()), old[len(sum(old)):]...)
}
