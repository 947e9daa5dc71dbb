package stream

import (
	"sagitta/internal/machine"
	"sagitta/internal/surface"
)

// Options say how a program is read.
type Options struct {
	// Name is the program's name in messages.
	Name string
	// Machine is how blocks become moves.
	Machine machine.Config
	// Surface gives the heights, in program XY; nil reads none.
	Surface *surface.Placed
	// Tolerance in mm is within what the height over a piece is straight,
	// ArcTolerance of an arc, RunTolerance along the lines of a run; 0 is as of
	// the rest. Lateral is how far beside a move that may be cut the written path
	// may be.
	Tolerance, ArcTolerance, RunTolerance, Lateral float64
	// RunSeconds is the longest that a run of more than a line takes by its feed; 0 is no
	// limit.
	RunSeconds float64
	// HoldBurns says that one correction serves the whole of a burn: the pieces
	// of a run that burns are then its least and its greatest height.
	HoldBurns bool
	// MixTravels lets short travels between burns be of their run.
	MixTravels bool
	// Blocks gives every line as a block of its own.
	Blocks bool
	// Kinds tells of which kind burns are, nil where all are of kind 0. Those of a run are
	// of one.
	Kinds *Kinds
	// Check, where not nil, is asked for each block, and its error ends the
	// program.
	Check func(*Item) error
	// Alone, where not nil, is asked for each run, which stays within the box,
	// programmed at Z: reported true, each of its lines is a block of its own.
	// burnZ is the Z of the program's first burn.
	Alone func(x0, y0, x1, y1, z, burnZ float64) bool
}

// Span is a stretch of a program's lines that is read as its own: from a byte of the
// source on, so many bytes, the first line being of this number, with State in force
// before it and Percents lines of "%" before that. The first that is read begins with
// the program, and has no state; it holds the first burn.
type Span struct {
	Offset, Size int64
	Line         int
	State        machine.State
	Percents     int
}
