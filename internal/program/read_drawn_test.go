package program

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"

	"sagitta/internal/diag"
)

// program is a text of lines from the tables, now and then one that is
// refused.
func genProgram(t *rapid.T) string {
	var s strings.Builder
	eols := []string{"\n", "\r\n", "\r\r\n"}
	for range rapid.IntRange(0, 30).Draw(t, "lines") {
		k := rapid.IntRange(0, len(lines)+2).Draw(t, "line")
		if k < len(lines) {
			s.WriteString(lines[k].text)
		} else {
			s.WriteString(genLine(t))
		}
		s.WriteString(rapid.SampledFrom(eols).Draw(t, "eol"))
	}
	return s.String() + rapid.SampledFrom([]string{"", "M2", "M2\r"}).Draw(t, "last")
}

// genLine draws a line with all the freedom the language leaves.
func genLine(t *rapid.T) string {
	var s strings.Builder
	gap := func() string {
		return rapid.SampledFrom([]string{"", "", " ", "  ", "\t", "(c)", " (g1 x9) "}).Draw(t, "gap")
	}
	letters := rapid.Permutation([]byte("XYZIJKRFSPQTABCUVWDHL")).Draw(t, "letters")
	s.WriteString(rapid.SampledFrom([]string{"", "", " ", "/", "N5", "n10 ", "/ N7"}).Draw(t, "head"))
	used := 0
	for range rapid.IntRange(0, 7).Draw(t, "words") {
		letter := letters[used]
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			letter = 'G'
		case 1:
			letter = 'M'
		default:
			used++
		}
		s.WriteString(gap())
		if rapid.Bool().Draw(t, "lower") {
			letter |= 0x20
		}
		s.WriteByte(letter)
		s.WriteString(rapid.StringMatching(`[+-]?([0-9]{1,6}|0[0-9]|[0-9]{0,4}\.[0-9]{1,5}|[0-9]{1,3}\.|[0-9]{1,3} [0-9]\.0{0,3})`).
			Draw(t, "number"))
	}
	s.WriteString(gap())
	s.WriteString(rapid.SampledFrom([]string{"", "", "; end (", "(end)"}).Draw(t, "tail"))
	return s.String()
}

func TestRawIsTheInput(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := genProgram(t)
		if text == "" {
			return
		}
		var src io.Reader = strings.NewReader(text)
		switch rapid.IntRange(0, 3).Draw(t, "source") {
		case 1:
			src = iotest.OneByteReader(src)
		case 2:
			src = iotest.HalfReader(src)
		case 3:
			src = iotest.DataErrReader(src)
		}
		all, err := readAll(src)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		var back bytes.Buffer
		for i, b := range all {
			back.Write(b.Raw)
			if b.Line != i+1 {
				t.Errorf("block %d has line %d", i, b.Line)
			}
		}
		if want, _ := untilEnd(text); back.String() != want {
			t.Errorf("%q came back as %q", text, back.String())
		}
	})
}

// untilEnd is a text up to the second line that begins with "%", with the blank lines
// behind it, and the line of what comes then, 0 for nothing.
func untilEnd(text string) (string, int) {
	percents, size := 0, 0
	for n, line := range strings.SplitAfter(text, "\n") {
		bare := strings.TrimSpace(strings.TrimPrefix(line, "\ufeff"))
		if percents == 2 && bare != "" {
			return text[:size], n + 1
		}
		if size += len(line); strings.HasPrefix(bare, "%") {
			percents++
		}
	}
	return text, 0
}

// What stands behind a second "%" is not read, be it text or not, but for blank
// lines; how far the reads reach does not matter.
func TestPercentEndsTheProgram(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var text string
		for range rapid.IntRange(1, 12).Draw(t, "lines") {
			text += rapid.SampledFrom([]string{"%", " % (plate)", "G1 X1 S5", "G1 X1 S5", "X2 S0", "", " \t", "(%)", "M2", "O12"}).Draw(t, "line") + "\n"
		}
		want, line := untilEnd(text)
		if line > 0 {
			text += rapid.SampledFrom([]string{"", "\x00\x1a", "G1 X", strings.Repeat("x", MaxLine+2), "(("}).Draw(t, "junk")
		}
		r := NewReader(iotest.HalfReader(strings.NewReader(text)), "name")
		var back strings.Builder
		err := r.Each('S', func(_ []PlainLine, text []byte, _ *Block) error { _, err := back.Write(text); return err },
			func(b *Block) error { _, err := back.Write(b.Raw); return err })
		if err != io.EOF || back.String() != want || r.Behind() != line {
			t.Fatalf("%q: read %q and %v, behind line %d, want %q and %d", text, back.String(), err, r.Behind(), want, line)
		}
	})
	// What cannot be read there is said all the same.
	broken := errors.New("broken")
	r := NewReader(io.MultiReader(strings.NewReader("%\n%\nG1\n"), iotest.ErrReader(broken)), "name")
	if err := r.Each('S', nil, func(*Block) error { return nil }); err != broken {
		t.Errorf("%v", err)
	}
}

// Case and blanks mean nothing outside comments (RS274 3.3.1).
func TestCaseAndBlanksMeanNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := genLine(t)
		if text == "" || strings.Contains(strings.ToUpper(text), "M11") {
			return // what follows M117 and M118 is text
		}
		want, err := readAll(strings.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		var varied strings.Builder
		comment := byte(0)
		for _, c := range []byte(text) {
			switch {
			case comment != 0:
				if c == ')' && comment == '(' {
					comment = 0
				}
			case c == '(' || c == ';':
				comment = c
			default:
				varied.WriteString(rapid.SampledFrom([]string{"", "", " ", "\t "}).Draw(t, "blanks"))
				if isLetter(c) && rapid.Bool().Draw(t, "flip") {
					c ^= 0x20
				}
			}
			varied.WriteByte(c)
		}
		got, err := readAll(strings.NewReader(varied.String()))
		if err != nil || spell(got[0]) != spell(want[0]) {
			t.Errorf("%q is %v; %q is %v, %v", text, spell(want[0]), varied.String(), got, err)
		}
	})
}

