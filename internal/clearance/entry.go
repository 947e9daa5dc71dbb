package clearance

import (
	"iter"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/stream"
)

// Entry is the way of a head from where it stands to where the program has said
// both X and Y. The zero Entry has no way: where it stands is not known.
type Entry struct {
	at   [2]float64
	open bool
}

// EntryFrom is the way from where the head stands at X and Y; nil is not known.
func EntryFrom(stand *[2]float64) Entry {
	if stand == nil {
		return Entry{}
	}
	return Entry{*stand, true}
}

// Way takes the program's next move and gives the straight way that it is, nil
// where it is none from where the head stood, or Z is not known. x and y tell
// whether the program has said these axes once the move is done.
func (e *Entry) Way(m *machine.Move, x, y bool) *machine.Move {
	switch {
	case !e.open || m.Kind == machine.Still || m.Kind == machine.Dwell:
		return nil
	case !m.FromUnknown || m.Lost&(machine.AxisX|machine.AxisY) != 0:
		e.open = false
		return nil
	}
	way := *m
	way.Kind, way.FromUnknown = machine.Line, false
	way.From.X, way.From.Y = e.at[0], e.at[1]
	if !x {
		way.To.X = e.at[0]
	}
	if !y {
		way.To.Y = e.at[1]
	}
	way.Length = math.Hypot(way.To.X-way.From.X, way.To.Y-way.From.Y)
	e.at, e.open = [2]float64{way.To.X, way.To.Y}, !(x && y)
	if m.ZUnknown || m.Lost != 0 {
		return nil
	}
	return &way
}

// Approach are the motions up to the first after which the program has said where
// the head is.
type Approach struct {
	// Placed tells that it has.
	Placed bool
	moves  []approaching
}

type approaching struct {
	move      machine.Move
	x, y, lit bool
}

// mostApproach bounds them: more than jobs have, to home, rise and go there.
const mostApproach = 64

// Take takes the next motion; lit tells that the beam has been put on before.
func (a *Approach) Take(it *stream.Item, lit bool) {
	if a.Placed || !it.Moves() {
		return
	}
	st := &it.After
	if len(a.moves) < mostApproach {
		a.moves = append(a.moves, approaching{it.Move, st.XKnown, st.YKnown, lit})
	}
	a.Placed = st.XKnown && st.YKnown
}

// Ways are the straight ways that they are from where a head stands, and whether the
// beam has been put on before.
func (a *Approach) Ways(stand *[2]float64) iter.Seq2[*machine.Move, bool] {
	return func(yield func(*machine.Move, bool) bool) {
		e := EntryFrom(stand)
		for i := range a.moves {
			m := &a.moves[i]
			if way := e.Way(&m.move, m.x, m.y); way != nil && !yield(way, m.lit) {
				return
			}
		}
	}
}
