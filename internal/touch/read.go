package touch

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"math"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/surface/file"
)

// Read reads a log from r; name stands for the file in errors. It returns an
// *diag.Error where the log cannot be used or can be read in two ways, and the
// error of r where reading failed.
func Read(r io.Reader, name string, opt Options) (*Reading, error) {
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
	if len(bytes.TrimSpace(b)) == 0 {
		return nil, l.fail(1, "the log is empty", "")
	}
	if done, err := l.grid(); done || err != nil {
		return l.out, err
	}
	return l.out, l.touches()
}

// log is a log under way.
type log struct {
	name string
	text []byte
	opt  Options
	out  *Reading
	scan scanner

	names     *names
	headUnits string // of a header line
	headUp    string
	rows      int // lines with at least one number
}

func (l *log) fail(line int, what, hint string) *diag.Error {
	e := &diag.Error{Place: diag.Place{File: l.name, Line: line, Col: 1}, What: what, Hint: hint}
	n := 1
	for text := range bytes.Lines(l.text) {
		if n == line {
			e.Source = string(bytes.TrimRight(text[:min(len(text), 200)], "\r\n"))
			break
		}
		n++
	}
	return e
}

// grid reads a file in the strict grid form, with decimal commas as well.
func (l *log) grid() (done bool, err error) {
	if l.opt.Columns != "" || !l.gridLike() {
		return false, nil
	}
	text, decimal := l.text, "point"
	if l.opt.Decimal != "point" && bytes.IndexByte(text, '.') < 0 &&
		(bytes.IndexByte(text, ';') >= 0 || bytes.IndexByte(text, '\t') >= 0) {
		text, decimal = bytes.ReplaceAll(text, []byte(","), []byte(".")), "comma"
	}
	s, err := file.Read(bytes.NewReader(text), l.name)
	if err != nil {
		return true, err
	}
	rows := s.Source().Rows
	if rows == nil {
		return false, nil
	}
	r := l.out
	r.Grid, r.Columns, r.ColumnsFrom, r.Decimal = true, "grid", "the first row holds the x nodes", decimal
	r.X, r.Y, r.Missing = s.X(), s.Y(), s.Missing()
	h := s.Header()
	r.Datum, r.WrapsYMM, r.NoiseMM, r.Method = h.Datum, h.WrapsYMM, h.NoiseMM, h.Method
	r.Lines = bytes.Count(l.text, []byte("\n"))
	scale, sign := 1.0, 1.0
	l.header()
	r.Units, r.UnitsFrom = settle(l.opt.Units, l.headUnits, "mm")
	r.Heights, r.HeightsFrom = settle(l.opt.Heights, l.headUp, "up")
	// The reader has applied what the file says; an option is over it.
	if said := l.headUnits == "in"; said != (r.Units == "in") {
		scale = mmPerInch
		if said {
			scale = 1 / mmPerInch
		}
	}
	if said := l.headUp == "down"; said != (r.Heights == "down") {
		sign = -1
	}
	if scale != 1 {
		r.X, r.Y = scaled(r.X, scale), scaled(r.Y, scale)
		if r.Datum != nil {
			r.Datum = &[2]float64{r.Datum[0] * scale, r.Datum[1] * scale}
		}
	}
	for j := range r.Y {
		for i := range r.X {
			if z := s.Height(i, j); z == z {
				r.Points = append(r.Points, Point{r.X[i], r.Y[j], z * scale * sign, rows[j]})
			}
		}
	}
	unit := 1.0
	if r.Units == "in" {
		unit = mmPerInch
	}
	r.ResolutionMM = resolution(r.Points, unit)
	return true, nil
}

func scaled(v []float64, by float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		out[i] = v[i] * by
	}
	return out
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

// gridLike tells a grid by its first row: a field that is blank or text, and
// then numbers only; or, between blanks, one number less than the next row.
func (l *log) gridLike() bool {
	var first, second []byte
	for text := range bytes.Lines(l.text) {
		if t := bytes.TrimRight(text, "\r\n"); len(bytes.TrimSpace(t)) > 0 && t[0] != '#' {
			if first != nil {
				second = t
				break
			}
			first = t
		}
	}
	if first == nil || second == nil {
		return false
	}
	sep := byte(' ')
	for _, c := range []byte{';', ',', '\t'} {
		if bytes.IndexByte(first, c) >= 0 {
			sep = c
			break
		}
	}
	f, g := fields(first, sep), fields(second, sep)
	numeric := func(b []byte) bool {
		_, ok := plainNumber(b)
		return ok
	}
	if len(f) < 2 || sep != ' ' && len(g) != len(f) {
		return false
	}
	for _, v := range f[1:] {
		if !numeric(v) {
			return false
		}
	}
	if !numeric(f[0]) {
		return len(f) > 2
	}
	return sep == ' ' && len(g) == len(f)+1 && len(g) > 3
}

func plainNumber(b []byte) (float64, bool) {
	s := scanner{comma: true, sep: ';'}
	t := bytes.TrimSpace(b)
	s.line(t)
	if len(s.tokens) != 1 || s.tokens[0].label != 0 {
		return 0, false
	}
	for _, c := range t {
		if letter(c) && lower(c) != 'e' {
			return 0, false
		}
	}
	return s.tokens[0].v, true
}

// header reads the comment lines.
func (l *log) header() {
	for text := range bytes.Lines(l.text) {
		if t := bytes.TrimSpace(text); len(t) > 0 && t[0] == '#' {
			l.comment(string(t[1:]))
		}
	}
}

// comment takes a header line for what it says.
func (l *log) comment(text string) {
	key, value, ok := strings.Cut(text, ":")
	if !ok {
		return
	}
	value = strings.ToLower(strings.TrimSpace(value))
	switch strings.ToLower(strings.TrimSpace(key)) {
	case "units":
		if value == "mm" || value == "in" {
			l.headUnits = value
		}
	case "heights":
		if value == "up" || value == "down" {
			l.headUp = value
		}
	case "method":
		l.out.Method = value
	case "datum":
		s := scanner{sep: ','}
		s.line([]byte(value))
		if len(s.tokens) == 2 {
			l.out.Datum = &[2]float64{s.tokens[0].v, s.tokens[1].v}
		}
	case "wraps_y_mm":
		if v, ok := plainNumber([]byte(value)); ok && v > 0 && v <= maxCoordMM {
			l.out.WrapsYMM = v
		}
	case "noise_mm":
		if v, ok := plainNumber([]byte(value)); ok && v >= 0 && !math.IsInf(v, 0) {
			l.out.NoiseMM = v
		}
	}
}
