package demo

import (
	"sagitta/internal/machine"
	"sagitta/internal/program"
)

const (
	mmPerInch = 25.4
	// decimalsInch of cut points: a hundredth of a thousandth of an inch is
	// a quarter of a thousandth of a millimetre.
	decimalsInch = 5
)

// words writes points of a move in the block's units.
type words struct {
	b        *program.Block
	m        *machine.Move
	relative bool
	unit     float64 // of the program, in mm
	dec      int8    // decimals of what is written
}

// appendXY appends the X and Y words of the end of piece k of n.
func (ws *words) appendXY(changes []program.Change, k, n int) []program.Change {
	from := [2]float64{ws.m.From.X, ws.m.From.Y}
	to := [2]float64{ws.m.To.X, ws.m.To.Y}
	for axis, letter := range [2]byte{'X', 'Y'} {
		w, said := ws.b.Find(letter)
		if !said && ws.m.Kind == machine.Line {
			continue
		}
		// place is where a piece ends, counted as the words do.
		place := func(k int) program.Number {
			switch {
			case k == n && said:
				return w.Num
			case k == n:
				// An arc that says one axis ends where it began in the
				// other.
				return ws.round(to[axis], from[axis])
			case k == 0 && ws.relative:
				return program.Int(0)
			}
			return ws.round(ws.m.XY(float64(k) / float64(n))[axis], from[axis])
		}
		num := place(k)
		if ws.relative {
			num = minus(num, place(k-1))
		}
		changes = append(changes, program.Change{Letter: letter, Num: num})
	}
	return changes
}

// round gives a coordinate in mm as a word would, from where the move began
// where words are relative.
func (ws *words) round(v, from float64) program.Number {
	if ws.relative {
		v -= from
	}
	return program.Round(v/ws.unit, ws.dec)
}

// minus gives a - b. The decimals of both are those of words and of words.dec:
// few enough for the difference to be exact.
func minus(a, b program.Number) program.Number {
	dec := max(a.Dec, b.Dec)
	x, okA := a.At(dec)
	y, okB := b.At(dec)
	if !okA || !okB {
		return program.Round(a.Float()-b.Float(), dec)
	}
	return program.Number{Mant: x.Mant - y.Mant, Dec: dec}
}

// appendRadius makes a piece an arc given by its radius: its two ends may then
// be rounded as they will.
func (ws *words) appendRadius(changes []program.Change) []program.Change {
	r := (ws.m.R0 + ws.m.R1) / 2
	return append(changes,
		program.Change{Letter: 'I', Drop: true},
		program.Change{Letter: 'J', Drop: true},
		program.Change{Letter: 'R', Num: program.Round(r/ws.unit, ws.dec+1)})
}
