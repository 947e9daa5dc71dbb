package touch

import (
	"bytes"
	"math"
	"regexp"
	"strings"

	"sagitta/internal/table"
)

// token is a number of a line, and what stands around it.
type token struct {
	v     float64
	label byte // x, y, z where the number is named so; 0 unnamed; else '?': named otherwise
	field int  // separators before it: the field it stands in
	dec   int  // decimals
	unit  byte // 'm' for mm, 'i' for inches, 0 not said
	flag  bool // behind a colon, a whole 0 or 1: how probe reports end
}

// tokenizer cuts a line into numbers.
type tokenizer struct {
	comma   bool // the comma is the decimal sign
	sep     byte // between fields, 0 where not known
	tokens  []token
	sawMM   bool // a unit stood alone
	sawInch bool
	sawDown bool // a name of readings that count down stood before a number
}

// letter is what words are made of.
const letter = `[A-Za-z_\x{80}-\x{10FFFF}]`

// pieces cuts off what a line begins with, for numbers of one spelling: a time or
// date, as machines write them before their lines; a number; a name with digits
// in it, none of which is a reading ("probe12"); a word; else a character.
func pieces(number string) *regexp.Regexp {
	return regexp.MustCompile(`(?s)^(?:` +
		`(\d{1,2}(?::\d\d){2}[\d.]*|\d{4}(?:-\d\d){2}\d*)|` +
		`([-+]?(?:` + number + `)(?:[eE][-+]?\d+)?)|` +
		`((?:` + letter + `{2,}|[\x{80}-\x{10FFFF}])\.?\d(?:` + letter + `|\.?\d)*)|` +
		`(` + letter + `+)|.)`)
}

var (
	byPoint      = pieces(`\d+\.?\d*|\.\d+`)
	byComma      = pieces(`\d+(?:\.\d*|,\d+)?|[.,]\d+`)
	betweenComma = pieces(`\d+(?:\.\d*|,\d+)?|\.\d+`) // where commas also separate fields
	firstWord    = regexp.MustCompile(`^ *(` + letter + `+)`)
)

// line scans b into s.tokens. Behind a single letter other than x, y, z numbers are
// named otherwise ("G38.2", "F100").
func (s *tokenizer) line(b []byte) { s.scan(b, s.plain) }

// piece is what a line goes on with: a number, a word, a name with digits in it or, with
// none of them, a character or a time.
type piece struct {
	number, plain, name []byte
	end                 int
}

// scan cuts b into pieces; first knows some of them at a glance, and the general rule
// the others.
func (s *tokenizer) scan(b []byte, first func(b []byte, i int) (piece, bool)) {
	s.tokens, s.sawMM, s.sawInch, s.sawDown = s.tokens[:0], false, false, false
	fields := 0
	word := "" // the last, while only = : ( [ blanks followed it
	for i := 0; i < len(b); {
		p, ok := first(b, i)
		if !ok {
			p = s.general(b, i)
		}
		c, end := b[i], p.end
		switch {
		case p.number != nil:
			t := numberOf(p.number)
			t.field, t.label = fields, labelOf(word)
			t.flag = i > 0 && b[i-1] == ':' && t.dec == 0 && (t.v == 0 || t.v == 1)
			s.sawDown = s.sawDown || t.label == 'z' && downNames[word]
			t.unit, end = unitAt(b, end)
			s.tokens = append(s.tokens, t)
			word = ""
		case p.plain != nil:
			word = strings.ToLower(string(p.plain))
			s.alone(word)
		case p.name != nil:
			s.alone(strings.ToLower(string(firstWord.FindSubmatch(p.name)[1])))
			word = ""
		case s.sep != 0 && c == s.sep || s.sep == 0 && strings.IndexByte(";,\t", c) >= 0:
			fields++
			word = ""
		case strings.IndexByte(" =:([", c) < 0:
			word = ""
		}
		i = end
	}
}

// general is the piece at b[i:], whatever it is.
func (s *tokenizer) general(b []byte, i int) piece {
	cut := byPoint
	if s.comma {
		cut = byComma
		if s.sep == ',' {
			cut = betweenComma
		}
	}
	m := cut.FindSubmatchIndex(b[i:])
	part := func(k int) []byte {
		if m[2*k] < 0 {
			return nil
		}
		return b[i+m[2*k] : i+m[2*k+1]]
	}
	return piece{number: part(2), plain: part(4), name: part(3), end: i + m[1]}
}

