package diag

import (
	"errors"
	"fmt"
	"io/fs"
	"testing"
)

func TestErrorText(t *testing.T) {
	for want, e := range map[string]*Error{
		"what":                    {What: "what"},
		"field: what":             {Field: "field", What: "what"},
		"f: what":                 {Place: Place{File: "f"}, What: "what"},
		"f:3: what":               {Place: Place{File: "f", Line: 3}, What: "what"},
		"f:3:4: what":             {Place: Place{File: "f", Line: 3, Col: 4}, What: "what"},
		"2:7: what":               {Place: Place{Line: 2, Col: 7}, What: "what"},
		"f:3: field: what":        {Place: Place{File: "f", Line: 3}, Field: "field", What: "what"},
		"file does not exist":     {Cause: fs.ErrNotExist},
		"says more than its kind": {What: "says more than its kind", Cause: fs.ErrNotExist},
	} {
		if got := e.Error(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// What is asked of an error is found however deep it is wrapped, and an error
// from elsewhere has none of it.
func TestAskedOfAnError(t *testing.T) {
	deep := fmt.Errorf("while at it: %w", &Error{Kind: Unmet, Place: Place{Source: "G1", Col: 1}, Hint: "do", Cause: fs.ErrNotExist})
	if As(deep) == nil || !Is(deep, Unmet) || Is(deep, Malformed) || Hint(deep) != "do" || As(deep).Caret() != "G1\n^" || !errors.Is(deep, fs.ErrNotExist) {
		t.Error("a wrapped error is not found")
	}
	for _, other := range []error{nil, errors.New("other")} {
		if As(other) != nil || Is(other, Malformed) || Hint(other) != "" {
			t.Errorf("%v: found an error of this package", other)
		}
	}
}
