package program

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"sagitta/internal/diag"
)

// readAll returns copies of all blocks up to the first error, and the error
// unless it is io.EOF.
func readAll(r io.Reader) ([]*Block, error) { return allOf(NewReader(r, "t.nc")) }

func allOf(rd *Reader) ([]*Block, error) {
	var all []*Block
	for {
		b, err := rd.Next()
		if err == io.EOF {
			return all, nil
		}
		if err != nil {
			return all, err
		}
		held := new(Block)
		b.CopyTo(held)
		all = append(all, held)
	}
}

// one reads a program of one line.
func one(t testing.TB, text string) *Block {
	t.Helper()
	all, err := readAll(strings.NewReader(text))
	if err != nil || len(all) != 1 {
		t.Fatalf("%q: %d blocks, %v", text, len(all), err)
	}
	return all[0]
}

// spell writes words in one canonical way.
func spell(b *Block) string {
	var s []string
	if b.Optional {
		s = append(s, "/")
	}
	for _, w := range b.Words {
		s = append(s, string(w.Letter)+w.Num.String())
	}
	return strings.Join(s, " ")
}

// lines is the table of lines that can be read: it feeds the reader's, the
// writer's and the fuzz tests.
var lines = []struct {
	text    string
	words   string
	comment int
}{
	{"", "", -1},
	{"   \t ", "", -1},
	{"G1 X10 Y-2.50", "G1 X10 Y-2.50", -1},
	{"g1x10y-2.50f1200", "G1 X10 Y-2.50 F1200", -1},
	// RS274 3.3.1 (NISTIR 6556): both lines mean the same.
	{"g0x +0. 12 34y 7", "G0 X0.1234 Y7", -1},
	{"g0 x+0.1234 y7", "G0 X0.1234 Y7", -1},
	{"N10 G1 X1", "N10 G1 X1", -1},
	{"N00010G01X.5Y-.5Z5.", "N10 G1 X0.5 Y-0.5 Z5", -1},
	{"M5 M9", "M5 M9", -1},
	{"G21 G90 G94 G17", "G21 G90 G94 G17", -1},
	{"%", "", -1},
	{" % (tape)", "", 3},
	{"/N5 G1 X1", "/ N5 G1 X1", -1},
	{"$32=1", "", -1},
	{" $G (never closed", "", -1},
	{"O1234", "", -1},
	{"o0012 (part)", "", 6},
	{":77;x", "", 3},
	// Common practice, no source.
	{"N3 T0*57", "N3 T0", -1},
	{"N3 T0*57 ;c", "N3 T0", 9},
	{"N3 T0 *25", "N3 T0", -1},
	{"(a*b)*40", "", 0},
	{"M117 3*5 = [15] X1 X2 # (é", "M117", -1},
	{"N5 m118X1", "N5 M118", -1},
	{"M117", "M117", -1},
	{"M0117 X1", "M117 X1", -1},
	{"N1 M110 N9", "N1 M110 N9", -1},
	{"; G1 X10", "", 0},
	{"(G1 X10)", "", 0},
	{"G1 (X5) X6 ; X7", "G1 X6", 3},
	{"G1 X6 ; text (not closed", "G1 X6", 6},
	{"G1 (a ; b) X6", "G1 X6", 3},
	{"G1 X6 (a (b)", "G1 X6", 6},
	{"G1X6(\xe9\xe8 \xff)", "G1 X6", 4},
	{"x 1 2 . 5 0 y\t-\t3", "X12.50 Y-3", -1},
	{"X-0 Y+0.0", "X0 Y0.0", -1},
	{"X999999999999999999", "X999999999999999999", -1},
	{"X-0.999999999999999999", "X-0.999999999999999999", -1},
	{"X000000000000000000000012.5", "X12.5", -1},
	{"X1.00000000000000000000000", "X1", -1},
	{"S0x10", "S0 X10", -1},
}

func TestReadsLines(t *testing.T) {
	for _, c := range lines {
		for _, eol := range []string{"", "\n", "\r\n"} {
			for _, mark := range []string{"", byteOrderMark} {
				if c.text+eol == "" {
					continue
				}
				b := one(t, mark+c.text+eol)
				want := c.comment
				if want >= 0 {
					want += len(mark)
				}
				if got := spell(b); got != c.words || b.Comment != want {
					t.Errorf("%q: words %q, want %q; comment at %d, want %d",
						mark+c.text+eol, got, c.words, b.Comment, want)
				}
				if string(b.Raw) != mark+c.text+eol || string(b.Body()) != mark+c.text ||
					string(b.EOL()) != eol {
					t.Errorf("%q: raw %q, body %q, eol %q", mark+c.text+eol, b.Raw, b.Body(), b.EOL())
				}
			}
		}
	}
}

