// Package phrase writes numbers, places and lists as people read them in a
// sentence, and fills them into texts. It knows nothing of what they are of.
package phrase

import (
	"fmt"
	"strings"
	"unicode"
)

// Count writes a number of things: "1 line", "3 lines", "2 touches", "4 boxes".
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	plural := "s"
	if strings.HasSuffix(what, "ch") || strings.HasSuffix(what, "x") {
		plural = "es"
	}
	return fmt.Sprintf("%d %s%s", n, what, plural)
}

// Clock writes a time in s: "12.5 s", "3 min 07 s" or "2 h 05 min".
func Clock(s float64) string {
	switch {
	case s < 60:
		return fmt.Sprintf("%.1f s", s)
	case s < 3600:
		return fmt.Sprintf("%d min %02d s", int(s)/60, int(s)%60)
	}
	return fmt.Sprintf("%d h %02d min", int(s)/3600, int(s)%3600/60)
}

// List joins names: "a", "a and b", "a, b and c".
func List(names []string) string {
	n := len(names)
	if n < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
}

// Columns is how many columns of a page in one width of letters a text takes: a sign of
// the scripts of East Asia takes two, and one that is put over another none.
func Columns(text string) (n int) {
	for _, r := range text {
		switch {
		case r < 0x80:
			n++
		case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		case unicode.In(r, unicode.Han, unicode.Hangul, unicode.Hiragana, unicode.Katakana, unicode.Bopomofo),
			'\u3000' <= r && r <= '\u303f', '\uff01' <= r && r <= '\uff60', '\U0001f300' <= r && r <= '\U0001faff':
			n += 2
		default:
			n++
		}
	}
	return n
}

// Fold breaks text at blanks into lines of width columns at most; a longer
// word has a line of its own. The first line begins with first, the others
// with rest.
func Fold(text string, width int, first, rest string) []string {
	var lines []string
	line, columns, empty := []byte(first), Columns(first), true
	for word := range strings.FieldsSeq(text) {
		wide := Columns(word)
		if !empty && columns+1+wide > width {
			lines = append(lines, string(line))
			line, columns, empty = append(line[:0], rest...), Columns(rest), true
		}
		if !empty {
			line, columns = append(line, ' '), columns+1
		}
		line, columns, empty = append(line, word...), columns+wide, false
	}
	return append(lines, string(line))
}

// Printable replaces what cannot be printed, as a file's name may hold it: it
// would end a line or a comment.
func Printable(text string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return unicode.ReplacementChar
		}
		return r
	}, text)
}

// Yes is "yes" or "no".
func Yes(ok bool) string {
	if ok {
		return "yes"
	}
	return "no"
}
