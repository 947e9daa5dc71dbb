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

// Failures are told in the order of lines; those of a kind may be told as one.
func TestUnmetGather(t *testing.T) {
	list := func(kinds ...int) (u UnmetList[steep]) {
		for k, kind := range kinds {
			u.Add(kind, steep{100 - k, k})
		}
		return u
	}
	as := func(first steep, count int) steep {
		first.amount = 1000 + count
		return first
	}
	u := list(0, 1, 0, 1, 1)
	u.Hints = []string{"do"}
	if n := u.Has(1); n != 3 || u.Has(2) != 0 {
		t.Errorf("%d of kind 1", n)
	}
	u.Gather(2, as)
	u.Gather(1, as)
	lines := u.Err("f").(Listing).Lines()
	if want := "[f:96: too steep by 1003 f:98: too steep by 2 f:100: too steep by 0 do]"; fmt.Sprint(lines) != want || u.Count != 3 {
		t.Errorf("%v of %d, want %s", lines, u.Count, want)
	}
	// Where none of the kind was kept there is none to stand for it.
	u = list(make([]int, KeptFailures)...)
	u.Add(1, steep{1, 1})
	u.Gather(1, as)
	if u.Count != KeptFailures+1 || len(u.Failures) != KeptFailures {
		t.Errorf("%d of %d", len(u.Failures), u.Count)
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
