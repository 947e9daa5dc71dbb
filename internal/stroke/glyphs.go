package stroke

import (
	_ "embed"
	"strconv"
	"strings"
	"unicode/utf8"
)

//go:embed glyphs.txt
var glyphText string

// glyph is one character: its width in units, and its outline as glyphs.txt
// explains it.
type glyph struct {
	width   float64
	outline string
}

var glyphs = readGlyphs(glyphText)

// missing stands for every character that has no glyph: an upright box.
var missing = glyph{11, "M 0 0 L 0 20 L 11 20 L 11 0 L 0 0"}

// readGlyphs reads the list, which is part of the program: one that cannot be
// read is a bug, and panics.
func readGlyphs(text string) map[rune]glyph {
	all := map[rune]glyph{}
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if strings.HasPrefix(line, "#") {
			continue
		}
		r, n := utf8.DecodeRuneInString(line)
		width, outline, _ := strings.Cut(strings.TrimPrefix(line[n:], " "), " ")
		w, err := strconv.ParseFloat(width, 64)
		if err != nil {
			panic("stroke: no width: " + line)
		}
		all[r] = glyph{w, outline}
	}
	return all
}

func glyphOf(r rune) glyph {
	if g, ok := glyphs[r]; ok {
		return g
	}
	return missing
}
