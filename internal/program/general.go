package program

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/256dpi/gcode"
)

// maxLineNumber is the most digits an N word has (RS274 3.3.2: "written with
// no more than five digits", without a sign).
const maxLineNumber = 5

// parse fills the Words, Comment, Optional and Checksum of any block from its Raw.
func parse(b *Block) error {
	if err := tokens(b); err != nil {
		return err
	}
	return checkWords(b)
}

// tokens is parse with all the words that there are, and without a look at what a
// block may have.
func tokens(b *Block) error {
	body := b.Body()
	if err := checkText(b, body); err != nil {
		return err
	}
	if b.begin() > b.bom() {
		b.lapses.add(Returned)
	}
	first := true
	alone := "" // what takes no words on its line
	var in brackets
	for i := b.bom(); i < len(body); {
		c, end := body[i], i+1
		var err error
		switch {
		case c == ' ' || c == '\t' || c == '\r':
			// A CR here is before the line or at the end of a file, or
			// checkText had refused it.
			i++
			continue
		case c == '$' && first:
			return nil // the whole line is the controller's
		case c == ';' || c == '(':
			end, err = in.comment(b, body, i)
		case c == ')':
			err = in.close(b, i)
		case in.deep > 0:
			err = in.doubt(b, i)
		case c == '/' && first:
			b.Optional = true
		case c == '%' && first:
			alone, b.Percent = `"%"`, true
		case alone != "":
			err = b.Malformed(i, "a "+alone+" line takes no words", remark)
		case b.Checksum > 0:
			err = b.Malformed(i, "only a comment may stand after a checksum", "")
		case c == '*' && !first:
			end, err = checksum(b, i)
		case first && programNumber(body[i:]) > 0:
			end, alone = i+programNumber(body[i:]), "program number"
		case isLetter(c):
			if c|0x20 == 'm' && startsText(b.Words, body[i:]) {
				body = body[:i+len("M117")]
			}
			end, err = word(b, body, i)
		case isNumber(c):
			err = b.Malformed(i, "a number without a letter", "")
		default:
			err = badCharacter(b, body, i)
		}
		if err != nil {
			return err
		}
		i, first = end, false
	}
	if err := in.end(b); err != nil {
		return err
	}
	return numbers(b)
}

func isLetter(c byte) bool { return 'a' <= c|0x20 && c|0x20 <= 'z' }

func isNumber(c byte) bool { return '0' <= c && c <= '9' || c == '.' || c == '+' || c == '-' }

// word takes the word at i, all but its Num. Blanks in its number mean nothing.
func word(b *Block, body []byte, i int) (end int, err error) {
	letter := body[i] &^ 0x20
	switch n := len(b.Words); {
	case letter == 'E' && n > 0 && b.Words[n-1].End == i:
		return 0, b.Malformed(i, "a number with an exponent", "write it out")
	case letter == 'E':
		return 0, b.Unsupported(i, "E words are not supported", "")
	case letter == 'O':
		hint := "write the program out without them"
		if isText(body[i:]) {
			hint = remark
		}
		return 0, b.Unsupported(i, "O words (subprograms) are not supported", hint)
	}
	w := Word{Letter: letter, Start: i, End: i + 1}
	sign, point, digits := false, false, 0
	k := i + 1
	for ; k < len(body); k++ {
		c := body[k]
		if c == ' ' || c == '\t' || c == '\r' {
			continue
		}
		if !isNumber(c) {
			break
		}
		switch {
		case c == '.' && point:
			return 0, b.Malformed(k, "a number with two points", "")
		case c == '.':
			point = true
		case c >= '0':
			digits++
		case sign || point || digits > 0:
			return 0, b.Malformed(k, fmt.Sprintf("%q inside a number", c), "")
		default:
			sign = true
		}
		w.End = k + 1
	}
	if digits == 0 {
		if k < len(body) && !isLetter(body[k]) && !strings.ContainsRune(";(*", rune(body[k])) {
			return 0, badCharacter(b, body, k) // in the number's place
		}
		hint := ""
		if isText(body[i:]) {
			hint = remark
		}
		return 0, b.Malformed(i, fmt.Sprintf("%c has no number", letter), hint)
	}
	b.Words = append(b.Words, w)
	return w.End, nil
}

