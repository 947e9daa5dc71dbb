package table

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"sagitta/internal/diag"
)

// maxLineBytes bounds one line; a grid of a hundred thousand columns has rows of
// a megabyte.
const maxLineBytes = 4 << 20

// Reader reads a table row by row; the row that it stands at is its Row.
type Reader struct {
	Row
	// Setting, where not nil, is called for each comment that reads
	// "key: value", with the key in lower case; the row then has one field,
	// which is the value. Its error ends the reading.
	Setting func(key string) error
	// Rows counts the rows read, comments apart.
	Rows int

	br   *bufio.Reader
	text []byte // room for a line
	read int64  // bytes
	most int64
	what string
}

// NewReader makes a reader of r; name stands for the file in errors.
func NewReader(r io.Reader, name string) *Reader {
	return &Reader{br: bufio.NewReaderSize(r, 16<<10), Row: Row{name: name}}
}

// Limit refuses a table of more than most bytes as not being what, such as
// "a file of measurements".
func (r *Reader) Limit(most int64, what string) { r.most, r.what = most, what }

// Next moves to the next row that has a value. It returns io.EOF at the end,
// where the line stays the last one.
func (r *Reader) Next() error {
	for {
		if err := r.readLine(); err != nil {
			return err
		}
		if i := slices.IndexFunc(r.line, func(c byte) bool { return c < ' ' && c != '\t' }); i >= 0 {
			return r.failAt(i, "not text (a control character); save it as plain UTF-8 CSV")
		}
		data, comment := r.line, commentAt(r.line)
		if comment >= 0 {
			data = data[:comment]
		}
		if len(bytes.TrimSpace(data)) == 0 {
			if err := r.setting(comment + 1); err != nil {
				return err
			}
			continue
		}
		if r.sep == 0 {
			r.sep = Separator(data)
		}
		r.split(data)
		if slices.ContainsFunc(r.fields, func(f span) bool { return f.end > f.start }) {
			r.Rows++
			return nil
		}
	}
}

// First moves to a row as Next does; that there is none is an error of the table
// as a whole, which says what.
func (r *Reader) First(what string) error {
	err := r.Next()
	if errors.Is(err, io.EOF) {
		return r.FailFile("%s", what)
	}
	return err
}

// Need moves to a row as Next does; that there is none is an error at the last
// row, which says what.
func (r *Reader) Need(what string) error {
	err := r.Next()
	if errors.Is(err, io.EOF) {
		return r.Fail(-1, "%s", what)
	}
	return err
}

// Rest calls take at the row where the reader stands, and at each after it. The
// first error ends the reading.
func (r *Reader) Rest(take func() error) error {
	for {
		if err := take(); err != nil {
			return err
		}
		if err := r.Next(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// commentAt returns where the # of a comment stands in a line, -1 for none. One
// in the middle of a field, as in 30#, is no comment: it would hide a slip.
func commentAt(line []byte) int {
	for i, c := range line {
		if c == '#' && (i == 0 || strings.IndexByte(" \t,;", line[i-1]) >= 0) {
			return i
		}
	}
	return -1
}

// setting hands on the setting that a comment behind byte offset at is, if any.
func (r *Reader) setting(at int) error {
	key, value, start := Setting(r.line[at:])
	if key == "" || r.Setting == nil {
		return nil
	}
	start += at
	r.fields = append(r.fields[:0], span{start, start + len(value)})
	// What separates the columns, or is their decimal sign, is none of its.
	sep, sign := r.sep, r.sign
	r.sep, r.sign = 0, 0
	err := r.Setting(key)
	r.sep, r.sign = sep, sign
	return err
}

// Setting cuts a comment, without its #, that reads "key: value" into the key,
// in lower case, and the value, which begins at byte offset start; key is "" for
// any other comment. Separators behind the value are what spreadsheets add to
// fill up their columns.
func Setting(comment []byte) (key string, value []byte, start int) {
	colon := bytes.IndexByte(comment, ':')
	if colon < 0 {
		return "", nil, 0
	}
	start = colon + 1
	for start < len(comment) && blank(comment[start]) {
		start++
	}
	return strings.ToLower(strings.TrimSpace(string(comment[:colon]))), bytes.TrimRight(comment[start:], " \t;,"), start
}

// Separator tells what separates the fields of a row: a semicolon, a tab or a
// comma, whichever it has first in this order, and ' ' for blanks. Beside tabs,
// commas that all stand between digits are decimal ones.
func Separator(row []byte) byte {
	switch {
	case bytes.IndexByte(row, ';') >= 0:
		return ';'
	case bytes.IndexByte(row, '\t') >= 0 && decimalCommas(row):
		return '\t'
	case bytes.IndexByte(row, ',') >= 0:
		return ','
	}
	return ' '
}

// decimalCommas reports whether every comma has a digit on either side.
func decimalCommas(row []byte) bool {
	digit := func(i int) bool { return i >= 0 && i < len(row) && row[i] >= '0' && row[i] <= '9' }
	for i, c := range row {
		if c == ',' && !(digit(i-1) && digit(i+1)) {
			return false
		}
	}
	return true
}

// readLine reads one line, which stays good until the next call.
func (r *Reader) readLine() error {
	r.text = r.text[:0]
	for {
		part, err := r.br.ReadSlice('\n')
		if r.read += int64(len(part)); r.most > 0 && r.read > r.most {
			return r.FailFile("longer than %d MiB: not %s", r.most>>20, r.what)
		}
		if len(r.text)+len(part) > maxLineBytes {
			r.number++
			r.line = r.text
			return r.failAt(0, "line is longer than %d MiB", maxLineBytes>>20)
		}
		r.text = append(r.text, part...)
		if err == bufio.ErrBufferFull {
			continue
		}
		if err != nil && (len(r.text) == 0 || !errors.Is(err, io.EOF)) {
			return err
		}
		r.number++
		r.line = bytes.TrimRight(r.text, "\r\n")
		if r.number == 1 {
			r.line = bytes.TrimPrefix(r.line, []byte("\xef\xbb\xbf"))
		}
		return nil
	}
}

// FailFile makes an error of the table as a whole, at the line last read.
func (r *Reader) FailFile(format string, args ...any) error {
	return &diag.Error{
		Place: diag.Place{File: r.name, Line: max(r.number, 1), Col: 1},
		What:  fmt.Sprintf(format, args...),
	}
}
