package measured

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"sagitta/internal/record"
)

// A comment of a record is a line, within bounds, whatever a file is called.
func TestComments(t *testing.T) {
	d := Draft{Lens: &record.Lens{}}
	for range 2 * mostComments {
		d.Note("%s: %s", "a\nb\x00.csv", strings.Repeat("é", 2*longestComment))
	}
	text, err := d.Text()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := record.ReadLens(bytes.NewReader(text), "lens.toml"); err != nil {
		t.Error(err)
	}
	var lines []string
	for line := range strings.Lines(string(text)) {
		if strings.Contains(line, ": é") || strings.Contains(line, "lines more") {
			lines = append(lines, strings.TrimSuffix(line, "\n"))
		}
	}
	if len(lines) != mostComments+1 || !strings.HasSuffix(lines[mostComments], "and 25 lines more") {
		t.Errorf("%d lines, the last %q", len(lines), lines[len(lines)-1])
	}
	for _, l := range lines {
		if !strings.HasPrefix(l, "# ") || utf8.RuneCountInString(l) > longestComment+6 {
			t.Errorf("%q", l)
		}
	}
}
