package diag

import (
	"cmp"
	"fmt"
	"slices"
)

// Listing is an error that has more than one line to say.
type Listing interface {
	error
	// Lines are those lines, each complete.
	Lines() []string
}

// Listed is a list that was cut, with a line that says how many more of count
// there are.
func Listed(lines []string, count int) []string {
	if more := count - len(lines); more > 0 {
		return append(lines[:len(lines):len(lines)], fmt.Sprintf("and %d more", more))
	}
	return lines
}

// Conflict is a place of a program where a job cannot be done as asked. Its
// String says it in one line, without the place.
type Conflict interface {
	// At returns the line, from 1, or 0 where it is no one line's.
	At() int
	String() string
}

// Refusal is the error of a job that cannot be done as asked.
type Refusal interface {
	Listing
	// Reasons are the conflicts that were kept, as they write themselves.
	Reasons() []string
}

const (
	// KeptFailures is how many failures are kept with their places: more is no
	// list that anybody reads.
	KeptFailures = 20
	// MostFailures bounds the failures that are told from one another, and so
	// the count.
	MostFailures = 100_000
)

// UnmetList gathers the places where a job cannot be done as asked, and is the error
// that says so. The zero value has none.
type UnmetList[F Conflict] struct {
	// Name is the program's.
	Name string
	// Failures are the first of them.
	Failures []F
	// Count is the number of failures, those not listed included; from
	// MostFailures on there may be more.
	Count int
	// NoBurn says that nothing burns at all.
	NoBurn bool
	// Hints say in lines what may help.
	Hints []string

	// seen has those counted, by line and kind, and their places in the list, if
	// kept.
	seen map[[2]int]int
}

// Add counts a failure, once for its line and kind. Where it was counted before
// it returns the one in the list, which the caller may change for the worse, or
// nil if that was not kept.
func (u *UnmetList[F]) Add(kind int, f F) *F {
	if u.seen == nil {
		u.seen = map[[2]int]int{}
	}
	key := [2]int{f.At(), kind}
	if k, has := u.seen[key]; has {
		if k < len(u.Failures) {
			return &u.Failures[k]
		}
		return nil
	}
	if u.Count == MostFailures {
		return nil
	}
	u.seen[key] = u.Count
	u.Count++
	if len(u.Failures) < KeptFailures {
		u.Failures = append(u.Failures, f)
	}
	return nil
}

// Has reports how many failures of a kind were counted.
func (u *UnmetList[F]) Has(kind int) (count int) {
	for key := range u.seen {
		if key[1] == kind {
			count++
		}
	}
	return count
}

// Gather puts one in the place of all failures of a kind, which as makes of the first of
// them and of how many there are. No more are added behind it.
func (u *UnmetList[F]) Gather(kind int, as func(first F, count int) F) {
	count := u.Has(kind)
	if count == 0 {
		return
	}
	var kept []F
	first := -1 // of the list; none where that was full of others
	for k, f := range u.Failures {
		switch at, has := u.seen[[2]int{f.At(), kind}]; {
		case !has || at != k:
			kept = append(kept, f)
		case first < 0 || f.At() < u.Failures[first].At():
			first = k
		}
	}
	if first < 0 {
		return
	}
	u.Failures, u.Count = append(kept, as(u.Failures[first], count)), u.Count-count+1
}

// Err returns what was gathered as an error of the program called name, its places in
// the order of lines; nil where nothing failed.
func (u *UnmetList[F]) Err(name string) error {
	if u.Count == 0 {
		return nil
	}
	list := slices.Clone(u.Failures)
	slices.SortStableFunc(list, func(a, b F) int { return cmp.Compare(a.At(), b.At()) })
	return &UnmetList[F]{Name: name, Failures: list, Count: u.Count, Hints: u.Hints}
}

// NothingBurns is the error of a program without a burn.
func NothingBurns[F Conflict](name string) error { return &UnmetList[F]{Name: name, NoBurn: true} }

// Error names the first place and how many there are.
func (u *UnmetList[F]) Error() string {
	if u.NoBurn {
		return u.Name + ": nothing burns in this program"
	}
	s := u.line(u.Failures[0])
	if u.Count > 1 {
		s += fmt.Sprintf(" (the first of %d)", u.Count)
	}
	return s
}

// Lines are the places that were kept, and how many more there are.
func (u *UnmetList[F]) Lines() []string {
	if u.NoBurn {
		return []string{u.Error() + "; is the beam word one of the profile's beam_on?"}
	}
	var lines []string
	for _, f := range u.Failures {
		lines = append(lines, u.line(f))
	}
	return append(Listed(lines, u.Count), u.Hints...)
}

// Reasons are the failures that were kept, without their places.
func (u *UnmetList[F]) Reasons() []string {
	var reasons []string
	for _, f := range u.Failures {
		reasons = append(reasons, f.String())
	}
	return reasons
}

func (u *UnmetList[F]) line(f F) string {
	return (&Error{Place: Place{File: u.Name, Line: f.At()}, What: f.String()}).Error()
}