// remark is what to do about text among the words.
const remark = `a remark goes into "(" and ")", or behind ";"`

// isText reports whether a line goes on with more letters than words without a number
// have: with text.
func isText(line []byte) bool {
	const least = 3
	return len(line) >= least && !bytes.ContainsFunc(line[:least], func(r rune) bool { return r >= utf8.RuneSelf || !isLetter(byte(r)) })
}

// noBlanks takes the blanks out of a number.
var noBlanks = strings.NewReplacer(" ", "", "\t", "")

// numbers gives the words of the block their numbers, and holds them to what a
// block may have. The library wants words in upper case, with a blank between
// them; its values are floats, so the numbers are taken from the text, exactly.
func numbers(b *Block) error {
	if len(b.Words) == 0 {
		return nil
	}
	texts := make([]string, len(b.Words))
	for k := range b.Words {
		w := &b.Words[k]
		texts[k] = string(w.Letter) + noBlanks.Replace(string(b.numberText(w)))
	}
	line, err := gcode.ParseLine(strings.Join(texts, " "))
	if err != nil || len(line.Codes) != len(b.Words) {
		return b.Malformed(b.Words[0].Start, "cannot be read as words", "")
	}
	for k, code := range line.Codes {
		b.Words[k].Letter, b.Words[k].Num = code.Letter[0], decimal(texts[k][1:])
	}
	return nil
}

// checkWords holds the words to what a block may have, and takes out those that are
// said again.
func checkWords(b *Block) error {
	renumbered := slices.ContainsFunc(b.Words, renumbers)
	once, moves := b.Words[:0], repeats{}
	for k := range b.Words {
		w := &b.Words[k]
		what, hint, before := "", "", (*Word)(nil)
		if !renumbered || w.Letter != 'N' {
			before = sameLetter(once, w)
		}
		switch {
		case w.Num == overlong:
			what, hint = fmt.Sprintf("the number of %c has more than %d digits", w.Letter, MaxDigits), "round it"
		case before != nil && before.Num.Cmp(w.Num) == 0:
			b.lapses.add(Repeated)
			if moves.take(w) {
				return b.Malformed(w.Start, "a move that stands twice on the line: either it is made once or twice", "leave it once, or put it on two lines")
			}
			continue
		case before != nil:
			what = fmt.Sprintf("%c stands twice on the line, as %v and as %v", w.Letter, before.Num, w.Num)
			hint = fmt.Sprintf("one controller takes %c%v, another %c%v: leave the one that is meant", w.Letter, before.Num, w.Letter, w.Num)
		case w.Letter != 'N':
		case bytes.ContainsAny(b.numberText(w), "+-."):
			what = "a line number is a whole number without a sign"
		case len(b.numberText(w))-blanks(b.numberText(w)) > maxLineNumber:
			what = fmt.Sprintf("a line number has at most %d digits", maxLineNumber)
		}
		if what != "" {
			return b.Malformed(w.Start, what, hint)
		}
		once = append(once, *w)
	}
	b.Words = once
	return nil
}

// repeats tells of the words that are said again whether they make a move: two lines
// that have run together, of which one controller makes one move and another two.
type repeats struct{ motion, axis bool }

func (r *repeats) take(w *Word) (move bool) {
	r.motion = r.motion || w.Letter == 'G' && w.Num.Cmp(Int(4)) < 0
	r.axis = r.axis || rank(w.Letter) == rankAxis
	return r.motion && r.axis
}

