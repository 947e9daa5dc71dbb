package phrase

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// A place of a text gets what there is for it, an empty line is none, and what
// cannot be filled is said.
func TestTexts(t *testing.T) {
	texts := NewTexts(fstest.MapFS{"a/b.txt": {Data: []byte("{{count .N \"touch\"}}\n\n{{if .Not}}no{{end}}\n  {{mm .MM}} mm{{define \"c\"}}{{.}}{{end}}\n")}}, nil)
	with := map[string]any{"N": 2, "Not": false, "MM": 1.5}
	if got, want := texts.Lines("b.txt", with), []string{"2 touches", "  1.500 mm"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if got := texts.Fill("c", 7); got != "7" {
		t.Errorf("%q", got)
	}
	delete(with, "MM")
	if got := strings.Join(texts.Lines("b.txt", with), "|"); !strings.HasPrefix(got, "2 touches|") || !strings.Contains(got, "MM") {
		t.Errorf("%q", got)
	}
}
