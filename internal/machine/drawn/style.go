package drawn

import (
	"fmt"
	"regexp"
	"strings"

	"pgregory.net/rapid"
)

// lineStyle is how the lines of a program are written. They mean the same in
// each (RS274 3.3.1).
type lineStyle struct {
	t     *rapid.T
	b     strings.Builder
	lower bool
	// gaps are those between words: none, one blank, or blanks even within
	// words.
	gaps gaps
	// short numbers have no zeros that mean nothing; G01 has one more.
	short, zeros, plus bool
	eol                []string
	final              bool
	// Lines carry numbers and checksums.
	numbers, sums bool
	number, step  int
}

type gaps uint8

const (
	even gaps = iota
	tight
	loose
)

func drawStyle(t *rapid.T, o Options) lineStyle {
	p := pen{t: t, o: o}
	s := lineStyle{
		t: t, lower: rapid.Bool().Draw(t, "lower"), gaps: pick(t, "gaps", even, even, tight, tight, loose),
		short: rapid.Bool().Draw(t, "short"), zeros: pick(t, "zeros", false, false, true), plus: pick(t, "plus", false, false, true),
		step: pick(t, "step", 1, 10), final: true, eol: []string{"\n"},
	}
	s.numbers = p.may(Numbers) && pick(t, "numbers", false, true)
	s.sums = p.may(Sums) && pick(t, "sums", false, true)
	if p.may(CRLF) {
		s.eol = pick(t, "eols", []string{"\n"}, []string{"\r\n"}, []string{"\n", "\n", "\r\n"})
	}
	if rapid.Bool().Draw(t, "comments") {
		for _, e := range s.eol {
			s.eol = append(s.eol, " ; why"+e, "(what)"+e)
		}
	}
	if p.may(NoNewline) {
		s.final = rapid.IntRange(0, 3).Draw(t, "final") > 0
	}
	return s
}

// line writes a line of words with one blank between them.
func (s *lineStyle) line(format string, args ...any) {
	words := strings.Fields(fmt.Sprintf(format, args...))
	for i, w := range words {
		words[i] = s.word(w)
	}
	text := strings.Join(words, [...]string{even: " ", tight: "", loose: "  "}[s.gaps])
	if s.lower {
		text = strings.ToLower(text)
	}
	s.textLine(text)
}

var plainNumber = regexp.MustCompile(`^([/A-Z]+)(-?)([0-9]*)(\.[0-9]*)?$`)

// word spells a word.
func (s *lineStyle) word(w string) string {
	m := plainNumber.FindStringSubmatch(w)
	if m == nil {
		return w
	}
	letter, sign, whole, part := m[1], m[2], m[3], m[4]
	isCode := strings.HasSuffix(letter, "G") || strings.HasSuffix(letter, "M")
	if s.short && part != "" && !isCode {
		part = strings.TrimRight(part, "0")
		if part == "." {
			part = ""
		} else if whole == "0" {
			whole = ""
		}
	}
	if s.zeros && isCode && len(whole) == 1 {
		whole = "0" + whole
	}
	if s.plus && sign == "" && !isCode {
		sign = "+"
	}
	if s.gaps == loose {
		letter += " "
		if len(whole) > 1 {
			whole = whole[:1] + " " + whole[1:]
		}
	}
	return letter + sign + whole + part
}

// textLine writes a line as it is, with what its number, checksum and end are.
func (s *lineStyle) textLine(text string) {
	if s.numbers {
		s.number += s.step
		text = fmt.Sprintf("N%d %s", s.number, text)
	}
	if s.sums {
		sum := byte(0)
		for _, c := range []byte(text) {
			sum ^= c
		}
		text += fmt.Sprintf("*%d", sum)
	}
	s.b.WriteString(text + pick(s.t, "eol", s.eol...))
}

// raw writes a line that has neither number nor checksum, "" none.
func (s *lineStyle) raw(text string) {
	if text != "" {
		s.b.WriteString(text + s.eol[0])
	}
}

func (s *lineStyle) text() string {
	text := s.b.String()
	if !s.final {
		text = strings.TrimRight(text, "\r\n")
	}
	return text
}