func TestWordsKnowTheirPlace(t *testing.T) {
	b := one(t, byteOrderMark+" g 1 (x9) X - 1 2.5 F100")
	var got []string
	for _, w := range b.Words {
		got = append(got, string(b.Raw[w.Start:w.End]))
	}
	if want := []string{"g 1", "X - 1 2.5", "F100"}; fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%q, want %q", got, want)
	}
	w, ok := b.Find('X')
	if !ok {
		t.Fatal("no X")
	}
	if p := b.Place(w.Start); p.String() != "t.nc:1:11" || p.Source[p.Col-1] != 'X' {
		t.Errorf("place %v in %q", p, p.Source)
	}
	if _, ok := b.Find('Y'); ok {
		t.Error("found a Y")
	}
}

const (
	openActs   = "comment is never closed: either all behind it is comment, or its words act"
	nestedActs = `a comment within a comment: either it ended at the first ")", and what stands here acts, or it goes on, and it does not`
)

// refused is the table of lines that cannot be read.
var refused = []struct {
	text        string
	col         int
	what        string
	unsupported bool
}{
	{"", 1, "the program is empty", false},
	{"G1 X", 4, "X has no number", false},
	{"G1 XY5", 4, "X has no number", false},
	{"G1 X(c)5", 4, "X has no number", false},
	{"X-", 1, "X has no number", false},
	{"X.", 1, "X has no number", false},
	{"G1 5", 0, "", false}, // blanks mean nothing: G15
	{"5 G1", 1, "a number without a letter", false},
	{"X1(c)2", 6, "a number without a letter", false},
	{"Xnan", 1, "X has no number", false},
	{"G1 X+Inf", 4, "X has no number", false},
	{"X0x10", 3, "X stands twice on the line, as 0 and as 10", false},
	{"F0x1F Y", 5, "F has no number", false},
	{"G1 X1e3", 6, "a number with an exponent", false},
	{"G1 X1.E-3", 7, "a number with an exponent", false},
	{"G1 X1 E3", 7, "E words are not supported", true},
	{"X1_000", 3, "character '_' has no meaning here", false},
	{"X1,5", 3, "character ',' has no meaning here", false},
	{"X1-2", 3, "'-' inside a number", false},
	{"X--2", 3, "'-' inside a number", false},
	{"X.-2", 3, "'-' inside a number", false},
	{"X1.2.3", 5, "a number with two points", false},
	{"G1 X1 (pass 2", 7, openActs, false},
	{"(open G1 X60", 1, openActs, false},
	{"N5 (open*98", 4, openActs, false},
	{"(X", 0, "", false},
	{"(a (b) c)", 8, nestedActs, false},
	{"G1 (a (b) X6", 11, nestedActs, false},
	{"(a (b) ; G1 X6)", 8, nestedActs, false},
	{"(a) X5 )", 8, `")" without "("`, false},
	{"G1 X1 ) Y2", 7, `")" without "("`, false},
	{"X1 /Y2", 4, `"/" is not at the beginning of the line`, false},
	{"(note) /X1", 8, `"/" is not at the beginning of the line`, false},
	{"(note) %", 8, `"%" is not alone on its line`, false},
	{"//X1", 2, `"/" is not at the beginning of the line`, false},
	{"X1 %", 4, `"%" is not alone on its line`, false},
	{"% X1", 3, `a "%" line takes no words`, false},
	{"X1\x00", 3, "not a text program: control character 0x00", false},
	{"é (\x07)", 5, "not a text program: control character 0x07", false},
	{"(\x7f)", 2, "not a text program: control character 0x7f", false},
	{"\xffX1", 1, "not a text program: byte 0xff outside a comment", false},
	{"X1 é", 4, "character 'é' has no meaning here", false},
	{"G1 X1\rG1 X2", 6, "a carriage return within the line", false},
	{"X1234567890123456789", 1, "the number of X has more than 18 digits", false},
	{"X0.1234567890123456789", 1, "the number of X has more than 18 digits", false},
	{"G1 X1 Y2 x3", 10, "X stands twice on the line, as 1 and as 3", false},
	{"S1000 S0", 7, "S stands twice on the line, as 1000 and as 0", false},
	{"G1 X1 G1 X1.0", 10, "a move that stands twice on the line: either it is made once or twice", false},
	{"N1 N2", 4, "N stands twice on the line, as 1 and as 2", false},
	{"N123456", 1, "a line number has at most 5 digits", false},
	{"N000009", 1, "a line number has at most 5 digits", false},
	{"N-1", 1, "a line number is a whole number without a sign", false},
	{"N1.5", 1, "a line number is a whole number without a sign", false},
	{"X#5", 2, "parameters (#) are not supported", true},
	{"#5=3", 1, "parameters (#) are not supported", true},
	{"X[1+2]", 2, "expressions in brackets are not supported", true},
	{"X[1+2", 2, "bracket is never closed", false},
	{"X1]", 3, `"]" without "["`, false},
	{"o100 sub", 1, "O words (subprograms) are not supported", true},
	{"o100 X1", 1, "O words (subprograms) are not supported", true},
	{"N1 O100", 4, "O words (subprograms) are not supported", true},
	{"O", 1, "O words (subprograms) are not supported", true},
	{": 5", 1, "character ':' has no meaning here", false},
	{":5 X1", 1, "character ':' has no meaning here", false},
	{"O5 (c) X1", 8, "a program number line takes no words", false},
	{"N1 G1 X1*57", 9, "the checksum is 57, the line has 96", false},
	{"N3  T0*57", 7, "the checksum is 57, the line has 25", false},
	{"X1*", 3, `"*" without a checksum of 0 to 255`, false},
	{"X1*256", 3, `"*" without a checksum of 0 to 255`, false},
	{"X1*-1", 3, `"*" without a checksum of 0 to 255`, false},
	{"N3 T0*57 X1", 10, "only a comment may stand after a checksum", false},
	{"N3 T0*57*57", 9, "only a comment may stand after a checksum", false},
	{"*0", 1, "character '*' has no meaning here", false},
	{"X*0", 1, "X has no number", false},
	{"M117 a\x07", 7, "not a text program: control character 0x07", false},
	{"$a\rG1 X1", 3, "a carriage return within the line", false},
	{"M3 M117 ready", 9, "R has no number", false},
	{"M1171 ready", 7, "R has no number", false},
	{"N1 N2 M11", 4, "N stands twice on the line, as 1 and as 2", false},
	{"M110 N1 N2 N3 X1 X2", 18, "X stands twice on the line, as 1 and as 2", false},
	{"X1 $", 4, "character '$' has no meaning here", false},
}