// plain is the piece at b[i:] where that is what nearly all of a log is made of, which
// takes a hundredth of the time of the general rule: a number before a separator or the
// end, a word of plain letters, or a character that begins nothing else.
func (s *tokenizer) plain(b []byte, i int) (p piece, ok bool) {
	at := func(k int) byte { // a separator at the end
		if k < len(b) {
			return b[k]
		}
		return ' '
	}
	switch c := b[i]; {
	case isLetter(c):
		end := i + 1
		for isLetter(at(end)) {
			end++
		}
		// Behind two letters digits belong to a name.
		if next := at(end); next >= 0x80 || end > i+1 && (next == '.' || isDigit(next)) {
			return p, false
		}
		return piece{plain: b[i:end], end: end}, true
	case isDigit(c) || c == '-' || c == '+':
		end := i
		if !isDigit(c) {
			end++
		}
		whole := end
		for isDigit(at(end)) {
			end++
		}
		if end == whole {
			return p, false
		}
		if at(end) == '.' || s.comma && at(end) == ',' && isDigit(at(end+1)) {
			for end++; isDigit(at(end)); end++ {
			}
		}
		next := at(end)
		return piece{number: b[i:end], end: end}, next == ' ' || next == ';' || next == '\t' || next == ',' && !s.comma
	}
	return piece{end: i + 1}, b[i] < 0x80 && b[i] != '.' && (b[i] != ',' || !s.comma)
}

func isDigit(c byte) bool  { return c >= '0' && c <= '9' }
func isLetter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '_' }

// alone notes a unit that stands by itself, such as "(mm)".
func (s *tokenizer) alone(word string) {
	s.sawMM = s.sawMM || units[word] == 'm'
	s.sawInch = s.sawInch || units[word] == 'i'
}

// labelOf reads the word before a number: x, y or z, with or without more
// behind it that only says what is measured ("x_mm", "height").
func labelOf(word string) byte {
	axis := nameOf(word)
	if axis == 0 && len(word) == 1 {
		return '?'
	}
	return axis // 0 for a word that says nothing, as in "touch at 10 20 0.3"
}

// units are those that may stand alone; "in" is too common a word.
var units = map[string]byte{
	"mm": 'm', "millimetre": 'm', "millimetres": 'm', "millimeter": 'm', "millimeters": 'm', "inch": 'i', "inches": 'i',
}

// numberOf reads a number. One out of range comes out as +Inf, and is refused
// later.
func numberOf(text []byte) token {
	v, ok := table.Number(text)
	if !ok {
		v = math.Inf(1)
	}
	t := token{v: v}
	digits := text
	if k := bytes.IndexAny(text, "eE"); k >= 0 {
		digits = text[:k]
	}
	if k := bytes.IndexAny(digits, ".,"); k >= 0 {
		t.dec = len(digits) - k - 1
	}
	return t
}

// unitAt reads a unit right behind a number, which ends at i, and returns where
// that ends, i without one.
func unitAt(b []byte, i int) (unit byte, end int) {
	rest := b[i:]
	if len(rest) > 0 && rest[0] == '"' && !bytes.HasPrefix(rest, []byte(`""`)) && !quoted.Match(b) {
		return 'i', i + 1
	}
	blanks := 0
	for blanks < len(rest) && rest[blanks] == ' ' {
		blanks++
	}
	if blanks == len(rest) || rest[blanks] < 0x80 && !isLetter(rest[blanks]) {
		return 0, i // at a glance
	}
	if m := firstWord.FindSubmatchIndex(rest); m != nil {
		word := strings.ToLower(string(rest[m[2]:m[3]]))
		if unit = units[word]; word == "in" {
			unit = 'i'
		}
		if unit != 0 {
			i += m[1]
		}
	}
	return unit, i
}

// quoted finds quotes that are no inch marks: those of a CSV come in pairs.
var quoted = regexp.MustCompile(`(?:^|[^0-9])"`)
