package say

import (
	"fmt"
	"strings"
	"unicode"
)

// Finding is what a run found out of a lens: said, and kept in its record.
type Finding struct{ lines []string }

// Note adds a line.
func (f *Finding) Note(format string, args ...any) {
	f.lines = append(f.lines, strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) { // of a file's name: it would end the comment
			return unicode.ReplacementChar
		}
		return r
	}, fmt.Sprintf(format, args...)))
}

// A record must stay well within what is read of a settings file, however much
// was found.
const (
	mostComments   = 25
	longestComment = 240 // characters
)

// Comments are the lines that a record keeps, as it has them.
func (f *Finding) Comments() string {
	var b strings.Builder
	for i, line := range f.lines {
		if i == mostComments {
			fmt.Fprintf(&b, "# and %d lines more\n", len(f.lines)-i)
			break
		}
		if r := []rune(line); len(r) > longestComment {
			line = string(r[:longestComment]) + " ..."
		}
		b.WriteString("# " + line + "\n")
	}
	return b.String()
}

// Found says what was found.
func (v Voice) Found(f *Finding) { v.Lines(f.lines) }
