package program

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"sagitta/internal/diag"
)

// lapsed is the table of lines that are not as RS274 has them, and have one meaning all
// the same.
var lapsed = []struct {
	text, words string
	kind        Lapse
}{
	{"(swap Z-5 ; S1000 (all power))", "", Nested},
	{"G1 (a (b (c) ) ) X6", "G1 X6", Nested},
	{"(a (b)) G1 X5 (c", "G1 X5", Nested},
	{"G1 X6 (a (b)", "G1 X6", Nested},
	{"(a (b) (c) ; d", "", Nested},
	{"M5 (off))", "M5", Overclosed},
	{"(keep off :-) ) ) X5", "X5", Overclosed},
	{"( BURN ", "", LeftOpen},
	{"G1 X6 (slow -", "G1 X6", LeftOpen},
	{"\rG1 X6", "G1 X6", Returned},
	{" \r\r (note)", "", Returned},
	{"\r%", "", Returned},
	{"\rN3 T0*57", "N3 T0", Returned},
	{"G1 X6 Y2 x6.0", "G1 X6 Y2", Repeated},
	{"N5 n5 S-0 S0", "N5 S0", Repeated},
	{"G90 G21 G90 M5 M05", "G90 G21 M5", Repeated},
	{"G1 G01 X6 F2 F2", "G1 X6 F2", Repeated},
	{"M812 M812 P3", "M812 P3", Repeated},
}

func TestLapses(t *testing.T) {
	for _, c := range lapsed {
		text := "G90\n" + c.text + "\n" + c.text
		r := NewReader(strings.NewReader(text), "t.nc")
		for line := 1; ; line++ {
			b, err := r.Next()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Errorf("%q: %v", c.text, err)
				break
			}
			if got := spell(b); line > 1 && got != c.words {
				t.Errorf("%q: words %q, want %q", c.text, got, c.words)
			}
		}
		for kind, got := range r.Lapses() {
			if want := (Tally{2, 2}); Lapse(kind) == c.kind && got != want || got.Count > 0 && got != want {
				t.Errorf("%q: %v: %+v", c.text, Lapse(kind), got)
			}
		}
		if said := r.Lapses()[c.kind].Says(c.kind); !strings.HasPrefix(said, "line 2: "+c.kind.String()+", 2 times in all;") {
			t.Errorf("%q: said %q", c.text, said)
		}
	}
}

// A word is changed, or goes, wherever it is said on the line.
func TestRepeatedWordsChangeTogether(t *testing.T) {
	for _, c := range []struct {
		text    string
		changes []Change
		want    string
	}{
		{"G1 X5 S300 X5.0 s300", []Change{SetWord(2, Int(210))}, "G1 X5 S210 X5.0 s210"},
		{"G1 X5 S300 X5.0 s300", []Change{{Letter: 'X', Num: Int(6)}, {Letter: 'Z', Num: Int(1)}}, "G1 X6.0 S300 X6.0 Z1.0 s300"},
		{"M3 G1 m03 X5", []Change{DropWord(0)}, "G1 X5"},
		{"G1 G21 G01 X5", []Change{SetWord(1, Int(20))}, "G1 G20 G01 X5"},
		{"\rX5 X5 (a)", []Change{{Letter: 'Z', Num: Int(1)}}, "\rX5 X5 Z1 (a)"},
		{"\r(a)", []Change{{Letter: 'M', Num: Int(5)}}, "\rM5 (a)"},
		{"( BURN ", []Change{{Letter: 'M', Num: Int(5)}}, "M5 ( BURN "},
		{"\rN3 T0*57", []Change{SetWord(1, Int(1))}, "\rN3 T1*56"},
	} {
		if got := string(AppendChanged(nil, one(t, c.text+"\n"), c.changes)); got != c.want+"\n" {
			t.Errorf("%q: %q, want %q", c.text, got, c.want)
		}
	}
}

// A comment that may go on over lines is no matter until a line closes what it has not
// opened: then either all between acts or none of it does.
func TestCommentsOverLines(t *testing.T) {
	const both = `")" without "(": either the comment that line %d leaves open ends here`
	for _, c := range []struct {
		text string
		line int // that is refused, for the comment in line 2; 0 for none
	}{
		{"(SEARCH (CUT) \r\n S1000 (all))\r\n", 3},
		{"(SEARCH\nS1000)\n", 3},
		{"(SEARCH\nS1000\n)\n", 4},
		{"(SEARCH\nS1000 (all)\n", 0},
		{"(SEARCH (CUT)\nS1000 (all (of it))\n", 0},
		{"(SEARCH CUT)\nS1000 (all))\n", 0},
	} {
		_, err := readAll(strings.NewReader("G90\n" + c.text))
		want := fmt.Sprintf("t.nc:%d:", c.line)
		if c.line == 0 != (err == nil) || err != nil && (!strings.HasPrefix(err.Error(), want) || !strings.Contains(err.Error(), fmt.Sprintf(both, 2))) {
			t.Errorf("%q: %v", c.text, err)
		}
	}
	for _, open := range []string{"( BURN", "(a (b)"} {
		_, err := readAll(strings.NewReader("S1000 (all))\n" + open + "\n"))
		if err == nil || err.Error() != `t.nc:2:1: comment is never closed, and line 1 has a ")" too many` {
			t.Errorf("%q behind one too many: %v", open, err)
		}
	}
	_, err := readAll(strings.NewReader("(a long\ncomment\n"))
	if hint := diag.Hint(err); !strings.Contains(hint, "line 1 leaves a comment open") {
		t.Errorf("%v, hint %q", err, hint)
	}
}
