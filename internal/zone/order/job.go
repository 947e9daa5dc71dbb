package order

// Options say what a job's order depends on beside its pieces.
type Options struct {
	// Rank and Lens are of each zone: its place in the order that is taken where
	// nothing else decides (0 first), and the number of its lens.
	Rank, Lens []int
	// Side gives the number of the region that a place is in: connected, and such
	// that the head travels over it in this zone without being lifted; -1 where
	// that is not known. Nil: never known.
	Side func(zone int, x, y float64) int
	// Clear reports whether a straight travel in this zone needs no lift. Nil:
	// none does.
	Clear func(zone int, from, to [2]float64) bool
	// From gives where the head comes from when a zone is set. Nil: not known.
	From func(zone int) (at [2]float64, known bool)
	// MarksFirst is for jobs whose cuts are known: marks go before cuts over the
	// whole set, and cuts inside before those around them.
	MarksFirst bool
}

// Result is an order in which to burn all pieces.
type Result struct {
	Visits []Visit
	// Original says why the original's order was kept in every zone, or is empty.
	Original string
}

// Visit is a zone that is set once, and what is burned then.
type Visit struct {
	Zone  int
	Steps []Step
}

// Step burns a piece.
type Step struct {
	Piece int // its number, from 0 in the order in which pieces were begun
	// Joined: it goes on where the step before ended, without a break: the
	// beginning of a closed figure behind its end.
	Joined bool
}

// piece is a part of a figure that is burned in one go in one zone.
type piece struct {
	zone   int32
	figure int32
	cuts   bool
	last   bool // burned after everything else
}

// Job gathers the pieces of a divided job, in the original's order.
type Job struct {
	opt    Options
	pieces []piece
}

// New returns a job without pieces.
func New(opt Options) *Job { return &Job{opt: opt} }

// Piece begins the next piece: what follows in the same zone without a break.
// Figures, unbroken runs of burns, are numbered upward.
func (j *Job) Piece(zone, figure int, cuts bool) {
	j.pieces = append(j.pieces, piece{zone: int32(zone), figure: int32(figure), cuts: cuts})
}

// Line goes on with the piece under way along a straight line.
func (j *Job) Line(x0, y0, x1, y1 float64) {}

// Arc goes on with the piece under way along an arc about a centre, from angle a0
// over sweep (counter-clockwise where positive, in radians), while the radius goes
// from r0 to r1.
func (j *Job) Arc(cx, cy, r0, r1, a0, sweep float64) {}

// Point goes on with the piece under way with a burn that has no length.
func (j *Job) Point(x, y float64) {}

// MustBeLast has the piece under way burned after all others.
func (j *Job) MustBeLast() { j.pieces[len(j.pieces)-1].last = true }

// Len is the number of pieces.
func (j *Job) Len() int { return len(j.pieces) }
