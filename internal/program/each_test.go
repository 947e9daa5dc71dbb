package program

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"
)

// gather reads a program through Each: the lines in order, each with its number,
// and the error it ended with.
func gather(r io.Reader) (lines []string, err error) {
	err = NewReader(r, "f").Each('S', func(run []PlainLine, text []byte, like *Block) error {
		start := int32(0)
		for k := range run {
			lines = append(lines, fmt.Sprintf("%d %s", like.Line+k, text[start:run[k].End]))
			start = run[k].End
		}
		return nil
	}, func(b *Block) error {
		lines = append(lines, fmt.Sprintf("%d %s", b.Line, b.Raw))
		return nil
	})
	return lines, err
}

// No line must be lost or come twice, however reads fall.
func TestEachGivesEveryLine(t *testing.T) {
	var text strings.Builder
	var want []string
	for k := 1; k <= 9000; k++ {
		line := fmt.Sprintf("X%d.%d S%d\n", k%300, k%10, k%1000)
		if k%7 == 3 || k > 4000 && k < 5000 {
			line = fmt.Sprintf("G0 X%d (line %d)\n", k, k)
		}
		text.WriteString(line)
		want = append(want, fmt.Sprintf("%d %s", k, line))
	}
	for _, r := range []io.Reader{strings.NewReader(text.String()), iotest.HalfReader(strings.NewReader(text.String()))} {
		got, err := gather(r)
		if !errors.Is(err, io.EOF) || strings.Join(got, "") != strings.Join(want, "") {
			t.Fatalf("%d lines of %d, %v", len(got), len(want), err)
		}
	}
}

func TestEachPassesErrorsOn(t *testing.T) {
	broken := errors.New("broken")
	for name, c := range map[string]struct {
		r    io.Reader
		want string
	}{
		"source": {io.MultiReader(strings.NewReader("X1\nG0 X2\n"), iotest.ErrReader(broken)), "broken"},
		"text":   {strings.NewReader("X1\nG0 X2\nX)\nX3\n"), "f:3:2"},
	} {
		lines, err := gather(c.r)
		if len(lines) != 2 || err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: %d lines, %v", name, len(lines), err)
		}
	}
}

// What run and block return ends the reading at once.
func TestEachStops(t *testing.T) {
	enough := errors.New("enough")
	for _, text := range []string{"X1 S2\n", "G0 X1 (on)\n"} {
		r := &counter{r: bytes.NewReader(bytes.Repeat([]byte(text), 1<<20))}
		calls := 0
		err := NewReader(r, "f").Each('S', func([]PlainLine, []byte, *Block) error { calls++; return enough },
			func(*Block) error { calls++; return enough })
		if !errors.Is(err, enough) || calls != 1 || r.n == 1<<20*len(text) {
			t.Errorf("%q: %d calls, %d bytes read, %v", text, calls, r.n, err)
		}
	}
}

// counter counts what is read.
type counter struct {
	r io.Reader
	n int
}

func (c *counter) Read(b []byte) (int, error) {
	n, err := c.r.Read(b)
	c.n += n
	return n, err
}
