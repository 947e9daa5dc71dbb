package program

import (
	"fmt"

	"sagitta/internal/phrase"
)

// Lapse is a way in which a line is not as RS274 has it, but means the same however it
// is read. Such lines pass as they are; whoever runs the program should know.
type Lapse uint8

// The lapses.
const (
	// Nested is a comment within a comment.
	Nested Lapse = iota
	// Overclosed is a ")" more behind a comment than there are "(".
	Overclosed
	// LeftOpen is a comment that is not closed, with no word in it.
	LeftOpen
	// Returned is a carriage return before the line.
	Returned
	// Repeated is a word that stands twice on a line with the same value.
	Repeated
	// ZeroFeed is a feed of 0 under which nothing moves.
	ZeroFeed
	// FlatCentre is K0 in an arc of X and Y.
	FlatCentre
	lapses // how many there are
)

// String says what it is.
func (l Lapse) String() string {
	return [lapses]string{
		Nested:     "a comment within a comment",
		Overclosed: `a ")" more behind a comment than there are "("`,
		LeftOpen:   "a comment that is not closed",
		Returned:   "a carriage return before the line",
		Repeated:   "a word that stands twice, both times with the same value",
		ZeroFeed:   "F0, by which no feed move goes",
		FlatCentre: "K0 in an arc of X and Y",
	}[l]
}

// lapseSet is a set of lapses.
type lapseSet uint8

func (s *lapseSet) add(l Lapse) { *s |= 1 << l }

func (s lapseSet) has(l Lapse) bool { return s>>l&1 != 0 }

// Tally is how often something is met, and the first line of it.
type Tally struct{ Count, Line int }

// Add counts it once more, on a line.
func (t *Tally) Add(line int) {
	if t.Count == 0 {
		t.Line = line
	}
	t.Count++
}

// Lapses tells of each Lapse how often it is met.
type Lapses [lapses]Tally

// Add counts a lapse.
func (l *Lapses) Add(kind Lapse, line int) { l[kind].Add(line) }

// take counts those of a block.
func (l *Lapses) take(b *Block) {
	for kind := range lapses {
		if b.lapses.has(kind) {
			l.Add(kind, b.Line)
		}
	}
}

// And returns the lapses of both: each kind is counted by one of them.
func (l Lapses) And(others Lapses) Lapses {
	for kind := range others {
		if others[kind].Count > 0 {
			l[kind] = others[kind]
		}
	}
	return l
}

// Says names a lapse that is met, once for all.
func (t Tally) Says(kind Lapse) string {
	return fmt.Sprintf("line %d: %v, %s in all; it passes as it is, for it means the same however it is read",
		t.Line, kind, phrase.Count(t.Count, "time"))
}
