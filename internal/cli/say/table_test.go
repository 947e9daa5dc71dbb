package say

import (
	"strings"
	"testing"
)

func TestTable(t *testing.T) {
	for _, c := range []struct {
		name  string
		table Table
		want  string
	}{
		{"none", Table{}, ""},
		{"left and right", Table{Right: []bool{1: true}, rows: [][]string{{"µm", "1", "from"}, {"longer", "10"}}},
			"µm       1  from\nlonger  10\n"},
		{"a wider gap", Table{Gap: 3, rows: [][]string{{"a", "b"}}}, "a   b\n"},
		{"columns that do not fit follow", Table{Width: 7, rows: [][]string{{"n", "aa", "bb", "cc"}, {"m", "", "", "d"}}},
			"n  aa\n\nn  bb\n\nn  cc\nm  d\n"},
		{"two at a time", Table{Width: 9, rows: [][]string{{"n", "aa", "bb", "cc"}}}, "n  aa  bb\n\nn  cc\n"},
		{"one that fits nowhere has its own", Table{Width: 4, rows: [][]string{{"n", "long", "x"}}}, "n  long\n\nn  x\n"},
	} {
		if got := c.table.String(); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.name, got, c.want)
		}
	}
}

// A row without a cell to say anything is left out; in another, what has
// nothing to say gets the word for it.
func TestRowsOf(t *testing.T) {
	table := &Table{}
	row := rowsOf(table, []int{1, 2}, "none")
	row("odd", func(n int) string { return strings.Repeat("x", n%2) })
	row("nothing", func(int) string { return "" })
	if got, want := table.String(), "odd  x  none\n"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// What is quoted is one word to a shell, and a value that begins with a minus
// is no option.
func TestOption(t *testing.T) {
	for want, in := range map[string][2]string{
		"-s sheet.csv":        {"-s", "sheet.csv"},
		"-s 'my sheet.csv'":   {"-s", "my sheet.csv"},
		`--depth=-1,2`:        {"--depth", "-1,2"},
		`-o 'it'\''s'`:        {"-o", "it's"},
		"--datum ''":          {"--datum", ""},
		"--font '$HOME'":      {"--font", "$HOME"},
		"--keep-out µ-1.csv":  {"--keep-out", "µ-1.csv"},
		"--shift=-10,20.5":    {"--shift", "-10,20.5"},
		"--name 'a;b'":        {"--name", "a;b"},
		"--surface a/b_c.csv": {"--surface", "a/b_c.csv"},
	} {
		if got := Option(in[0], in[1]); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}
