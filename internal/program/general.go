package program

import (
	"bytes"
	"fmt"
	"unicode/utf8"

	"github.com/256dpi/gcode"

	"sagitta/internal/diag"
)

// maxLineNumber is the most digits an N word has (RS274 3.3.2: "written with
// no more than five digits", without a sign).
const maxLineNumber = 5

// token is a word as the general path finds it.
type token struct {
	letter     byte
	start, end int // bounds in Raw
	from, to   int // the number's bounds in the normalised text
	digits     int
	dec        int // digits after the point
	point      bool
	sign       bool
}

// general reads any line. Its slices are kept from line to line.
type general struct {
	norm   []byte
	tokens []token
	open   bool // the last token may take more digits
}

// parse fills the block's Words, Comment and Optional from its Raw.
func (g *general) parse(b *Block) error {
	g.norm, g.tokens, g.open = g.norm[:0], g.tokens[:0], false
	body := b.Body()
	if err := checkText(b, body); err != nil {
		return err
	}
	first := true
	alone := "" // what takes no words on its line
	i := b.bom()
	for i < len(body) && (body[i] == ' ' || body[i] == '\t') {
		i++
	}
	if i < len(body) && body[i] == '$' {
		return nil // the whole line is the controller's
	}
	if end := programNumber(body, i); end > 0 {
		i, first, alone = end, false, "program number"
	}
	for i < len(body) {
		c := body[i]
		if c == ' ' || c == '\t' || c == '\r' {
			// A CR here is at the end of a file, or checkText had
			// refused it.
			i++
			continue
		}
		switch {
		case c == ';' || c == '(':
			if err := g.close(b); err != nil {
				return err
			}
			first = false
			if b.Comment < 0 {
				b.Comment = i
				b.habit.semicolon = c == ';'
			}
			if c == ';' {
				i = len(body)
				continue
			}
			end := bytes.IndexByte(body[i:], ')')
			if end < 0 {
				return malformed(b, i, "comment is never closed", `close it with ")"`)
			}
			i += end + 1
			continue
		case c == '/' && first:
			b.Optional = true
		case c == '%' && first:
			alone = `"%"`
		case alone != "":
			return malformed(b, i, "a "+alone+" line takes no words", "")
		case b.Checksum > 0:
			return malformed(b, i, "only a comment may stand after a checksum", "")
		case c == '*' && !first:
			end, err := g.checksum(b, i)
			if err != nil {
				return err
			}
			i = end
			continue
		case isLetter(c) && g.startsText(body, i):
			if err := g.text(b, i); err != nil {
				return err
			}
			i = len(body)
			continue
		case isLetter(c):
			if err := g.begin(b, i); err != nil {
				return err
			}
		case '0' <= c && c <= '9' || c == '.' || c == '+' || c == '-':
			if err := g.number(b, i); err != nil {
				return err
			}
		default:
			return badCharacter(b, body, i)
		}
		first = false
		i++
	}
	if err := g.close(b); err != nil {
		return err
	}
	return g.words(b)
}

func isLetter(c byte) bool { return 'a' <= c|0x20 && c|0x20 <= 'z' }

// begin starts a word at its letter.
func (g *general) begin(b *Block, i int) error {
	letter := b.Raw[i] &^ 0x20
	glued := g.open && g.tokens[len(g.tokens)-1].end == i && g.tokens[len(g.tokens)-1].digits > 0
	if letter == 'E' && glued {
		return malformed(b, i, "a number with an exponent", "write it out")
	}
	if err := g.close(b); err != nil {
		return err
	}
	switch letter {
	case 'E':
		return unsupported(b, i, "E words are not supported", "")
	case 'O':
		return unsupported(b, i, "O words (subprograms) are not supported",
			"write the program out without them")
	}
	if len(g.norm) > 0 {
		g.norm = append(g.norm, ' ')
	}
	g.norm = append(g.norm, letter)
	n := len(g.norm)
	g.tokens = append(g.tokens, token{letter: letter, start: i, end: i + 1, from: n, to: n})
	g.open = true
	return nil
}

// number takes a character of a word's number.
func (g *general) number(b *Block, i int) error {
	c := b.Raw[i]
	if !g.open {
		return malformed(b, i, "a number without a letter", "")
	}
	t := &g.tokens[len(g.tokens)-1]
	switch c {
	case '+', '-':
		if t.sign || t.point || t.digits > 0 {
			return malformed(b, i, fmt.Sprintf("%q inside a number", c), "")
		}
		t.sign = true
	case '.':
		if t.point {
			return malformed(b, i, "a number with two points", "")
		}
		t.point = true
	default:
		t.digits++
		if t.point {
			t.dec++
		}
	}
	g.norm = append(g.norm, c)
	t.end, t.to = i+1, len(g.norm)
	return nil
}

