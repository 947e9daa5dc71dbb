// Package touch reads what machines and people write down when they touch
// a surface: any text with three numbers in a line, whatever stands around them
// and in whatever order, units and decimal signs; and grids. It says how it read
// the file, and refuses where two readings are equally good. Places touched again
// are averaged, and drift is taken out. It knows neither fits nor G-code.
package touch

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"

	"sagitta/internal/diag"
	"sagitta/internal/phrase"
	"sagitta/internal/surface"
	"sagitta/internal/surface/file"
	"sagitta/internal/table"
)

// Limits of what is taken as a log.
const (
	// maxLogBytes bounds the memory that a log can ask for: some half a
	// million touches, ten times a long night's probing.
	maxLogBytes = 32 << 20
	// maxLineBytes is far beyond any line that three numbers stand in.
	maxLineBytes = 1 << 20
)

// Read reads a log from r; name stands for the file in errors. It returns an
// *diag.Error where the log cannot be used or can be read in two ways, and the
// error of r where reading failed.
func Read(r io.Reader, name string, opt Options) (*Reading, error) {
	l, err := newLog(r, name, opt)
	if err != nil {
		return nil, err
	}
	if len(bytes.TrimSpace(l.text)) == 0 {
		return nil, l.fail(1, "the log is empty", "")
	}
	if l.opt.Columns == "" && l.gridLike() {
		if done, err := l.grid(); done || err != nil {
			return l.out, err
		}
	}
	if l.opt.Columns == "" && l.opt.Decimal != "point" {
		if err := l.gridCommas(); err != nil {
			return nil, err
		}
	}
	return l.out, l.touches()
}

// log is a log under way.
type log struct {
	name string
	text []byte
	// shown is the text as the file has it, where text has been mended; else nil.
	shown []byte
	opt   Options
	out   *Reading

	header file.HeaderLines
}

// newLog reads a log to its end.
func newLog(r io.Reader, name string, opt Options) (*log, error) {
	b, err := io.ReadAll(io.LimitReader(r, maxLogBytes+1))
	if err != nil {
		return nil, err
	}
	if len(b) > maxLogBytes {
		return nil, &diag.Error{Place: diag.Place{File: name, Line: 1, Col: 1}, What: fmt.Sprintf("more than %d MiB: not a log of touches", maxLogBytes>>20)}
	}
	if k := bytes.IndexByte(b, 0); k >= 0 {
		line := 1 + bytes.Count(b[:k], []byte("\n"))
		return nil, &diag.Error{Place: diag.Place{File: name, Line: line, Col: 1}, What: "not text (a zero byte); save the log as plain text"}
	}
	sum := sha256.Sum256(b)
	b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	l := &log{name: name, text: b, opt: opt, out: &Reading{Digest: hex.EncodeToString(sum[:])}}
	for range bytes.Lines(b) {
		l.out.Lines++
	}
	return l, l.readHeader()
}

// commasOnly reports whether decimal commas are known by fields being parted
// otherwise.
func (l *log) commasOnly() bool {
	return bytes.IndexByte(l.text, '.') < 0 && bytes.ContainsAny(l.text, ";\t")
}

func (l *log) fail(line int, what, hint string) *diag.Error {
	e := &diag.Error{Place: diag.Place{File: l.name, Line: line, Col: 1}, What: what, Hint: hint}
	n := 1
	whole := l.text
	if l.shown != nil {
		whole = l.shown
	}
	for text := range bytes.Lines(whole) {
		if n == line {
			e.Source = string(bytes.TrimRight(text[:min(len(text), 200)], "\r\n"))
			break
		}
		n++
	}
	return e
}

