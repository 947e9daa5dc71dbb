package stream

import (
	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// Lit is what a program does with the beam on besides burning: travels, waits for the
// operator, and an end of the text with nothing before it that ends the program.
// Strokes are moves of Z alone, which mark or plunge in place.
type Lit struct{ Travels, Waits, Ends, Strokes program.Tally }

// take counts what an item does.
func (l *Lit) take(it *Item) {
	if it.During.Beam != machine.On {
		return
	}
	m := &it.Move
	if it.Moves() && !m.Burn && (m.Length > 0 || m.FromUnknown || m.Lost != 0 || m.From.Z != m.To.Z) {
		l.Travels.Add(it.Block.Line)
	}
	if m.Burn && m.Length == 0 && m.From.Z != m.To.Z {
		l.Strokes.Add(it.Block.Line)
	}
	if it.Actions.Waits(&it.Block) {
		l.Waits.Add(it.Block.Line)
	}
}

// Remarks are what whoever runs a program should know of it, each thing once.
type Remarks struct {
	// Lapses are lines that are not as RS274 has them.
	Lapses program.Lapses
	// Unknown are M words without known meaning.
	Unknown []machine.Note
	// Behind is the line of the first text behind the program's end, which was not
	// read; 0 where there is none.
	Behind int
	// Lit is what the program does with the beam on besides burning.
	Lit Lit
	// Rules are what the rules about burns have matched, by their number from 1; what
	// none has matched is that of number 0. Nil where there are no rules.
	Rules []Matched
	// Frame is from where it counts its places.
	Frame Frame
}
