package program

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// num reads a number for a test.
func num(s string) Number {
	n := decimal(s)
	if n == overlong {
		panic(s)
	}
	return n
}

func set(letter byte, s string) Change { return Change{Letter: letter, Num: num(s)} }

// last reads a program and returns its last block.
func last(t testing.TB, text string) *Block {
	t.Helper()
	all, err := readAll(strings.NewReader(text))
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return all[len(all)-1]
}

func TestAppendChanged(t *testing.T) {
	for _, c := range []struct {
		line    string
		changes []Change
		want    string
	}{
		{"G1 X10 Y5 (c)\r\n", []Change{set('Z', "1.250")}, "G1 X10 Y5 Z1.25 (c)\r\n"},
		{"G1 X10 Y5", []Change{set('Z', "-0.500")}, "G1 X10 Y5 Z-0.5"},
		{"G1 X10 Y5", []Change{set('Z', "2.000")}, "G1 X10 Y5 Z2"},
		{"G1 X10.000 Y5.500", []Change{set('Z', "1.25")}, "G1 X10.000 Y5.500 Z1.250"},
		{"G1 X10.0 Y5.5", []Change{set('Z', "1.2345")}, "G1 X10.0 Y5.5 Z1.2345"},
		{"g1x10y5f100\n", []Change{set('Z', "1.25")}, "g1x10y5z1.25f100\n"},
		{"g1x10y5s3 ;c\n", []Change{set('F', "1200"), set('Z', "1")}, "g1x10y5z1f1200s3 ;c\n"},
		{"G1 X1. Y2.\n", []Change{set('Z', "3")}, "G1 X1. Y2. Z3.\n"},
		{"G1 X.5 Y2\n", []Change{set('Z', "-.25")}, "G1 X.5 Y2 Z-.25\n"},
		{"G2 I1 J2 F3\n", []Change{set('Z', "4")}, "G2 Z4 I1 J2 F3\n"},
		{"G2 X1 F3\n", []Change{set('I', "1"), set('J', "2")}, "G2 X1 I1 J2 F3\n"},
		{"N10 X1\n", []Change{set('G', "1"), set('M', "5")}, "N10 G1 X1 M5\n"},
		{"X1 (a)\n", []Change{set('M', "5"), set('G', "1"), set('F', "9")}, "G1 X1 F9 M5 (a)\n"},
		{"M3 S100\n", []Change{set('Z', "1")}, "M3 Z1 S100\n"},
		{"X1 M5\n", []Change{set('F', "9")}, "X1 F9 M5\n"},
		{"M5 ; off\n", []Change{set('Z', "1")}, "Z1 M5 ; off\n"},
		{"G01 X1\n", []Change{set('G', "3")}, "G03 G01 X1\n"},
		{"G01 X1\n", []Change{SetWord(0, Int(0))}, "G00 X1\n"},
		{"G1 X1 Y2\n", []Change{set('X', "+7.5")}, "G1 X7.5 Y2\n"},
		{"G1 X+1 Y2\n", []Change{set('X', "7.5")}, "G1 X+7.5 Y2\n"},
		{"G1 X+1 Y2\n", []Change{set('X', "-7")}, "G1 X-7 Y2\n"},
		{"G1 Z 1.0  Y2\n", []Change{set('Z', "2")}, "G1 Z 2.0  Y2\n"},
		{"G1 Z1 .0 5 Y2\n", []Change{set('Z', "2")}, "G1 Z2 Y2\n"},
		{"G1 X1.000 F100 \n", []Change{set('F', "90.5")}, "G1 X1.000 F90.5 \n"},
		{"M3 M8 X1 M5\n", []Change{DropWord(1)}, "M3 X1 M5\n"},
		{"M3 M8 X1 M5\n", []Change{DropWord(3)}, "M3 M8 X1\n"},
		{"M5 M5 X1\n", []Change{DropWord(0)}, "X1\n"},
		{"  X1 Y2 ; c\n", []Change{DropWord(0)}, "  Y2 ; c\n"},
		{"X1 Y2 F3\n", []Change{DropWord(0), DropWord(1), set('Z', "4")}, "Z4 F3\n"},
		{"X1 ; c\n", []Change{DropWord(0)}, "; c\n"},
		{"G1 (a) X1 (b)\n", []Change{DropWord(1)}, "G1 (a) (b)\n"},
		{"G1 X1\n", []Change{set('Z', "1"), set('Z', "2")}, "G1 X1 Z1\n"},
		{"G1 X1\n", []Change{set('X', "5"), set('X', "6")}, "G1 X5\n"},
		{"; only\n", []Change{set('Z', "1")}, "Z1 ; only\n"},
		{" /\n", []Change{set('Z', "1")}, " /Z1\n"},
		{"g1x1y1\nx2\n", []Change{set('Z', "1")}, "x2z1\n"},
		{"g1 x1 y1\nx2\n", []Change{set('Z', "1")}, "x2 z1\n"},
		{"(c)g1x1y1\nx2\n", []Change{set('Z', "1")}, "x2z1\n"},
		{"g1x1y1\nx2 y2\n", []Change{set('Z', "1")}, "x2 y2 z1\n"},
		{"G1 x1 S5\n", []Change{set('Z', "1")}, "G1 x1 z1 S5\n"},
		{"g1 X1 s5\n", []Change{set('Z', "1")}, "g1 X1 Z1 s5\n"},
		{"N1 i1 j1\n", []Change{set('Z', "1"), set('G', "2")}, "N1 g2 z1 i1 j1\n"},
		{"I1 J2\n", []Change{set('Z', "1")}, "Z1 I1 J2\n"},
		{"X0.500 Y1\n", []Change{set('X', "1.25")}, "X1.250 Y1\n"},
		{"X-00.5 Y1\n", []Change{set('X', "1.25")}, "X01.25 Y1\n"},
		{"X.5 Y1\n", []Change{set('X', "0")}, "X0 Y1\n"},
		{"X.50 Y1\n", []Change{set('X', "1")}, "X1.00 Y1\n"},
		{"X.50 Y1\n", []Change{set('X', "-.25"), set('Z', "0")}, "X-.25 Y1 Z.00\n"},
		{"g1x1y1\n\n", []Change{set('X', "2"), set('Z', "1")}, "x2z1\n"},
	} {
		b := last(t, c.line)
		if got := string(AppendChanged([]byte("before"), b, c.changes)); got != "before"+c.want {
			t.Errorf("%q with %v: %q, want %q", c.line, c.changes, got, c.want)
		}
	}
}