// grid reads a file in the form of a grid, and reports whether it is one.
func (l *log) grid() (done bool, err error) {
	s, err := file.ReadAs(bytes.NewReader(l.text), l.name, file.Said{Units: l.opt.Units, Heights: l.opt.Heights})
	if err != nil || s.Source().Rows == nil {
		return false, err
	}
	r := l.out
	r.Grid, r.Points, r.Header = s, s.Points(), s.Header()
	_, r.Header.ErrorMM = s.Errors() // what is fitted is known no better than the touches
	r.Columns, r.ColumnsFrom, r.Decimal = "grid", "the first row holds the x nodes", "point"
	if l.commasOnly() {
		r.Decimal = "comma"
	}
	if err := l.units(names{}); err != nil {
		return false, err
	}
	r.ResolutionMM = resolution(r.Points, r.HeightMM())
	return true, nil
}

// settle takes what an option says, or else the file, or else what is usual.
func settle(option, file, usual string) (what, from string) {
	switch {
	case option != "":
		return option, "given"
	case file != "":
		return file, "the file says so"
	}
	return usual, "assumed"
}

// gridLike reports whether the first row is that of a grid: a field that is
// blank or text, and then numbers only, above a row that begins with a number; or,
// between blanks, one number less than the next row.
func (l *log) gridLike() bool {
	t := table.NewReader(bytes.NewReader(l.text), l.name)
	if t.Next() != nil {
		return false
	}
	first := t.Clone()
	if t.Next() != nil {
		return false
	}
	number := func(row *table.Row, k int) bool {
		_, ok := row.Parse(row.Text(k))
		return ok
	}
	n, blanks := first.Len(), first.Separator() == ' '
	for k := 1; k < n; k++ {
		if !number(&first, k) {
			return false
		}
	}
	if number(&first, 0) {
		return n > 2 && blanks && t.Len() == n+1
	}
	return n > 2 && (blanks || t.Len() == n) && number(&t.Row, 0)
}

// readHeader reads the comment lines. Logs have comments of all kinds: what is no
// value for a header line passes, but for a method, which decides the surface.
func (l *log) readHeader() (err error) {
	t := table.NewReader(bytes.NewReader(l.text), l.name)
	t.Setting = func(key string) error {
		if bad := l.header.Take(key, &t.Row); key == "method" && err == nil {
			err = bad
		}
		return nil
	}
	for !errors.Is(t.Next(), io.EOF) {
	}
	l.out.Header = l.header.Header
	return err
}

// Pair is a place on the surface, and where it is in the program, mm.
type Pair struct {
	From, To [2]float64
	Line     int
}

// ReadPairs reads pairs of points: x and y of the surface, x and y of the
// program, four numbers in a line with whatever stands around them. Lines
// without a number pass; "# units: in" is kept to. It returns a *diag.Error for
// lines that are no pair, and the error of r where reading failed.
func ReadPairs(r io.Reader, name string) ([]Pair, error) {
	l, err := newLog(r, name, Options{})
	if err != nil {
		return nil, err
	}
	scale := l.header.Said.UnitMM()
	s := tokenizer{comma: l.commasOnly()}
	var out []Pair
	for n, text := range l.lines() {
		s.line(text)
		if len(s.tokens) == 0 {
			continue
		}
		if len(s.tokens) != 4 {
			return nil, l.fail(n, fmt.Sprintf("%s, a pair has four: x and y of the surface, x and y of the program", phrase.Count(len(s.tokens), "number")), "")
		}
		var v [4]float64
		for k, t := range s.tokens {
			if v[k] = t.v * scale; !(math.Abs(v[k]) <= surface.MaxCoordMM) {
				return nil, l.fail(n, fmt.Sprintf("a number is beyond any bench (%g mm)", surface.MaxCoordMM), "")
			}
		}
		out = append(out, Pair{From: [2]float64{v[0], v[1]}, To: [2]float64{v[2], v[3]}, Line: n})
	}
	if len(out) == 0 {
		return nil, l.fail(1, "no pair of points", "a pair is a line with four numbers: x and y of the surface, x and y of the program")
	}
	return out, nil
}
