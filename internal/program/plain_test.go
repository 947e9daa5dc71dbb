package program

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
)

// samePlain holds every plain line of text to what Next makes of it, and the
// way a further Z is put in to AppendChanged. It returns the number of plain
// lines.
func samePlain(t *testing.T, text []byte, power byte, most int) int {
	t.Helper()
	fast := NewReader(&dribble{text, 7}, "f")
	slow := NewReader(bytes.NewReader(text), "f")
	lines := make([]PlainLine, most)
	plain := 0
	for {
		n, run, _ := fast.Plain(lines, power)
		at := 0
		for i := range lines[:n] {
			l := &lines[i]
			b, err := slow.Next()
			if err != nil {
				t.Fatalf("plain line %q: Next: %v", run[at:l.End], err)
			}
			if !bytes.Equal(b.Raw, run[at:l.End]) {
				t.Fatalf("plain line %q is %q", run[at:l.End], b.Raw)
			}
			holdPlain(t, l, b, power)
			at = int(l.End)
			plain++
		}
		if at != len(run) {
			t.Fatalf("%d bytes of lines, %d of text", at, len(run))
		}
		if n > 0 {
			continue
		}
		b, err := fast.Next()
		if err != nil {
			if _, want := slow.Next(); fmt.Sprint(err) != fmt.Sprint(want) {
				t.Fatalf("error %v, want %v", err, want)
			}
			return plain
		}
		want, err := slow.Next()
		if err != nil || b.Line != want.Line || !bytes.Equal(b.Raw, want.Raw) || b.habit != want.habit {
			t.Fatalf("line %d %q %+v, want %d %q %+v (%v)", b.Line, b.Raw, b.habit, want.Line, want.Raw, want.habit, err)
		}
	}
}

// holdPlain holds one plain line to its block.
func holdPlain(t *testing.T, l *PlainLine, b *Block, power byte) {
	t.Helper()
	words := 0
	for _, w := range []struct {
		letter byte
		word   PlainWord
	}{{'X', PlainX}, {'Y', PlainY}, {power, PlainPower}, {'I', PlainI}, {'J', PlainJ}, {'F', PlainF}} {
		wd, ok := b.Find(w.letter)
		if ok != l.Has(w.word) {
			t.Fatalf("%q: %c: %v, want %v", b.Raw, w.letter, !ok, ok)
		}
		if ok {
			words++
			if wd.Num != l.Num(w.word) {
				t.Fatalf("%q: %c is %v, want %v", b.Raw, w.letter, l.Num(w.word), wd.Num)
			}
		}
	}
	if l.Has(PlainG) {
		n := l.Motion()
		words++
		if wd, ok := b.Find('G'); !ok || wd.Num != Int(int64(n)) {
			t.Fatalf("%q: not G%d", b.Raw, n)
		}
	}
	if words != len(b.Words) || b.Comment >= 0 || b.Optional || !l.Has(PlainX) && !l.Has(PlainY) {
		t.Fatalf("%q is no plain line", b.Raw)
	}
	for _, num := range []Number{{-12500, 4}, {0, 0}, {1234567, 5}, {-250, 3}, {5, 1}, {99999, 3}, {-12300, 3}, {7000, 3}, {-7, 3}} {
		want := AppendChanged(nil, b, []Change{{Letter: 'Z', Num: num}})
		got := append(AppendAxis(bytes.Clone(b.Raw[:l.Axis]), l.Style, 'Z', num), b.Raw[l.Axis:]...)
		if !bytes.Equal(got, want) {
			t.Fatalf("%q with Z%v: %q, want %q", b.Raw, num, got, want)
		}
	}
}

// dribble gives a few bytes at a time.
type dribble struct {
	text []byte
	step int
}

func (d *dribble) Read(b []byte) (int, error) {
	if len(d.text) == 0 {
		return 0, io.EOF
	}
	n := copy(b[:min(len(b), d.step)], d.text)
	d.text = d.text[n:]
	return n, nil
}