func TestAppendBlock(t *testing.T) {
	words := []Change{set('G', "1"), set('X', "1.50"), set('Z', "-2"), set('F', "300.0")}
	for _, c := range []struct{ like, want string }{
		{"X1 Y2\n", "G1 X1.5 Z-2 F300\n"},
		{"N5 g01x1y2 (c)\r\n", "g01x1.5z-2f300\r\n"},
		{"X1.000 F5.0", "G1 X1.500 Z-2.000 F300.0\n"},
		{"m3\r\nm5", "g1 x1.5 z-2 f300\r\n"},
		{"; c\n", "G1 X1.5 Z-2 F300\n"},
		{"x1y2\n\n", "g1x1.5z-2f300\n"},
	} {
		if got := string(AppendBlock(nil, last(t, c.like), words)); got != c.want {
			t.Errorf("like %q: %q, want %q", c.like, got, c.want)
		}
	}
	if got := string(AppendBlock(nil, &Block{}, words)); got != "G1 X1.5 Z-2 F300\n" {
		t.Errorf("like nothing: %q", got)
	}
}

func TestAppendComment(t *testing.T) {
	for _, c := range []struct{ like, want string }{
		{"X1\n", "(a[b] c)\n"},
		{"(x) ; y\r\nX1\r\n", "(a[b] c)\r\n"},
		{"X1 ; y\nX1\n", "; a(b) c\n"},
		{"X1 ; y\r\nX1", "; a(b) c\r\n"},
	} {
		got := string(AppendComment(nil, last(t, c.like), "a(b)\nc"))
		if got != c.want {
			t.Errorf("like %q: %q, want %q", c.like, got, c.want)
		}
		if b := one(t, got); len(b.Words) != 0 || b.Comment != 0 {
			t.Errorf("%q is no comment", got)
		}
	}
}

// after returns the words that the changed block must have, as text, sorted:
// their order on a line means nothing.
func after(b *Block, changes []Change) []string {
	text := func(letter byte, n Number) string { return string(letter) + n.Trim().String() }
	var words []string
	done := map[string]bool{}
	for i := range b.Words {
		w := &b.Words[i]
		n, keep := w.Num, true
		for k := range changes {
			if changes[k].hits(b, i) {
				n, keep = changes[k].Num, !changes[k].Drop
				break
			}
		}
		if keep {
			words = append(words, text(w.Letter, n))
		}
	}
	for k := range changes {
		c := &changes[k]
		key := string(c.Letter)
		if c.Letter == 'G' || c.Letter == 'M' {
			key = text(c.Letter, c.Num)
		}
		if c.inserts(b) && !done[key] {
			done[key] = true
			words = append(words, text(c.Letter, c.Num))
		}
	}
	slices.Sort(words)
	return words
}

