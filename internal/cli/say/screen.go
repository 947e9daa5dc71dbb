package say

import (
	"os"
	"runtime"
	"strings"

	"golang.org/x/term"

	"sagitta/internal/phrase"
)

// Screen is what is known of the terminal that is written to. None, as for a pipe or a
// file, has lines as long as they come, and no colour.
type Screen struct {
	// Columns is how many characters a line has at most, 0 for no bound.
	Columns int
	// Colour tells that the terminal shows colours, and that they are wanted.
	Colour bool
}

// leastColumns is the narrowest that lines are folded to: with less, words stand alone.
const leastColumns = 24

// ScreenOf looks at what is written to. Colour is left out under NO_COLOR
// (no-color.org: set, and not empty), on a terminal that is called dumb, and on Windows,
// where older consoles show what should colour as text.
func ScreenOf(w any) Screen {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return Screen{}
	}
	s := Screen{Colour: os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb" && runtime.GOOS != "windows"}
	if wide, _, err := term.GetSize(int(f.Fd())); err == nil && wide > 0 {
		s.Columns = max(wide, leastColumns)
	}
	return s
}

// tone is what a line is to a reader, which a screen with colours shows: by weight as
// well, for who cannot tell them apart.
type tone string

// The tones, as the parameters of SGR (ECMA-48, 8.3.117).
const (
	plain   tone = ""
	good    tone = "1;32" // it holds, and all was checked
	partly  tone = "1"    // it holds, but not all was checked: never green
	bad     tone = "1;31"
	caution tone = "1;33"
)

// tint gives a text in a tone.
func (s Screen) tint(t tone, text string) string {
	if !s.Colour || t == plain {
		return text
	}
	return "\x1b[" + string(t) + "m" + text + "\x1b[0m"
}

// Fit folds the lines of a text that are too long for the screen.
func (s Screen) Fit(text string) string {
	if s.Columns == 0 {
		return text
	}
	var b strings.Builder
	for line := range strings.Lines(text) {
		text, end := strings.CutSuffix(line, "\n")
		b.WriteString(strings.Join(s.folded(text), "\n"))
		if end {
			b.WriteByte('\n')
		}
	}
	return b.String()
}

// Within is how wide a page of so many columns may be on the screen.
func (s Screen) Within(columns int) int {
	if s.Columns == 0 {
		return columns
	}
	return min(columns, s.Columns)
}

// folded breaks a line at blanks where it is too long, and sets what follows in under its
// text. Blanks within it stay, as they make the columns of a table.
func (s Screen) folded(line string) (lines []string) {
	if s.Columns == 0 {
		return []string{line}
	}
	text := strings.TrimPrefix(line, prefix)
	indent := strings.Repeat(" ", min(len(line)-len(strings.TrimLeft(text, " ")), s.Columns/4))
	for phrase.Columns(line) > s.Columns {
		at := breakAt(line, s.Columns, len(indent))
		if at == 0 {
			break
		}
		lines = append(lines, strings.TrimRight(line[:at], " "))
		line = indent + strings.TrimLeft(line[at:], " ")
	}
	return append(lines, line)
}

// breakAt is where a line is broken to have so many columns at most, behind its first
// so many bytes: at its last blank there, else at the next; 0 where there is none.
func breakAt(line string, columns, behind int) (at int) {
	for k, r := range line {
		if r != ' ' || strings.TrimLeft(line[:k], " ") == "" || k <= behind {
			continue
		}
		if at > 0 && phrase.Columns(line[:k]) > columns {
			break
		}
		at = k
	}
	return at
}
