package record

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Spans are what a file says, as TOML and as JSON, and have the lines that are in one of them.
func TestLineSpans(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var want LineSpans
		in := map[int]bool{}
		for n, after := rapid.IntRange(1, 5).Draw(t, "spans"), 0; n > 0; n-- {
			first := after + rapid.IntRange(1, 3).Draw(t, "gap")
			after = first + rapid.IntRange(0, 4).Draw(t, "length")
			want = append(want, [2]int{first, after})
			for line := first; line <= after; line++ {
				in[line] = true
			}
		}
		said, err := json.Marshal(want)
		if err != nil {
			t.Fatal(err)
		}
		b, err := ReadBurns(strings.NewReader("[[burns]]\nlines = "+string(said)+"\ncuts = true\n"), "rules.toml")
		if err != nil || !slices.Equal(*b[0].Lines, want) {
			t.Fatalf("%s reads as %v, %v", said, b, err)
		}
		all, err := json.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		back, err := BurnsFrom(all)
		if err != nil || !slices.Equal(*back[0].Lines, want) || back.Digest() != b.Digest() {
			t.Fatalf("%s comes back as %v, %v", all, back, err)
		}
		for line := range 50 {
			if b[0].Lines.Has(line) != in[line] {
				t.Fatalf("%v, line %d: %v", want, line, !in[line])
			}
		}
	})
	for _, c := range []struct {
		spans LineSpans
		want  string
	}{
		{LineSpans{{4, 4}}, "line 4"}, {LineSpans{{4, 9}}, "lines 4 to 9"}, {LineSpans{{4, 9}, {12, 12}}, "lines 4 to 9 and 12"},
		{LineSpans{{1, 2}, {4, 5}, {7, 8}, {10, 11}}, "lines 1 to 2, 4 to 5, 7 to 8 and so on, 4 spans"},
	} {
		if got := c.spans.String(); got != c.want {
			t.Errorf("%v: %q, not %q", c.spans, got, c.want)
		}
	}
}