var plainSeeds = []string{
	"G1 X10.1 Y-2.250 S0 F3000\nX10.2 S999\n",
	"g1x1y2s3\nx1\ny2.50\n G1 x5.0 Y7\r\nX1\r\n",
	"X1.\nX.5\nX+1\nX 1\nX1 2\nX--1\nX\nX1X2\nG0X1\nG01 Y3\nG1.0X1\nG1G1X1\n",
	"X123456.78\nX12345678\nX123456789\nX1234567.8 Y0000.000\nX-0.0\nS5\nF3000 X1\nF3000.0 X1\nF300 X1\n",
	"X1 ; c\n(c) X1\nX1 (c)\nN1 X1\n/X1\n%\nX1*30\nX1\tY2\nX1Y2 S3\n",
	"X1\x80\nX\xb01\nX1\xffY\nX1 Y\xb0\xb1\xb2\n",
	"G2 X1.5 Y2 I0.50 J-1\ng3x1j2\nI1 J2\nX1 I2 S3\nI1 J2 X3 Y4 F5\nG4 X1\nG2G3X1\nG02 Y1 J.5\n",
	"G1 X1.5 Y-2.50\nG1 X1.50 Y2\nG1 X-1 Y3\nG1 X1.5 Y2 S3\nG1 X1.5\nG1 X1.5Y2\nG1 Y2 X1\nG1 X123.4567 Y1\nG1 X1. Y2\nG1 X.5 Y2\nG1 X1 Y.5\nG1 \nG1",
	"X9.1\nX10.1Y2\nX1\nX5 Y6\nX1",
	"G2 X1.5 Y2.25 I0.50 J-1.125\nG3 X-1.50 Y20 I.5 J1\nG2 X1 Y2 I3 J4\nG3 X1 Y2 I-3 J40\nG2 X1.25 Y2.5 I3 J4 S5\nG2 X1 Y2 J4\nG4 X1 Y2 I3 J4\nG2 X1 Y2 I3 J4\r\nG2 X1.0 Y2 I3 J4 \nG2 X1.2 Y2 I3 J4\nG2 X1.2 Y2 I3 J4.",
	"G1 X1.5 Y2.25\nG1 X-1.5 Y-2.20\nG1 X10.5 Y2\nG1 X1.55 Y2.2\nG1 X1.5 Y2.2.2\nG1 X1.5 Y2.2 S1\nG1 X1.5 Y2.2\r\nG1 X1.5 Y2.2",
	"X1.5 S10\nX1.6 S9\nX-1.6 S1000\nX1.70 S1.5\nX1.8 S.5\nX1.9 S1.5.1\nX2.0 S12345678\nX2.1 S123456789\nX2.2\nY2.2\nX2.3 S-1\nX2.4 S\nX2.4 S3 ",
}

// A plain line that the general path reads otherwise would put the beam
// elsewhere than the program says.
func TestPlainIsGeneral(t *testing.T) {
	for _, s := range plainSeeds {
		samePlain(t, []byte(s), 'S', 3)
	}
	if n := samePlain(t, []byte(plainSeeds[0]), 'S', 8); n != 2 {
		t.Errorf("%d plain lines of 2", n)
	}
	if n := samePlain(t, []byte("X1 Q3\nX2 S3\n"), 'Q', 8); n != 1 {
		t.Errorf("power word Q: %d plain lines of 1", n)
	}
	for _, power := range []byte{'X', 'F', 'G', 0} {
		if n := samePlain(t, []byte("X1 Y2\n"), power, 8); n != 0 {
			t.Errorf("power word %q: %d plain lines", power, n)
		}
	}
	long := strings.Repeat("X1 ", 1) + strings.Repeat(" ", 300) + "Y2\nX3\n"
	samePlain(t, []byte(long), 'S', 8)
}

func FuzzPlain(f *testing.F) {
	for _, s := range plainSeeds {
		f.Add([]byte(s), byte('S'), byte(4))
	}
	f.Fuzz(func(t *testing.T, text []byte, power byte, most byte) {
		samePlain(t, text, power, int(most)%64+1)
	})
}

func BenchmarkPlain(b *testing.B) {
	var text bytes.Buffer
	for i := range 100000 {
		fmt.Fprintf(&text, "X%d.%d S%d\n", i/10%300, i%10, i*7919%1000)
	}
	lines := make([]PlainLine, 1024)
	b.SetBytes(int64(text.Len()))
	b.ReportAllocs()
	for b.Loop() {
		r := NewReader(bytes.NewReader(text.Bytes()), "f")
		total := 0
		for {
			n, _, _ := r.Plain(lines, 'S')
			if n == 0 {
				break
			}
			total += n
		}
		if total != 100000 {
			b.Fatal(total)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/100000, "ns/line")
}
