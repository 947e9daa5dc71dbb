package stream

import "sagitta/internal/machine"

// Frame is from where a program counts its places, as far as that hangs on what stands
// on the bench before it runs. Lines are 0 where there is nothing of the kind.
type Frame struct {
	// From is where the head stands before a program that begins in G91, on the line
	// Begins; Assumed tells that nobody said so.
	From    machine.Point
	Begins  int
	Assumed bool
	// Work is the work offset in force at the first motion, where it is not G54, and
	// WorkLine where it was said.
	Work     machine.GCode
	WorkLine int
	// Sets is the line of a G92 before the head has been anywhere that the program
	// says, and At where it counts as standing there; OfXY tells that X or Y is set.
	Sets int
	At   machine.Point
	OfXY bool
	// Stores is the line of the first G10.
	Stores int

	worked int // the line of the last word for a work offset
}

// firstWork is the work offset that is in force before one is said.
const firstWork = 540

// take takes the next item.
func (f *Frame) take(it *Item, known bool) {
	if it.IsRun() {
		return
	}
	a, line := &it.Actions, it.Block.Line
	if a.G[machine.WorkOffset] != 0 {
		f.worked = line
	}
	switch a.Codes[machine.NonModal] {
	case 920:
		xy := a.X != 0 || a.Y != 0
		if unplaced := !it.Before.Moved || xy && !it.Before.Placed; unplaced && f.Sets == 0 {
			f.Sets, f.At, f.OfXY = line, it.Before.At, xy
		}
	case 100:
		if f.Stores == 0 {
			f.Stores = line
		}
	}
	if !it.Moves() {
		return
	}
	if w := it.During.Work; !it.Before.Moved && w != 0 && w != firstWork {
		f.Work, f.WorkLine = w, f.worked
	}
	if it.During.Relative && !it.Before.Placed && it.After.Placed && it.Move.Lost == 0 {
		f.From, f.Begins, f.Assumed = it.Before.At, line, !known
	}
}
