package measured

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"sagitta/internal/diag"
)

const (
	// maxTableBytes bounds a file of measurements made by people and
	// cameras: some ten thousand rows. More is another kind of file.
	maxTableBytes = 1 << 20
	// maxFieldText bounds what a message quotes of a field.
	maxFieldText = 40
)

// cell is a field of a row: its text, and its column in bytes from 1.
type cell struct {
	text string
	col  int
}

// row is a line that holds values.
type row struct {
	table  *table
	line   int
	source string
	cells  []cell
}

// table is a CSV file: rows of cells, and the settings that its comments
// carry as "# key: value".
type table struct {
	name     string
	rows     []row
	settings map[string]row // one cell each
	comma    bool           // commas separate fields, and are no decimal sign
}

// readTable reads a CSV file; name stands for it in errors, which are a
// *diag.Error where not the reader's own. Fields stand between semicolons,
// tabs, commas or blanks, whichever of these the first row has first in this
// order; where it is not commas, numbers may have a decimal comma.
func readTable(r io.Reader, name string) (*table, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxTableBytes+1))
	if err != nil {
		return nil, err
	}
	t := &table{name: name, settings: map[string]row{}}
	if len(text) > maxTableBytes {
		return nil, &diag.Error{Place: diag.Place{File: name, Line: 1, Col: 1}, What: "longer than 1 MiB: not a file of measurements"}
	}
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	var sep rune
	number := 0
	for line := range strings.Lines(string(text)) {
		number++
		w := row{table: t, line: number, source: strings.TrimRight(line, "\r\n")}
		if i := strings.IndexFunc(w.source, func(c rune) bool { return c < ' ' && c != '\t' }); i >= 0 || !utf8.ValidString(w.source) {
			return nil, w.fail(max(i, 0)+1, "not text; save it as plain UTF-8 CSV")
		}
		body := strings.TrimSpace(w.source)
		if comment, ok := strings.CutPrefix(body, "#"); ok {
			t.setting(w, comment)
			continue
		}
		if strings.Trim(body, ";,\t ") == "" {
			continue
		}
		if sep == 0 {
			sep = ' '
			for _, c := range ";\t," {
				if strings.ContainsRune(body, c) {
					sep = c
					break
				}
			}
			t.comma = sep == ','
		}
		w.cells = split(w.source, sep)
		t.rows = append(t.rows, w)
	}
	return t, nil
}

// setting keeps a comment that reads "key: value".
func (t *table) setting(w row, comment string) {
	key, value, ok := strings.Cut(comment, ":")
	value = strings.Trim(value, " \t;,") // spreadsheets add empty fields
	if !ok || value == "" {
		return
	}
	w.cells = []cell{{value, strings.Index(w.source, ":") + 2}}
	if at := strings.LastIndex(w.source, value); at >= 0 {
		w.cells[0].col = at + 1
	}
	t.settings[strings.ToLower(strings.TrimSpace(key))] = w
}

// split cuts a line into trimmed cells, without the quotes that spreadsheets
// put around text.
func split(line string, sep rune) []cell {
	var out []cell
	add := func(from, to int) {
		text := line[from:to]
		left := strings.TrimLeft(text, " \t")
		col := from + len(text) - len(left) + 1
		out = append(out, cell{unquote(strings.TrimRight(left, " \t")), col})
	}
	if sep == ' ' {
		for from := 0; from < len(line); {
			n := strings.IndexAny(line[from:], " \t")
			if n < 0 {
				n = len(line) - from
			}
			if n > 0 {
				add(from, from+n)
			}
			from += n + 1
		}
		return out
	}
	for from := 0; ; {
		n := strings.IndexRune(line[from:], sep)
		if n < 0 {
			add(from, len(line))
			return out
		}
		add(from, from+n)
		from += n + 1
	}
}

func unquote(s string) string {
	if len(s) > 1 && s[0] == '"' && s[len(s)-1] == '"' {
		return strings.TrimSpace(s[1 : len(s)-1])
	}
	return s
}

// cell gives cell k, empty past the end of the row.
func (w row) cell(k int) cell {
	if k >= 0 && k < len(w.cells) {
		return w.cells[k]
	}
	return cell{col: len(w.source) + 1}
}

// fail is the error at a column.
func (w row) fail(col int, format string, args ...any) error {
	return &diag.Error{Place: diag.Place{File: w.table.name, Line: w.line, Col: col, Source: w.source}, What: fmt.Sprintf(format, args...)}
}

// number reads cell k as a plain number.
func (w row) number(k int, what string) (float64, error) {
	c := w.cell(k)
	if c.text == "" {
		return 0, w.fail(c.col, "%s is missing", what)
	}
	v, ok := w.table.parse(c.text)
	if !ok {
		return 0, w.fail(c.col, "%s %s is not a number", what, quote(c.text))
	}
	return v, nil
}

// parse reads a decimal number; hexadecimal, NaN and the like are none.
func (t *table) parse(s string) (float64, bool) {
	if !t.comma && strings.Count(s, ",") == 1 {
		s = strings.Replace(s, ",", ".", 1)
	}
	s = strings.Replace(s, "\u2212", "-", 1) // the minus sign of typesetting
	if strings.Trim(s, "+-.0123456789eE") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// quote shows a field in a message.
func quote(s string) string {
	r := []rune(s)
	if len(r) > maxFieldText {
		r = append(r[:maxFieldText], []rune("...")...)
	}
	for i, c := range r {
		if !unicode.IsPrint(c) {
			r[i] = utf8.RuneError
		}
	}
	return `"` + string(r) + `"`
}
