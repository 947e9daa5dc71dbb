// Package table reads text tables: rows of fields between commas, semicolons,
// tabs or blanks, as people, spreadsheets and machines write them, with comments
// and the settings that those carry as "# key: value". Every error names line
// and column. It streams, and allocates nothing for a row.
//
// The first row decides what separates fields, the first number with decimals
// whether they take a point or a comma. From a # at the beginning of a field, or
// behind a blank, to the end of a line is comment. Lines that are blank, or hold
// separators only, pass.
package table

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"

	"sagitta/internal/diag"
)

const (
	// maxSourceBytes bounds what an error carries of the line behind its place.
	maxSourceBytes = 1024
	// maxQuoted bounds what a message shows of a field.
	maxQuoted = 40
)

// Row is a row of a table.
type Row struct {
	name   string
	line   []byte // without line end and byte-order mark
	number int    // of the line, from 1
	sep    byte   // 0: not known yet; ' ': runs of blanks and tabs
	sign   byte   // of decimals: '.', ',' or, where none was seen yet, 0
	fields []span
}

// span is the bytes line[start:end].
type span struct{ start, end int }

// RowOf cuts a single line, without its end, into a row.
func RowOf(line []byte) Row {
	r := Row{line: line, sep: Separator(line)}
	r.split(line)
	return r
}

// Clone returns a copy of the row that stays good while the reader goes on.
func (r *Row) Clone() Row {
	c := *r
	c.line, c.fields = bytes.Clone(r.line), slices.Clone(r.fields)
	return c
}

// List splits field k into a row of its own, by what separates the parts there. It
// holds as long as the row does.
func (r *Row) List(k int) Row {
	from, to := r.fields[k].start, r.fields[k].end
	list := Row{name: r.name, line: r.line, number: r.number, sep: Separator(r.line[from:to])}
	list.split(r.line[from:to])
	for i := range list.fields {
		list.fields[i].start += from
		list.fields[i].end += from
	}
	return list
}

// Len returns the number of fields.
func (r *Row) Len() int { return len(r.fields) }

// Line returns the number of the row's line, from 1.
func (r *Row) Line() int { return r.number }

// Separator returns what separates fields, ' ' for blanks.
func (r *Row) Separator() byte { return r.sep }

// Text returns field k without blanks and quotes around it, nil behind the last.
// It stays good until the reader goes on.
func (r *Row) Text(k int) []byte {
	if k >= len(r.fields) {
		return nil
	}
	return r.line[r.fields[k].start:r.fields[k].end]
}

// Place returns where field k stands: behind the last, the end of the line; -1
// is the line as a whole.
func (r *Row) Place(k int) diag.Place {
	switch {
	case k < 0:
		return r.at(0)
	case k >= len(r.fields):
		return r.at(len(r.line))
	}
	return r.at(r.fields[k].start)
}

func (r *Row) at(offset int) diag.Place {
	return diag.Place{File: r.name, Line: max(r.number, 1), Col: offset + 1, Source: string(r.line[:min(len(r.line), offset+maxSourceBytes)])}
}

// Fail makes an error at field k, as Place counts it.
func (r *Row) Fail(k int, format string, args ...any) error {
	return &diag.Error{Place: r.Place(k), What: fmt.Sprintf(format, args...)}
}

func (r *Row) failAt(offset int, format string, args ...any) error {
	return &diag.Error{Place: r.at(offset), What: fmt.Sprintf(format, args...)}
}

// Quote shows a field in a message, cut when it is long.
func Quote(field []byte) string {
	if len(field) > maxQuoted {
		return strconv.Quote(string(field[:maxQuoted])) + "..."
	}
	return strconv.Quote(string(field))
}

