package surface

import (
	"bufio"
	"bytes"
	"errors"
	"io"

	"sagitta/internal/diag"
)

// maxLineBytes bounds one line; a grid a million nodes wide has rows of
// some ten megabytes.
const maxLineBytes = 64 << 20

// maxSourceBytes bounds the line that an error carries.
const maxSourceBytes = 1024

// field is one value of a row: the bytes line[start:end].
type field struct{ start, end int }

// lineReader cuts a file into rows of fields and hands header lines on.
type lineReader struct {
	br     *bufio.Reader
	name   string
	line   []byte // without line end and byte-order mark
	long   []byte // room for a line longer than br's buffer
	number int    // of line, from 1
	sep    byte   // 0 = not known yet; ' ' = runs of blanks and tabs
	fields []field

	header map[string]diag.Place // header lines seen
	set    Header
	inch   bool
	down   bool
	rows   int
}

// next moves to the next row that has a value. It returns io.EOF at the end.
func (r *lineReader) next() error {
	for {
		if err := r.readLine(); err != nil {
			return err
		}
		for i, c := range r.line {
			if c < ' ' && c != '\t' {
				return r.fail(i, "not text (a control character); save the surface as plain UTF-8 CSV")
			}
		}
		data := r.line
		if k := bytes.IndexByte(data, '#'); k >= 0 {
			data = data[:k]
			if len(bytes.TrimSpace(data)) == 0 {
				if err := r.headerLine(k + 1); err != nil {
					return err
				}
				continue
			}
		}
		if len(bytes.TrimSpace(data)) == 0 {
			continue
		}
		r.split(data)
		for _, f := range r.fields {
			if f.end > f.start {
				r.rows++
				return nil
			}
		}
	}
}

// readLine reads one line into r.line, which stays good until the next call.
func (r *lineReader) readLine() error {
	r.long = r.long[:0]
	for {
		part, err := r.br.ReadSlice('\n')
		if len(r.long)+len(part) > maxLineBytes {
			r.number++
			r.line = r.long
			return r.fail(0, "line is longer than 64 MiB")
		}
		if err == bufio.ErrBufferFull {
			r.long = append(r.long, part...)
			continue
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		if len(r.long) > 0 {
			r.long = append(r.long, part...)
			part = r.long
		}
		if err != nil && len(part) == 0 {
			return io.EOF
		}
		r.number++
		if r.number == 1 {
			part = bytes.TrimPrefix(part, []byte("\xef\xbb\xbf"))
		}
		r.line = bytes.TrimRight(part, "\r\n")
		return nil
	}
}

// split cuts data into r.fields. The first row decides what separates them.
func (r *lineReader) split(data []byte) {
	if r.sep == 0 {
		r.sep = ' '
		for _, c := range []byte{';', ',', '\t'} {
			if bytes.IndexByte(data, c) >= 0 {
				r.sep = c
				break
			}
		}
	}
	r.fields = r.fields[:0]
	for i := 0; ; {
		end := len(data)
		if r.sep == ' ' {
			for i < len(data) && blank(data[i]) {
				i++
			}
			if i == len(data) {
				return
			}
			for end = i; end < len(data) && !blank(data[end]); end++ {
			}
		} else if k := bytes.IndexByte(data[i:], r.sep); k >= 0 {
			end = i + k
		}
		f := field{i, end}
		for f.start < f.end && blank(data[f.start]) {
			f.start++
		}
		for f.end > f.start && blank(data[f.end-1]) {
			f.end--
		}
		r.fields = append(r.fields, f)
		if end == len(data) {
			return
		}
		i = end + 1
	}
}

func blank(c byte) bool { return c == ' ' || c == '\t' }

// text returns field k of the row.
func (r *lineReader) text(k int) []byte { return r.line[r.fields[k].start:r.fields[k].end] }

// fail makes an error at byte offset at of the line.
func (r *lineReader) fail(at int, what string) error {
	return &diag.Error{Kind: diag.Malformed, Place: r.here(at), What: what}
}

func (r *lineReader) here(at int) diag.Place {
	return diag.Place{File: r.name, Line: r.number, Col: at + 1, Source: string(r.line[:min(len(r.line), maxSourceBytes)])}
}
