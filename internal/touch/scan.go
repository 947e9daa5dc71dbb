package touch

import (
	"math"

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

// scanner cuts a line into numbers.
type scanner struct {
	comma   bool // the comma is the decimal sign
	sep     byte // between fields, 0 where not known
	tokens  []token
	fields  int  // in the line, counted by sep
	sawMM   bool // a unit stood alone
	sawInch bool
	sawDown bool // a name of readings that count down stood before a number
}

func letter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c >= 0x80 || c == '_' }
func digit(c byte) bool  { return c >= '0' && c <= '9' }
func lower(c byte) byte {
	if c >= 'A' && c <= 'Z' {
		return c | 0x20
	}
	return c
}

// line scans b into s.tokens. Numbers that are part of a word with more than
// one letter are no numbers ("probe12"); behind a single letter other than
// x, y, z they are named otherwise ("G38.2", "F100").
func (s *scanner) line(b []byte) {
	s.tokens, s.fields, s.sawMM, s.sawInch, s.sawDown = s.tokens[:0], 1, false, false, false
	var word []byte // the last word, while only = : ( [ blanks followed it
	for i := 0; i < len(b); {
		c := b[i]
		switch {
		case digit(c) && clock(b[i:]) > 0:
			i += clock(b[i:])
			word = nil
		case s.startsNumber(b, i):
			n := s.number(b, i)
			t := &s.tokens[len(s.tokens)-1]
			t.field = s.fields - 1
			t.label = labelOf(word)
			s.sawDown = s.sawDown || t.label == 'z' && downNames[lowerString(word)]
			t.flag = i > 0 && b[i-1] == ':' && t.dec == 0 && (t.v == 0 || t.v == 1)
			i += n
			i += s.unit(b, i)
			word = nil
		case letter(c):
			k := i
			for k < len(b) && letter(b[k]) {
				k++
			}
			word = b[i:k]
			s.alone(word)
			if k < len(b) && len(word) > 1 && (digit(b[k]) || b[k] == '.') {
				// A name with digits: none of them is a reading.
				for k < len(b) && (letter(b[k]) || digit(b[k]) || b[k] == '.' && k+1 < len(b) && digit(b[k+1])) {
					k++
				}
				word = nil
			}
			i = k
		default:
			if s.sep != 0 && c == s.sep || s.sep == 0 && (c == ';' || c == ',' || c == '\t') {
				s.fields++
				word = nil
			} else if c != ' ' && c != '=' && c != ':' && c != '(' && c != '[' {
				word = nil
			}
			i++
		}
	}
}

// clock returns the length of a time or date that b begins with, as machines
// write them before their lines ("12:30:05", "2031-05-01"), or 0.
func clock(b []byte) int {
	k := 0
	for k < len(b) && digit(b[k]) {
		k++
	}
	for _, sep := range []byte{':', '-'} {
		if sep == '-' && k != 4 || sep == ':' && k > 2 {
			continue
		}
		m, parts := k, 0
		for m+2 < len(b) && b[m] == sep && digit(b[m+1]) && digit(b[m+2]) {
			m, parts = m+3, parts+1
		}
		if parts != 2 {
			continue
		}
		for m < len(b) && (b[m] == '.' && sep == ':' || digit(b[m])) {
			m++
		}
		return m
	}
	return 0
}

// labelOf reads the word before a number: x, y or z, with or without more
// behind it that only says what is measured ("x_mm", "height").
func labelOf(word []byte) byte {
	if len(word) == 0 {
		return 0
	}
	c := lower(word[0])
	if len(word) == 1 {
		if c == 'x' || c == 'y' || c == 'z' {
			return c
		}
		return '?'
	}
	if axis := nameOf(word); axis != 0 {
		return axis
	}
	return 0 // a word that says nothing, as in "touch at 10 20 0.3"
}

// alone notes a unit that stands by itself, such as "(mm)".
func (s *scanner) alone(word []byte) {
	switch unitOf(word) {
	case 'm':
		s.sawMM = true
	case 'i':
		s.sawInch = true
	}
}

func unitOf(word []byte) byte {
	switch lowerString(word) {
	case "mm", "millimetre", "millimetres", "millimeter", "millimeters":
		return 'm'
	case "inch", "inches":
		return 'i'
	}
	return 0
}

func lowerString(b []byte) string {
	var buf [16]byte
	if len(b) > len(buf) {
		return ""
	}
	for i, c := range b {
		buf[i] = lower(c)
	}
	return string(buf[:len(b)])
}

// startsNumber reports whether a number starts at i.
func (s *scanner) startsNumber(b []byte, i int) bool {
	c := b[i]
	if (c == '-' || c == '+') && i+1 < len(b) {
		i++
		c = b[i]
	}
	if digit(c) {
		return true
	}
	return (c == '.' || c == ',' && s.comma && s.sep != ',') && i+1 < len(b) && digit(b[i+1])
}

// number reads the number at i, adds it and returns its length in bytes.
func (s *scanner) number(b []byte, i int) int {
	k, dec, point := i, 0, false
	if b[k] == '+' || b[k] == '-' {
		k++
	}
	for ; k < len(b); k++ {
		c := b[k]
		if digit(c) {
			if point {
				dec++
			}
			continue
		}
		if point || c != '.' && !(c == ',' && s.comma && k+1 < len(b) && digit(b[k+1])) {
			break
		}
		point = true
	}
	if k < len(b) && lower(b[k]) == 'e' {
		m := k + 1
		if m < len(b) && (b[m] == '+' || b[m] == '-') {
			m++
		}
		if m < len(b) && digit(b[m]) {
			for k = m; k < len(b) && digit(b[k]); k++ {
			}
		}
	}
	v, ok := table.Number(b[i:k])
	if !ok {
		v = math.Inf(1) // refused later as out of range
	}
	s.tokens = append(s.tokens, token{v: v, dec: dec})
	return k - i
}

// unit reads a unit right behind a number and returns its length.
func (s *scanner) unit(b []byte, i int) int {
	t := &s.tokens[len(s.tokens)-1]
	if i < len(b) && b[i] == '"' && !(i+1 < len(b) && b[i+1] == '"') && s.quoteIsInch(b) {
		t.unit = 'i'
		return 1
	}
	k := i
	for k < len(b) && b[k] == ' ' {
		k++
	}
	m := k
	for m < len(b) && letter(b[m]) {
		m++
	}
	switch w := lowerString(b[k:m]); {
	case unitOf(b[k:m]) == 'm':
		t.unit = 'm'
	case unitOf(b[k:m]) == 'i' || w == "in":
		t.unit = 'i'
	default:
		return 0
	}
	return m - i
}

// quoteIsInch reports whether quotes are inch marks: those of a CSV come in pairs.
func (s *scanner) quoteIsInch(b []byte) bool {
	for i, c := range b {
		if c == '"' && (i == 0 || !digit(b[i-1])) {
			return false
		}
	}
	return true
}
