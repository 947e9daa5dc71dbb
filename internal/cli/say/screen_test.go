package say

import (
	"bytes"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sagitta/internal/phrase"
)

// TestFoldedKeepsWords has lines of words and runs of blanks folded: no line is wider than
// the screen where its words are not, no word is lost or cut, and no break is needless.
func TestFoldedKeepsWords(t *testing.T) {
	const mostBlanks = 6
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.StringMatching(`[a-zµ日.,:-]{1,18}`), 1, 40).Draw(t, "words")
		line := rapid.SampledFrom([]string{"", "  ", prefix, prefix + "  "}).Draw(t, "start")
		for k, w := range words {
			if k > 0 {
				line += strings.Repeat(" ", rapid.IntRange(1, mostBlanks).Draw(t, "blanks"))
			}
			line += w
		}
		s := Screen{Columns: rapid.IntRange(leastColumns, 90).Draw(t, "columns")}
		lines := s.folded(line)
		if got, want := strings.Fields(strings.Join(lines, " ")), strings.Fields(line); strings.Join(got, " ") != strings.Join(want, " ") {
			t.Fatalf("%q\nbecame %q", want, got)
		}
		for k, l := range lines {
			if wide := phrase.Columns(l); wide > s.Columns && len(strings.Fields(strings.TrimPrefix(l, prefix))) > 1 {
				t.Errorf("%q is %d columns wide on a screen of %d", l, wide, s.Columns)
			}
			if k == 0 {
				continue
			}
			next := strings.Fields(l)[0]
			if before := phrase.Columns(lines[k-1]) + mostBlanks + phrase.Columns(next); before <= s.Columns {
				t.Errorf("%q has room for %q", lines[k-1], next)
			}
		}
	})
}

// TestVerdictTones has a verdict green only where all was checked.
func TestVerdictTones(t *testing.T) {
	for _, c := range []struct {
		holds     bool
		unchecked []string
		want      tone
	}{{true, nil, good}, {true, []string{"head"}, partly}, {false, nil, bad}, {false, []string{"head"}, bad}} {
		var b bytes.Buffer
		v := Voice{W: &b, Screen: Screen{Colour: true}}
		v.verdict(c.holds, c.unchecked, of{"Name": "a.gcode", "Result": holder(c.holds), "What": "well", "Count": 2})
		if want := "\x1b[" + string(c.want) + "m" + prefix; !strings.HasPrefix(b.String(), want) {
			t.Errorf("%v, unchecked %v: %q does not begin with %q", c.holds, c.unchecked, b.String(), want)
		}
	}
	if strings.Contains(string(partly), "32") {
		t.Error("what was not all checked is green")
	}
}

type holder bool

func (h holder) Holds() bool { return bool(h) }

// TestColourEndsWithItsLine has what is said in colour leave none behind, nor let through
// what a file's name would do to a terminal.
func TestColourEndsWithItsLine(t *testing.T) {
	var b bytes.Buffer
	v := Voice{W: &b, Screen: Screen{Columns: 40, Colour: true}}
	v.say(bad, "a\x1b[31mb "+strings.Repeat("word ", 30))
	v.Line("caution: %s", strings.Repeat("word ", 30))
	for line := range strings.Lines(b.String()) {
		line = strings.TrimSuffix(line, "\n")
		if strings.Count(line, "\x1b[")%2 != 0 || strings.Contains(line, "\x1b[") && !strings.Contains(line, "\x1b[0m") || strings.Contains(line, "\x1b[31mb") {
			t.Errorf("%q", line)
		}
	}
	if !strings.Contains(b.String(), "\x1b["+string(caution)+"m"+cautionary+"\x1b[0m word") {
		t.Errorf("no caution in %q", b.String())
	}
}
