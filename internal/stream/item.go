package stream

import (
	"iter"
	"sort"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
)

// Item is a block of the program, or a run of plain lines. It holds until it is
// done with.
type Item struct {
	// Block is the block; of a run it has the place of the first line and what
	// the lines have in common.
	Block program.Block
	// Actions are what the block's words do; those of a run do nothing.
	Actions machine.Actions
	// Move is what it makes the head do: of a run a straight move as long as
	// the path, between the ends of it.
	Move machine.Move
	// Before are the modes in force before it, During those while it moves,
	// After those that it leaves: the end of a program resets them.
	Before, During, After machine.State

	// Span is the number of the span that it is read from, 0 of a program as a whole.
	Span int

	// Kind is that of the burn, or of all burns of a run (see Options.Kinds).
	Kind int

	// StartD is where a run starts along the path, as the vertices count, in mm.
	StartD float64
	// Low and High are the places of the least and the greatest height under
	// the burns of a run, valid where there are any.
	Low, High Sample
	// Burns and BurnLength are the number and the length in mm of the burns of
	// a run, which may have short travels among them.
	Burns      int
	BurnLength float64

	batch        *Batch
	first, end   int   // of the batch's vertices those of a run
	pieces, last int32 // of the batch's pieces those from pieces up to last
}

// Vertex is the end of a plain line: D is its distance in mm along the path from
// some origin, and End where the line ends in the batch's text.
type Vertex = machine.PlainMove

// Sample is a place along a run: a distance along the path and the height there,
// in mm.
type Sample struct{ D, H float64 }

// IsRun reports whether the item is a run of plain lines.
func (it *Item) IsRun() bool { return it.end > 0 }

// Pieces are the certified heights along the move: stretches over each of which
// the height is straight within its bounds. An item whose place is not known has
// none; one without length over XY has one, at its point.
func (it *Item) Pieces() []surface.Piece { return it.batch.pieces[it.pieces:it.last] }

// Count returns how many lines of the program the item is.
func (it *Item) Count() int {
	if it.IsRun() {
		return it.end - it.first
	}
	return 1
}

// Size is how many bytes of the program it is.
func (it *Item) Size() int {
	if it.IsRun() {
		b := it.batch
		return int(b.lineStart(it.end) - b.lineStart(it.first))
	}
	return len(it.Block.Raw)
}

// Known reports whether the place at the end of the item is known.
func (it *Item) Known() bool { return it.After.XKnown && it.After.YKnown && it.After.ZKnown }

// LineAt returns the line of the program at the fraction s of the item's move.
func (it *Item) LineAt(s float64) int {
	if !it.IsRun() {
		return it.Block.Line
	}
	d := it.StartD + s*it.Move.Length
	lines := it.Lines()
	return it.Block.Line + sort.Search(len(lines)-1, func(k int) bool { return lines[k].D >= d })
}

// PlaceAt returns the place at the fraction s of the item's move; of a run it is
// the end of a line, no further off than that line is long.
func (it *Item) PlaceAt(s float64) [2]float64 {
	if !it.IsRun() {
		return it.Move.XY(s)
	}
	v := &it.Lines()[it.LineAt(s)-it.Block.Line]
	return [2]float64{v.X, v.Y}
}

// Moves reports whether the head moves.
func (it *Item) Moves() bool { return it.Move.Kind == machine.Line || it.Move.Kind == machine.Arc }

// ZOnly reports whether the item is a travel of Z alone.
func (it *Item) ZOnly() bool {
	m := &it.Move
	return m.Kind == machine.Line && !m.Burn && !m.ZUnknown && !it.Travels() && m.From.Z != m.To.Z
}

// Travels reports whether the item is a travel over XY, of known length or not.
func (it *Item) Travels() bool {
	m := &it.Move
	if m.Burn || !it.Moves() {
		return false
	}
	if m.Lost&(machine.AxisX|machine.AxisY) != 0 {
		return true
	}
	if m.Length > 0 || !m.FromUnknown {
		return m.Length > 0
	}
	return it.Actions.X != 0 || it.Actions.Y != 0
}

// Lines returns the ends of the run's lines.
func (it *Item) Lines() []Vertex { return it.batch.vertices[it.first:it.end] }

// Ends yields where each line of a run begins and where it ends, over XY.
func (it *Item) Ends() iter.Seq2[machine.Point, machine.Point] {
	return func(yield func(from, to machine.Point) bool) {
		from := it.Move.From
		for _, v := range it.Lines() {
			to := machine.Point{X: v.X, Y: v.Y, Z: from.Z}
			if !yield(from, to) {
				return
			}
			from = to
		}
	}
}

// Heading is the direction over XY at the item's beginning or its end, as machine.Move.Heading:
// a run may turn.
func (it *Item) Heading(end bool) [2]float64 {
	m, at := &it.Move, 0.0
	if end {
		at = 1
	}
	if it.IsRun() && it.Count() > 1 {
		lines, line := it.Lines(), *m
		if m = &line; end {
			before := &lines[len(lines)-2]
			line.From.X, line.From.Y = before.X, before.Y
		} else {
			line.To.X, line.To.Y = lines[0].X, lines[0].Y
		}
	}
	dx, dy := m.Heading(at)
	return [2]float64{dx, dy}
}

// Text returns the lines from line i of the run up to line j, as they stand in
// the file.
func (it *Item) Text(i, j int) []byte {
	b := it.batch
	return b.text[b.lineStart(it.first+i):b.lineStart(it.first+j)]
}

// LineItem fills dst with line k of the run as an item of its own, as it would be
// without the run, but for its heights. dst keeps its memory.
func (it *Item) LineItem(k int, dst *Item) {
	b, lines := it.batch, it.Lines()
	block := program.Block{Words: dst.Block.Words}
	block.SetPlain(&it.Block, it.Text(k, k+1), k, lines[k].Style)
	*dst = Item{Block: block, batch: b, Before: it.Before, Kind: it.Kind}
	from, d := it.Move.From, it.StartD
	if k > 0 {
		from.X, from.Y, d = lines[k-1].X, lines[k-1].Y, lines[k-1].D
		dst.Before.Motion = lines[k-1].Motion
		b.setPower(&dst.Before, it.first, it.first+k)
		setBeam(&dst.Before, lines[k-1].Burn)
	}
	dst.Before.At = from
	b.lineItem(dst, it.first+k, lines[k].D-d, it.Move.Seconds/it.Move.Length, nil)
}
