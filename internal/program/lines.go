package program

import (
	"fmt"
	"strconv"
)

// Lines that are more than words: texts for the display, program numbers and
// checksums. None is in RS274 as NISTIR 6556 has it; later controllers take
// them (common practice, no source).

// beginsText reports whether the words of a line begin with M117 or M118, after
// a line number or not: what follows them is text.
func beginsText(words []Word) bool {
	if len(words) > 0 && words[0].Letter == 'N' {
		words = words[1:]
	}
	return len(words) > 0 && words[0].Letter == 'M' &&
		(words[0].Num == Number{Mant: 117} || words[0].Num == Number{Mant: 118})
}

// textWord is how many bytes M117 and M118 have. They are taken only where
// they are spelled so: to any other word, blanks and zeros mean nothing.
const textWord = len("M117")

// startsText reports whether M117 or M118 stands at i, with nothing but a line
// number before it.
func (g *general) startsText(body []byte, i int) bool {
	if body[i]&^0x20 != 'M' || len(body) < i+textWord {
		return false
	}
	if n := len(g.tokens); n > 1 || n == 1 && g.tokens[0].letter != 'N' {
		return false
	}
	if s := string(body[i+1 : i+textWord]); s != "117" && s != "118" {
		return false
	}
	if len(body) == i+textWord {
		return true
	}
	c := body[i+textWord]
	return c != '.' && (c < '0' || c > '9')
}

// text takes M117 or M118.
func (g *general) text(b *Block, i int) error {
	if err := g.close(b); err != nil {
		return err
	}
	if len(g.norm) > 0 {
		g.norm = append(g.norm, ' ')
	}
	g.norm = append(g.norm, 'M')
	from := len(g.norm)
	g.norm = append(g.norm, b.Raw[i+1:i+textWord]...)
	g.tokens = append(g.tokens, token{letter: 'M', start: i, end: i + textWord,
		from: from, to: len(g.norm), digits: textWord - 1})
	return nil
}

// programNumber returns where the program number at i ends: O or ":" and
// digits, with nothing but a comment after them. It returns 0 where there is
// none; with anything else on its line an O word is part of a subprogram.
func programNumber(body []byte, i int) int {
	if i >= len(body) || body[i]&^0x20 != 'O' && body[i] != ':' {
		return 0
	}
	i++
	from := i
	for i < len(body) && '0' <= body[i] && body[i] <= '9' {
		i++
	}
	if i == from {
		return 0
	}
	for end := i; ; end++ {
		switch {
		case end == len(body) || body[end] == '(' || body[end] == ';':
			return i
		case body[end] != ' ' && body[end] != '\t' && body[end] != '\r':
			return 0
		}
	}
}

// renumber is the M word that sets the line number: N may then stand twice.
var renumber = Number{Mant: 110}

// renumbers reports whether the line has M110.
func (g *general) renumbers() bool {
	for k := range g.tokens {
		t := &g.tokens[k]
		if n, ok := decimal(g.norm[t.from:t.to]); t.letter == 'M' && ok && n.Trim() == renumber {
			return true
		}
	}
	return false
}

// LineNumber returns the number by which the controller counts the block: its
// N word or, with M110, the last of two.
func (b *Block) LineNumber() (n int64, ok bool) {
	last := -1
	for i := range b.Words {
		switch w := &b.Words[i]; {
		case w.Letter == 'N' && last < 0:
			last = i
		case w.Letter == 'N':
			return w.Num.Mant, true
		}
	}
	if last < 0 {
		return 0, false
	}
	return b.Words[last].Num.Mant, true
}

// checksum takes "*" and the number after it at i, and holds it to the line.
func (g *general) checksum(b *Block, i int) (end int, err error) {
	if err := g.close(b); err != nil {
		return 0, err
	}
	body := b.Body()
	end = i + 1
	for end < len(body) && '0' <= body[end] && body[end] <= '9' {
		end++
	}
	said, err := strconv.ParseUint(string(body[i+1:end]), 10, 8)
	if err != nil {
		return 0, malformed(b, i, `"*" without a checksum of 0 to 255`, "")
	}
	if sum := xor(body[b.bom():i]); sum != byte(said) {
		return 0, malformed(b, i, fmt.Sprintf("the checksum is %d, the line has %d", said, sum),
			"the line was changed or damaged after it was written")
	}
	b.Checksum = i
	b.habit.checked = true
	return end, nil
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
	digits := 1
	for digits < len(old) && '0' <= old[digits] && old[digits] <= '9' {
		digits++
	}
	dst = dst[:len(dst)-len(old)]
	return append(appendChecksum(dst, start+b.bom()), old[digits:]...)
}
