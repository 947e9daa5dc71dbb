package say

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// Table lays cells out in columns.
type Table struct {
	// Gap is how many blanks stand between columns, 2 where it is 0.
	Gap int
	// Width is how many characters a line may have: columns that go beyond it
	// follow as a table of their own, with the first column once more. 0 is no
	// bound.
	Width int
	// Right tells which columns have their blanks before the text.
	Right []bool

	rows [][]string
}

// Row adds a row.
func (t *Table) Row(cells ...string) { t.rows = append(t.rows, cells) }

// rowsOf gives a function that adds a row with a cell for each item, where one
// of them has something to say; the others get none.
func rowsOf[T any](t *Table, items []T, none string) func(name string, cell func(T) string) {
	return func(name string, cell func(T) string) {
		cells := []string{name}
		for _, x := range items {
			cells = append(cells, cell(x))
		}
		if !slices.ContainsFunc(cells[1:], func(c string) bool { return c != "" }) {
			return
		}
		for k := range cells {
			if cells[k] == "" {
				cells[k] = none
			}
		}
		t.Row(cells...)
	}
}

// String is the table as lines.
func (t *Table) String() string {
	gap := max(t.Gap, 2)
	var widths []int
	for _, row := range t.rows {
		for k, c := range row {
			if k == len(widths) {
				widths = append(widths, 0)
			}
			widths[k] = max(widths[k], utf8.RuneCountInString(c))
		}
	}
	var b strings.Builder
	for from := 1; len(widths) > 0 && (from == 1 || from < len(widths)); {
		to, used := from, widths[0]
		for to < len(widths) {
			used += gap + widths[to]
			if t.Width > 0 && used > t.Width && to > from {
				break
			}
			to++
		}
		if from > 1 {
			b.WriteByte('\n')
		}
		for _, row := range t.rows {
			t.line(&b, row, widths, from, to, gap)
		}
		from = max(to, from+1)
	}
	return b.String()
}

// line writes the first cell of a row and those from one column to another,
// unless these are all empty.
func (t *Table) line(b *strings.Builder, row []string, widths []int, from, to, gap int) {
	line, some := fmt.Sprintf("%-*s", widths[0], row[0]), false
	for k := from; k < min(to, len(row)); k++ {
		some = some || row[k] != ""
		width := -widths[k] // to the left
		if k < len(t.Right) && t.Right[k] {
			width = widths[k]
		}
		line += fmt.Sprintf("%*s%*s", gap, "", width, row[k])
	}
	if some {
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}