func seeds(f *testing.F) {
	for _, c := range lines {
		f.Add([]byte(c.text + "\n"))
	}
	for _, c := range refused {
		f.Add([]byte(c.text))
	}
	f.Add([]byte(byteOrderMark + "%\r\nG1 X1\r\n\n\rM2"))
	f.Add([]byte("%\n%\n0"))
}

func FuzzReader(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text []byte) {
		r := NewReader(bytes.NewReader(text), "t.nc")
		all, err := allOf(r)
		var back []byte
		for _, b := range all {
			back = append(back, b.Raw...)
			end := 0
			for _, w := range b.Words {
				if w.Start < end || w.End <= w.Start+1 || w.End > len(b.Raw) ||
					b.Raw[w.Start]&^0x20 != w.Letter || w.Num.Dec < 0 || w.Num.Dec > MaxDigits {
					t.Fatalf("%q: word %+v", b.Raw, w)
				}
				end = w.End
				if !sameAsText(b, w) {
					t.Fatalf("%q: %v is not the number of %+v", b.Raw, w.Num, w)
				}
			}
			if got := AppendChanged(nil, b, nil); !bytes.Equal(got, b.Raw) {
				t.Fatalf("%q unchanged is %q", b.Raw, got)
			}
		}
		whole := text
		if n := r.Behind(); n > 0 { // it says that what stands there is not read
			lines := bytes.SplitAfter(text, []byte("\n"))
			whole = bytes.Join(lines[:n-1], nil)
			if bytes.Count(whole, []byte("%")) < programPercents || len(bytes.TrimSpace(lines[n-1])) == 0 {
				t.Fatalf("%q: line %d is said to stand behind the end", text, n)
			}
		}
		if !bytes.HasPrefix(text, back) || err == nil && len(back) != len(whole) {
			t.Fatalf("%q gave back %q, %v", text, back, err)
		}
		if err != nil {
			if e := diag.As(err); e == nil || e.Line < 1 || e.Col < 1 {
				t.Fatalf("%q: no place in %v", text, err)
			}
		}
	})
}

// sameAsText compares a word's number with what package strconv makes of its
// text.
func sameAsText(b *Block, w Word) bool {
	text := strings.NewReplacer(" ", "", "\t", "").Replace(string(b.Raw[w.Start+1 : w.End]))
	f, err := strconv.ParseFloat(text, 64)
	return err == nil && f == w.Num.Float()
}

func FuzzFastEqualsGeneral(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text []byte) {
		if i := bytes.IndexByte(text, '\n'); i >= 0 {
			text = text[:i]
		}
		line := append(bytes.Clone(text), '\n')
		words := make([]Word, startWords)
		n, ok := scanPlain(line, words)
		if !ok {
			return
		}
		b := &Block{Line: 2, Raw: text, Comment: -1}
		if err := parse(b); err != nil {
			t.Fatalf("plain line %q: %v", line, err)
		}
		if fmt.Sprint(b.Words) != fmt.Sprint(words[:n]) || b.Comment >= 0 || b.Optional {
			t.Fatalf("%q: scanned %v, parsed %+v", line, words[:n], b)
		}
	})
}

// The scanner must take the lines that programs consist of: a fuzz test
// cannot tell that it has stopped to claim them.
func TestScannerTakesPlainLines(t *testing.T) {
	words := make([]Word, startWords)
	for _, text := range []string{
		"\n", "\r\n", " \n", "G1 X1.5 Y-2\n", "g1x1.5y-2f1200s500\r\n", "N10 G01 X +.5\n", "M5 M9\n",
		"X123456789.123456789\n",
	} {
		if _, ok := scanPlain([]byte(text), words); !ok {
			t.Errorf("%q is not plain", text)
		}
	}
}

// plainProgram is a program of n plain lines of about 20 bytes.
func plainProgram(n int) []byte {
	var s []byte
	for i := range n {
		s = fmt.Appendf(s, "X%d.%03d Y%d.%03d S%d\n", i%300, i*7%1000, i%200, i*13%1000, i%1000)
	}
	return s
}

func TestPlainLinesDoNotAllocate(t *testing.T) {
	text := plainProgram(20000)
	r := NewReader(bytes.NewReader(text), "t.nc")
	var held Block
	step := func() {
		b, err := r.Next()
		if err != nil {
			t.Fatal(err)
		}
		b.CopyTo(&held)
	}
	step()
	if n := testing.AllocsPerRun(15000, step); n != 0 {
		t.Errorf("%v allocations per line", n)
	}
}

func BenchmarkNext(b *testing.B) {
	text := plainProgram(100000)
	src := bytes.NewReader(text)
	r := NewReader(src, "t.nc")
	b.SetBytes(int64(len(text) / 100000))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.Next(); err != nil {
			src.Reset(text)
			r = NewReader(src, "t.nc")
		}
	}
}

func BenchmarkNextComment(b *testing.B) {
	text := bytes.Repeat([]byte("G1 X10.5 Y20.25 ; corner\n"), 100000)
	src := bytes.NewReader(text)
	r := NewReader(src, "t.nc")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := r.Next(); err != nil {
			src.Reset(text)
			r = NewReader(src, "t.nc")
		}
	}
}
