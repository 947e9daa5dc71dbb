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

// gather reads a program through an Ahead: the lines in order, each with its
// number, and the error it ended with. Every part is given back.
func gather(r io.Reader) (lines []string, err error) {
	a := ReadAhead(r, "f", 'S')
	defer a.Stop()
	for p := range a.Parts() {
		err := p.Each(func(run []PlainLine, text []byte, like *Block) error {
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
		a.GiveBack(p)
		if err != nil {
			return lines, err
		}
	}
	return lines, errors.New("no part ended the program")
}

// Parts that are used again must not lose or mix lines, however reads fall.
func TestAheadGivesEveryLine(t *testing.T) {
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

func TestAheadPassesErrorsOn(t *testing.T) {
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

// A run that ends early must not leave the source being read.
func TestAheadStops(t *testing.T) {
	r := &counter{r: bytes.NewReader(bytes.Repeat([]byte("G0 X1 (on)\n"), 1<<20))}
	a := ReadAhead(r, "f", 'S')
	<-a.Parts()
	a.Stop()
	n := r.n
	if p, open := <-a.Parts(); open {
		t.Errorf("a part after the end: %+v", p)
	}
	if r.n != n || n == 1<<20*11 {
		t.Errorf("%d bytes read, then %d", n, r.n)
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