// close ends the word in progress.
func (g *general) close(b *Block) error {
	if !g.open {
		return nil
	}
	g.open = false
	if t := &g.tokens[len(g.tokens)-1]; t.digits == 0 {
		return malformed(b, t.start, fmt.Sprintf("%c has no number", t.letter), "")
	}
	return nil
}

// words makes Words of the normalised line and holds them to what a block may
// have.
func (g *general) words(b *Block) error {
	if len(g.tokens) == 0 {
		return nil
	}
	line, err := gcode.ParseLine(string(g.norm))
	if err != nil || len(line.Codes) != len(g.tokens) {
		return malformed(b, g.tokens[0].start, "cannot be read as words", "")
	}
	var seen uint32
	for k, code := range line.Codes {
		t := &g.tokens[k]
		// The library's value is a float; the number is taken from the
		// text, exactly.
		num, ok := decimal(g.norm[t.from:t.to])
		letter := code.Letter[0]
		switch {
		case !ok:
			return malformed(b, t.start,
				fmt.Sprintf("the number of %c has more than %d digits", letter, maxDigits), "round it")
		case seen&bit(letter) != 0 && !(letter == 'N' && g.renumbers()):
			return malformed(b, t.start, fmt.Sprintf("%c stands twice on the line", letter), "")
		case letter == 'N' && (t.sign || t.point):
			return malformed(b, t.start, "a line number is a whole number without a sign", "")
		case letter == 'N' && t.digits > maxLineNumber:
			return malformed(b, t.start,
				fmt.Sprintf("a line number has at most %d digits", maxLineNumber), "")
		}
		seen = (seen | bit(letter)) &^ manyTimes
		b.Words = append(b.Words, Word{Letter: letter, Num: num, Start: t.start, End: t.end})
	}
	return nil
}

// decimal reads [+-]digits[.digits] exactly. It reports false where the number
// has more than 18 digits or decimals, zeros at its ends not counted.
func decimal(text []byte) (Number, bool) {
	negative := text[0] == '-'
	whole, fraction, _ := bytes.Cut(bytes.TrimLeft(text, "+-"), []byte{'.'})
	fits := func() bool {
		n := len(bytes.TrimLeft(whole, "0")) + len(fraction)
		if n == len(fraction) {
			n = len(bytes.TrimLeft(fraction, "0"))
		}
		return n <= maxDigits && len(fraction) <= maxDigits
	}
	if !fits() {
		fraction = bytes.TrimRight(fraction, "0")
		if !fits() {
			return Number{}, false
		}
	}
	var m int64
	for _, part := range [2][]byte{whole, fraction} {
		for _, c := range part {
			m = m*10 + int64(c-'0')
		}
	}
	if negative {
		m = -m
	}
	return Number{m, int8(len(fraction))}, true
}

// checkText refuses what cannot be text, wherever it stands on the line: in a
// binary file the first oddity is seldom the telling one.
func checkText(b *Block, body []byte) error {
	for i, c := range body {
		if c >= ' ' && c != 0x7f || c == '\t' {
			continue
		}
		if c == '\r' {
			if len(bytes.TrimLeft(body[i:], "\r")) == 0 {
				return nil // the last line, cut after its CR
			}
			return malformed(b, i, "a carriage return within the line",
				"save the program with LF or CR LF line ends")
		}
		return malformed(b, i, fmt.Sprintf("not a text program: control character 0x%02x", c), "")
	}
	return nil
}

// badCharacter says why a character has no place in a line.
func badCharacter(b *Block, body []byte, i int) error {
	switch c := body[i]; c {
	case ')':
		return malformed(b, i, `")" without "("`, "")
	case '/':
		return malformed(b, i, `"/" is not at the beginning of the line`, "")
	case '%':
		return malformed(b, i, `"%" is not alone on its line`, "")
	case '#':
		return unsupported(b, i, "parameters (#) are not supported", "write the numbers out")
	case '[':
		if bytes.IndexByte(body[i:], ']') < 0 {
			return malformed(b, i, "bracket is never closed", "")
		}
		return unsupported(b, i, "expressions in brackets are not supported", "write the numbers out")
	case ']':
		return malformed(b, i, `"]" without "["`, "")
	}
	r, size := utf8.DecodeRune(body[i:])
	if r == utf8.RuneError && size < 2 {
		return malformed(b, i, fmt.Sprintf("not a text program: byte 0x%02x outside a comment", body[i]), "")
	}
	return malformed(b, i, fmt.Sprintf("character %q has no meaning here", r), "")
}

func malformed(b *Block, offset int, what, hint string) error {
	return &diag.Error{Kind: diag.Malformed, Place: b.Place(offset), What: what, Hint: hint}
}

func unsupported(b *Block, offset int, what, hint string) error {
	return &diag.Error{Kind: diag.Unsupported, Place: b.Place(offset), What: what, Hint: hint}
}
