package table

import (
	"bytes"
	"fmt"
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
		for i < len(data) && blank(data[i]) && data[i] != r.sep {
			i++
		}
		end := len(data)
		quoted := i < len(data) && data[i] == '"'
		switch {
		case r.sep == ' ':
			for i < len(data) && blank(data[i]) {
				i++
			}
			if i == len(data) {
				return
			}
			for end = i; end < len(data) && !blank(data[end]); end++ {
			}
		case quoted:
			from := quotedEnd(data, i)
			if k := bytes.IndexByte(data[from:], r.sep); k >= 0 {
				end = from + k
			}
		default:
			if k := bytes.IndexByte(data[i:], r.sep); k >= 0 {
				end = i + k
			}
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