// split cuts data, the beginning of the line, into fields.
func (r *Row) split(data []byte) {
	r.fields = r.fields[:0]
	for i := 0; ; {
		for i < len(data) && blank(data[i]) && (data[i] != '\t' || r.sep != '\t') {
			i++
		}
		from, end, k := i, len(data), -1
		switch {
		case r.sep == ' ' && i == end:
			return
		case r.sep == ' ':
			k = bytes.IndexAny(data[i:], " \t")
		case i < end && data[i] == '"':
			from = quotedEnd(data, i)
			k = bytes.IndexByte(data[from:], r.sep)
		default:
			k = bytes.IndexByte(data[i:], r.sep)
		}
		if k >= 0 {
			end = from + k
		}
		r.fields = append(r.fields, unquoted(data, trimmed(data, span{i, end})))
		if end == len(data) {
			return
		}
		i = end + 1
	}
}

// quotedEnd returns where the quotes that open at i close; separators within are
// text, and so are two quotes in a row. Quotes that never close are text too.
func quotedEnd(data []byte, i int) int {
	for at := i + 1; ; at += 2 {
		k := bytes.IndexByte(data[at:], '"')
		if k < 0 {
			return i + 1
		}
		if at += k; at+1 == len(data) || data[at+1] != '"' {
			return at + 1
		}
	}
}

func trimmed(data []byte, f span) span {
	for f.start < f.end && blank(data[f.start]) {
		f.start++
	}
	for f.end > f.start && blank(data[f.end-1]) {
		f.end--
	}
	return f
}

// unquoted takes off the quotes that spreadsheets put around text.
func unquoted(data []byte, f span) span {
	if f.end-f.start > 1 && data[f.start] == '"' && data[f.end-1] == '"' {
		return trimmed(data, span{f.start + 1, f.end - 1})
	}
	return f
}

func blank(c byte) bool { return c == ' ' || c == '\t' }

// Number reads field k as a number; what names it in errors, such as "height".
func (r *Row) Number(k int, what string) (float64, error) {
	b := r.Text(k)
	if len(b) == 0 {
		return 0, r.Fail(k, "%s is missing; a number is needed here", what)
	}
	v, ok := r.Parse(b)
	if ok {
		if i := bytes.IndexAny(b, ".,"); r.sign == 0 && i >= 0 {
			r.sign = b[i]
		}
		return v, nil
	}
	hint := ""
	if _, ok := parse(b, 0); ok { // it has the other sign
		hint = "; decimals take a point"
		if r.sign == ',' {
			hint = "; decimals take a comma, as before it"
		}
	}
	return 0, r.Fail(k, "%s %s is not a number%s", what, Quote(b), hint)
}

// Number reads text of no table as a number, with a point or a comma.
func Number(text []byte) (float64, bool) { return parse(text, 0) }

// Parse reads text of the table as a number: decimal, with or without an
// exponent. Hexadecimal, underscores, Inf and NaN are no numbers here. Where the
// comma does not separate fields it may be the decimal sign, but not beside
// points: that would be one between thousands.
func (r *Row) Parse(text []byte) (float64, bool) {
	sign := r.sign
	if sign == 0 && r.sep == ',' && bytes.IndexByte(text, ',') < 0 { // else it is quoted
		sign = '.'
	}
	return parse(text, sign)
}

// typesetMinus is the minus sign of typesetting, U+2212.
var typesetMinus = []byte("\u2212")

// parse reads a number with the given decimal sign, 0 for either.
func parse(b []byte, sign byte) (float64, bool) {
	var buf [64]byte // so that a string is made of it without allocating
	text := append(buf[:0], b...)
	if rest, typeset := bytes.CutPrefix(b, typesetMinus); typeset {
		text = append(append(buf[:0], '-'), rest...)
	}
	for i, c := range text {
		switch {
		case c == ',' && (sign == ',' || sign == 0):
			text[i] = '.'
		case c == '.' && sign == ',':
			return 0, false
		case (c < '0' || c > '9') && c != '.' && c != '+' && c != '-' && c != 'e' && c != 'E':
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(text), 64)
	return v, err == nil && !math.IsInf(v, 0)
}
