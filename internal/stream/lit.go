package stream

import "sagitta/internal/machine"

// Lit is what a program does with the beam on besides burning: travels, waits for the
// operator, and an end of the text with nothing before it that ends the program.
type Lit struct{ Travels, Waits, Ends Tally }

// Tally is how often something is done, and the first line of it.
type Tally struct{ Count, Line int }

func (t *Tally) add(line int) {
	if t.Count == 0 {
		t.Line = line
	}
	t.Count++
}

// take counts what an item does.
func (l *Lit) take(it *Item) {
	if it.During.Beam != machine.On {
		return
	}
	m := &it.Move
	if it.Moves() && !m.Burn && (m.Length > 0 || m.FromUnknown || m.Lost != 0 || m.From.Z != m.To.Z) {
		l.Travels.add(it.Block.Line)
	}
	if it.Actions.Waits(&it.Block) {
		l.Waits.add(it.Block.Line)
	}
}
