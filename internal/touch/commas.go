package touch

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sagitta/internal/diag"
	"sagitta/internal/table"
)

// numbersOnly reports whether a line is numbers between commas, some of which may be blank.
func numbersOnly(line []byte) bool {
	digits := false
	for _, c := range line {
		digits = digits || isDigit(c)
		if !isDigit(c) && strings.IndexByte("-+., \t", c) < 0 {
			return false
		}
	}
	return digits
}

// decimalCommas looks for commas that are decimal signs in a table whose columns are
// parted by commas as well, which w is as it stands. Where they can be told it puts
// points in their place and reports true; where they cannot the table is refused, or
// heights would be cut short in silence.
func (l *log) decimalCommas(w *layout) (found bool, err error) {
	n, named := 3, w.names.axis != nil
	switch {
	case l.opt.Decimal == "point" || w.labelled || named && w.names.sep != ',':
		return false, nil
	case named:
		n = len(w.names.axis)
	case w.pointed: // what has points has no decimal commas
		return false, nil
	case l.opt.Columns != "":
		n = len(l.opt.Columns)
	}
	text, start := bytes.Clone(l.text), 0
	var firsts []float64 // of the first fields, where rows have more than n
	doubt := 0           // the first line that can be read in several ways
	for raw := range bytes.Lines(text) {
		line := bytes.TrimRight(raw, "\r\n")
		at := start
		start += len(raw)
		if commas := bytes.Count(line, []byte{','}); commas == 0 || commas == n-1 || !numbersOnly(line) {
			continue // no more fields than columns: none of its commas is a decimal sign
		}
		ways, commas := table.Commas(line, n)
		if ways == 0 && !named && bytes.Count(line, []byte{','}) >= n {
			return false, nil // some other table
		}
		if ways > 1 && doubt == 0 {
			doubt = 1 + bytes.Count(text[:at], []byte{'\n'})
		}
		if ways > 1 || len(commas) > 0 {
			found = true
			first, _, _ := bytes.Cut(line, []byte{','})
			v, _ := table.Number(bytes.TrimSpace(first))
			firsts = append(firsts, v)
		}
		for _, k := range commas {
			text[at+k] = '.'
		}
	}
	switch {
	case !found || !named && l.opt.Columns == "" && counts(firsts):
		return false, nil
	case doubt > 0:
		what := "x, y and a height"
		if named || l.opt.Columns != "" {
			what = strconv.Itoa(n) + " columns"
		}
		return false, l.fail(doubt, fmt.Sprintf("more numbers between commas than %s: some of the commas may be decimal signs, and it is not clear which", what), commaHint)
	}
	l.shown, l.text = l.text, text
	return true, nil
}

const commaHint = table.CommaHint + "; --decimal point says that all commas part columns"

// gridCommas refuses a grid between commas whose rows have more fields than its first
// one: their heights have decimal commas.
func (l *log) gridCommas() error {
	t := table.NewReader(bytes.NewReader(l.text), l.name)
	if t.Next() != nil || t.Separator() != ',' {
		return nil
	}
	first := t.Clone()
	texts := slices.ContainsFunc(fieldsOf(&first)[1:], func(b []byte) bool { _, ok := table.Number(b); return !ok })
	if _, number := table.Number(first.Text(0)); number || texts || first.Len() < 3 || t.Next() != nil {
		return nil
	}
	hint := t.MayHaveCommas()
	if t.Len() <= first.Len() || hint == "" {
		return nil
	}
	e := diag.As(t.Fail(first.Len(), "row has %d fields, the first row has %d", t.Len(), first.Len()))
	e.Hint = hint
	return e
}

// fieldsOf are the fields of a row.
func fieldsOf(r *table.Row) (list [][]byte) {
	for k := range r.Len() {
		list = append(list, r.Text(k))
	}
	return list
}
