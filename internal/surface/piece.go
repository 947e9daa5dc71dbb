package surface

// Where tells what a place is to a surface.
type Where uint8

const (
	// On is inside the measured area.
	On Where = iota
	// Outside is beyond its edge; the edge's height is held.
	Outside
	// Hole is in a cell with a missing height; the highest of the cell's
	// own nodes, or of the nearest ring of cells that has one, is held.
	Hole
)

// Piece is a certified stretch of the height profile along a move: over
// the fractions S0 to S1 of the move's length the height lies nowhere more
// than Up above and Down below the straight chord from H0 to H1.
type Piece struct {
	S0, S1   float64 // fractions of the move, 0 to 1
	H0, H1   float64 // mm over the datum, up is nearer the lens
	Up, Down float64 // mm, both at least 0
	Where    Where
	// Less is by how much, in mm, either side of what a lens allows is less there than
	// where heights are surest; see Placed.Narrowed.
	Less float32
}
