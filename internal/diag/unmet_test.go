package diag

import (
	"fmt"
	"testing"
)

type steep struct {
	line   int
	amount int
}

func (s steep) At() int        { return s.line }
func (s steep) String() string { return fmt.Sprintf("too steep by %d", s.amount) }

// What fails counts once, in whatever order it is found, and is changed where
// it is kept.
func TestUnmetCountsOnce(t *testing.T) {
	var u UnmetList[steep]
	if u.Err("f") != nil {
		t.Error("an error without a failure")
	}
	for k := range 90 {
		for kind := range 2 {
			if was := u.Add(kind, steep{1 + k%3, k}); was != nil {
				was.amount = k
			} else if k >= 3 {
				t.Errorf("line %d was not counted before", 1+k%3)
			}
		}
	}
	if u.Count != 6 || len(u.Failures) != 6 || u.Failures[0] != (steep{1, 87}) {
		t.Errorf("%d counted: %v", u.Count, u.Failures)
	}
	for k := range 2 * MostFailures {
		u.Add(2, steep{1 + k, k})
	}
	if u.Count != MostFailures || len(u.Failures) != KeptFailures || u.Failures[KeptFailures-1] != (steep{14, 13}) {
		t.Errorf("%d counted, %d kept", u.Count, len(u.Failures))
	}
	if u.Add(2, steep{MostFailures - 6, 0}) != nil {
		t.Error("one that was not kept is given back")
	}
}

func TestUnmetText(t *testing.T) {
	var u UnmetList[steep]
	u.Add(0, steep{0, 5})
	want := "f: too steep by 5"
	if got := u.Err("f").Error(); got != want {
		t.Errorf("%q, want %q", got, want)
	}
	for k := range 30 {
		u.Add(0, steep{k, 7})
	}
	err := u.Err("f")
	if got := err.Error(); got != want+" (the first of 30)" {
		t.Error(got)
	}
	lines := err.(Listing).Lines()
	if len(lines) != 21 || lines[0] != want || lines[1] != "f:1: too steep by 7" || lines[20] != "and 10 more" {
		t.Errorf("%q", lines)
	}
	if reasons := err.(Refusal).Reasons(); len(reasons) != 20 || reasons[1] != "too steep by 7" {
		t.Errorf("%q", reasons)
	}
	none := NothingBurns[steep]("f")
	if got := none.(Listing).Lines(); len(got) != 1 || got[0] != "f: nothing burns in this program; is the beam word one of the profile's beam_on?" {
		t.Errorf("%q", got)
	}
}
