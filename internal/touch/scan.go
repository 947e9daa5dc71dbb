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
func (s *tokenizer) line(b []byte) {
	s.tokens, s.sawMM, s.sawInch, s.sawDown = s.tokens[:0], false, false, false
	cut := byPoint
	if s.comma {
		cut = byComma
		if s.sep == ',' {
			cut = betweenComma
		}
	}
	fields := 0
	word := "" // the last, while only = : ( [ blanks followed it
	for i := 0; i < len(b); {
		m := cut.FindSubmatchIndex(b[i:])
		part := func(k int) []byte {
			if m[2*k] < 0 {
				return nil
			}
			return b[i+m[2*k] : i+m[2*k+1]]
		}
		c, end := b[i], i+m[1]
		switch number, name, plain := part(2), part(3), part(4); {
		case number != nil:
			t := numberOf(number)
			t.field, t.label = fields, labelOf(word)
			t.flag = i > 0 && b[i-1] == ':' && t.dec == 0 && (t.v == 0 || t.v == 1)
			s.sawDown = s.sawDown || t.label == 'z' && downNames[word]
			t.unit, end = unitAt(b, end)
			s.tokens = append(s.tokens, t)
			word = ""
		case plain != nil:
			word = strings.ToLower(string(plain))
			s.alone(word)
		case name != nil:
			s.alone(strings.ToLower(string(firstWord.FindSubmatch(name)[1])))
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

// downNames are names of readings that grow away from the lens.
var downNames = map[string]bool{"gap": true, "down": true, "depth": true, "distance": true}

// nameOf gives the axis that a column's name or a word before a number means,
// 0 for none. Words are in lower case, and those that people write over such columns.
func nameOf(word string) byte {
	switch word {
	case "x", "y", "z":
		return word[0]
	case "height", "heights", "reading", "gauge", "dial", "gap", "depth", "distance", "down":
		return 'z'
	}
	if len(word) > 2 && word[1] == '_' && (word[0] == 'x' || word[0] == 'y' || word[0] == 'z') {
		return word[0]
	}
	return 0
}

// names is a row of column names; the zero value is none.
type names struct {
	line int
	sep  byte      // of fields
	axis []byte    // of each field: x, y, z or '-'
	unit [3]string // of x, y and z, mm, in or ""
	down bool
	inch bool
	mm   bool
}

// namesOf reads a row without numbers as names of columns, and reports whether x, y
// and z are among them, once each.
func namesOf(b []byte, line int) (n names, ok bool) {
	row := table.RowOf(b)
	n = names{line: line, sep: row.Separator()}
	for k := range row.Len() {
		axis, unit := byte('-'), table.UnitOf(row.Text(k))
		for _, word := range table.Words(row.Text(k)) {
			if a := nameOf(word); a != 0 && axis == '-' {
				axis = a
				n.down = n.down || downNames[word]
			}
			n.down = n.down || word == "down"
		}
		n.mm, n.inch = n.mm || unit == "mm", n.inch || unit == "in"
		if axis != '-' {
			n.unit[axis-'x'] = unit
		}
		n.axis = append(n.axis, axis)
	}
	return n, eachOnce(string(n.axis))
}

// eachOnce reports whether x, y and z are among columns, once each.
func eachOnce(columns string) bool {
	for _, axis := range []string{"x", "y", "z"} {
		if strings.Count(columns, axis) != 1 {
			return false
		}
	}
	return true
}