// sameLetter returns the word among others that w says again or contradicts, nil where
// there is none: of G and M words, of which a line may have several, one with the same
// number. A dwell that is said again may last twice as long: two are two.
//
// Of more words than a block may have only the first are asked.
func sameLetter(words []Word, w *Word) *Word {
	for i := range words[:min(len(words), startWords)] {
		v := &words[i]
		if v.Letter == w.Letter && (manyTimes&bit(w.Letter) == 0 || v.Num.Cmp(w.Num) == 0 && !(w.Letter == 'G' && w.Num.Cmp(Int(4)) == 0)) {
			return v
		}
	}
	return nil
}

// overlong stands for a number that has more digits, or decimals, than fit.
var overlong = Number{Dec: -1}

// decimal reads [+-]digits[.digits] exactly. It gives overlong where the number has
// more than 18 digits or decimals, zeros at its ends not counted.
func decimal(text string) Number {
	whole, fraction, _ := strings.Cut(strings.TrimLeft(text, "+-"), ".")
	whole = strings.TrimLeft(whole, "0")
	fits := func() bool {
		n := len(whole) + len(fraction)
		if whole == "" {
			n = len(strings.TrimLeft(fraction, "0"))
		}
		return n <= MaxDigits && len(fraction) <= MaxDigits
	}
	if !fits() {
		fraction = strings.TrimRight(fraction, "0")
		if !fits() {
			return overlong
		}
	}
	n := Number{Dec: int8(len(fraction))}
	for _, c := range whole + fraction {
		n.Mant = n.Mant*10 + int64(c-'0')
	}
	if text[0] == '-' {
		n.Mant = -n.Mant
	}
	return n
}

// checkText refuses what cannot be text, wherever it stands on the line: in a
// binary file the first oddity is seldom the telling one.
func checkText(b *Block, body []byte) error {
	begin := b.begin()
	for i, c := range body {
		if c >= ' ' && c != 0x7f || c == '\t' {
			continue
		}
		switch {
		case c == 0x1a && len(bytes.Trim(body[i:], "\x1a\r")) == 0:
			return b.Malformed(i, "an end-of-file mark within the file: control character 0x1a", "delete it; some old editors put one at the end")
		case c != '\r':
			return b.Malformed(i, fmt.Sprintf("not a text program: control character 0x%02x", c), "")
		case i >= begin && len(bytes.TrimLeft(body[i:], "\r")) > 0: // else the last line, cut after its CR
			return b.Malformed(i, "a carriage return within the line",
				"save the program with LF or CR LF line ends")
		}
	}
	return nil
}

// badCharacter says why a character has no place in a line.
func badCharacter(b *Block, body []byte, i int) error {
	switch c := body[i]; c {
	case '/':
		return b.Malformed(i, `"/" is not at the beginning of the line`, remark)
	case '%':
		return b.Malformed(i, `"%" is not alone on its line`, "")
	case '#':
		hint := "write the numbers out"
		if i+1 == len(body) || body[i+1] == ' ' || isText(body[i+1:]) {
			hint = remark
		}
		return b.Unsupported(i, "parameters (#) are not supported", hint)
	case '[':
		if bytes.IndexByte(body[i:], ']') < 0 {
			return b.Malformed(i, "bracket is never closed", "")
		}
		return b.Unsupported(i, "expressions in brackets are not supported", "write the numbers out")
	case ']':
		return b.Malformed(i, `"]" without "["`, "")
	}
	r, size := utf8.DecodeRune(body[i:])
	if r == utf8.RuneError && size < 2 {
		return b.Malformed(i, fmt.Sprintf("not a text program: byte 0x%02x outside a comment", body[i]), "")
	}
	hint := ""
	switch {
	case r == ',' && i > 0 && isNumber(body[i-1]):
		hint = "write decimals with a point"
	case len(bytes.TrimLeft(body[b.bom():i], " \t\r")) == 0:
		hint = remark
	}
	return b.Malformed(i, fmt.Sprintf("character %q has no meaning here", r), hint)
}