func TestRefusesLines(t *testing.T) {
	for _, c := range refused {
		for _, before := range []string{"", byteOrderMark, "G21\r\n( two )\n"} {
			if c.text == "" && before != "" {
				continue
			}
			line := 1 + strings.Count(before, "\n")
			_, err := readAll(strings.NewReader(before + c.text + "\n"))
			if c.text == "" {
				_, err = readAll(strings.NewReader(""))
			}
			if c.col == 0 {
				if err != nil {
					t.Errorf("%q: %v", c.text, err)
				}
				continue
			}
			want := fmt.Sprintf("t.nc:%d:%d: %s", line, c.col, c.what)
			if err == nil || err.Error() != want {
				t.Errorf("%q: %v, want %s", c.text, err, want)
				continue
			}
			if diag.As(err) == nil || diag.Is(err, diag.Unsupported) != c.unsupported {
				t.Errorf("%q: %T", c.text, err)
			}
			if c.text != "" && !strings.HasSuffix(diag.As(err).Caret(), "^") {
				t.Errorf("%q: no caret in %q", c.text, diag.As(err).Caret())
			}
		}
	}
}

func TestErrorStays(t *testing.T) {
	r := NewReader(strings.NewReader("G1 X\nG1 X1\n"), "t.nc")
	_, first := r.Next()
	_, second := r.Next()
	if first == nil || first != second {
		t.Errorf("%v, then %v", first, second)
	}
	r = NewReader(strings.NewReader("M2\n"), "t.nc")
	for range 2 {
		_, _ = r.Next()
	}
	if _, err := r.Next(); err != io.EOF {
		t.Errorf("after the end: %v", err)
	}
}

func TestSourceErrorComesAfterWholeLines(t *testing.T) {
	broken := errors.New("broken")
	src := io.MultiReader(strings.NewReader("G1 X1\nG1 X"), iotest.ErrReader(broken))
	all, err := readAll(src)
	if len(all) != 1 || !errors.Is(err, broken) {
		t.Errorf("%d blocks, %v", len(all), err)
	}
	if _, err := readAll(stuck{}); !errors.Is(err, io.ErrNoProgress) {
		t.Errorf("a source without progress: %v", err)
	}
}

type stuck struct{}

func (stuck) Read([]byte) (int, error) { return 0, nil }

func TestLongLines(t *testing.T) {
	line := "G1 X1 (" + strings.Repeat("x", MaxLine-9) + ")\n"
	if len(line) != MaxLine {
		t.Fatal(len(line))
	}
	text := line + "G1 X2\n" + line + line
	all, err := readAll(strings.NewReader(text))
	if err != nil || len(all) != 4 || string(all[3].Raw) != line {
		t.Fatalf("%d blocks, %v", len(all), err)
	}
	for _, long := range []string{
		line[:8] + "x" + line[8:],
		line[:MaxLine-2] + ")  ", // no line end at all
		strings.Repeat("X1", 1<<19) + "\n",
	} {
		_, err = readAll(strings.NewReader("M3\n" + long))
		want := fmt.Sprintf("t.nc:2:%d: line is longer than %d bytes", MaxLine+1, MaxLine)
		if err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
	_, err = readAll(strings.NewReader(strings.Repeat("\x01", 1<<20)))
	if err == nil || err.Error() != "t.nc:1:1: not a text program: control character 0x01" {
		t.Errorf("a binary megabyte: %v", err)
	}
	// A long plain line has more words than the scanner's array.
	var many strings.Builder
	for k := range 1000 {
		fmt.Fprintf(&many, "M%d ", k)
	}
	for _, b := range []*Block{one(t, many.String()), one(t, many.String()+"\n")} {
		if len(b.Words) != 1000 {
			t.Errorf("%d words", len(b.Words))
		}
	}
}