func genChanges(t *rapid.T, b *Block) []Change {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Change {
		c := Change{Num: genNumber(t), Letter: rapid.SampledFrom([]byte("XYZIJKRFSGM")).Draw(t, "letter")}
		if n := len(b.Words); n > 0 && rapid.IntRange(0, 3).Draw(t, "byindex") == 0 {
			i := rapid.IntRange(0, n-1).Draw(t, "index")
			if b.Words[i].Letter != 'N' {
				c.Word, c.Letter = i+1, b.Words[i].Letter
				c.Drop = rapid.Bool().Draw(t, "drop")
			}
		}
		return c
	}), 0, 5).Draw(t, "changes")
}

func TestChangedBlockHasTheWordsAsked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := genLine(t) + rapid.SampledFrom([]string{"", "\n", "\r\n"}).Draw(t, "eol")
		if text == "" {
			return
		}
		rd := NewReader(strings.NewReader(text), "t.nc")
		b, err := rd.Next()
		if err != nil {
			t.Fatal(err)
		}
		changes := genChanges(t, b)
		want := after(b, changes)
		out := AppendChanged(nil, b, changes)
		if !b.Optional && len(out) == 0 && len(want) == 0 {
			return
		}
		got, err := NewReader(strings.NewReader(string(out)), "t.nc").Next()
		if err != nil {
			t.Fatalf("%q became %q: %v", text, out, err)
		}
		var words []string
		for _, w := range got.Words {
			words = append(words, string(w.Letter)+w.Num.Trim().String())
		}
		slices.Sort(words)
		if !slices.Equal(words, want) || got.Optional != b.Optional || string(got.EOL()) != string(b.EOL()) {
			t.Errorf("%q with %v became %q", text, changes, out)
		}
		// Words without a change keep their bytes, comments theirs.
		for i, w := range b.Words {
			if !slices.ContainsFunc(changes, func(c Change) bool { return c.hits(b, i) }) &&
				!strings.Contains(string(out), string(b.Raw[w.Start:w.End])) {
				t.Errorf("%q with %v became %q, which lacks %q", text, changes, out, b.Raw[w.Start:w.End])
			}
		}
		for _, c := range []string{"(c)", " (g1 x9) ", "; end (", "(end)"} {
			c = strings.TrimSpace(c)
			if strings.Count(string(out), c) != strings.Count(text, c) {
				t.Errorf("%q became %q: comment %q", text, out, c)
			}
		}
	})
}

func TestNewBlockHasTheWordsAsked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		like, err := NewReader(strings.NewReader(genLine(t)+"\r\n"), "t.nc").Next()
		if err != nil {
			t.Fatal(err)
		}
		letters := rapid.Permutation([]byte("GXYZIJFSM")).Draw(t, "letters")
		letters = letters[:rapid.IntRange(1, len(letters)).Draw(t, "n")]
		var words []Change
		var want []string
		for _, l := range letters {
			n := genNumber(t)
			words = append(words, Change{Letter: l, Num: n})
			want = append(want, string(l)+n.Trim().String())
		}
		out := AppendBlock(nil, like, words)
		r := NewReader(strings.NewReader(string(out)), "t.nc")
		b, err := r.Next()
		if err != nil {
			t.Fatalf("%q: %v", out, err)
		}
		var got []string
		for _, w := range b.Words {
			got = append(got, string(w.Letter)+w.Num.Trim().String())
		}
		if fmt.Sprint(got) != fmt.Sprint(want) || b.Comment >= 0 || string(b.EOL()) != "\r\n" {
			t.Errorf("like %q: %q, want %v", like.Raw, out, want)
		}
		if _, err := r.Next(); err != io.EOF {
			t.Errorf("%q is more than a line", out)
		}
	})
}

func TestWritingDoesNotAllocate(t *testing.T) {
	b := one(t, "G1 X10.000 Y5.500 F100 (c)\n")
	changes := []Change{set('Z', "1.25"), set('F', "90")}
	dst := make([]byte, 0, 256)
	if n := testing.AllocsPerRun(100, func() {
		dst = AppendChanged(dst[:0], b, changes)
		dst = AppendBlock(dst, b, changes)
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkAppendChanged(b *testing.B) {
	block := one(b, "X123.456 Y78.9 S500\n")
	changes := []Change{set('Z', "1.25")}
	var dst []byte
	b.ReportAllocs()
	for b.Loop() {
		dst = AppendChanged(dst[:0], block, changes)
	}
}
