package diag

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestCaret(t *testing.T) {
	for _, c := range []struct {
		source string
		col    int
		want   string
	}{
		{"G1 X", 4, "G1 X\n   ^"},
		{"", 1, ""},
		{"G1", 3, "G1\n  ^"},
		{"(é) X", 6, "(é) X\n    ^"},
		{"a\x00\x7f\tb\xff\u200b", 6, "a␀␡ b��\n     ^"},
		{strings.Repeat("x", 100) + "Y" + strings.Repeat("z", 100), 101,
			"..." + strings.Repeat("x", 48) + "Y" + strings.Repeat("z", 23) + "...\n" +
				strings.Repeat(" ", 51) + "^"},
	} {
		at := Place{File: "f", Line: 3, Col: c.col, Source: c.source}
		if got := As(fmt.Errorf("wrapped: %w", &Error{Place: at})).Caret(); got != c.want {
			t.Errorf("%q:\n%s\nwant\n%s", c.source, got, c.want)
		}
	}
}

// The caret stands under the character, in at most 80 columns, whatever the
// line is.
func TestCaretStandsUnderThePlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		before := rapid.StringMatching(`[a-mé€]{0,200}`).Draw(t, "before")
		after := rapid.StringMatching(`[n-yé€]{0,200}`).Draw(t, "after")
		text := Place{Col: len(before) + 1, Source: before + "Z" + after}.Caret()
		line, caret, _ := strings.Cut(text, "\n")
		at := utf8.RuneCountInString(caret) - 1
		runes := []rune(line)
		if at >= len(runes) || runes[at] != 'Z' || len(runes) > 80 {
			t.Errorf("%s", text)
		}
	})
}
