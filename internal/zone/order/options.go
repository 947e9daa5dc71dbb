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
	// whole set, and cuts inside before those around them, but for what touches:
	// that keeps the original's order all the same.
	MarksFirst bool
}

// Result is an order in which to burn all pieces.
type Result struct {
	Visits []Visit
	// Original says why the original's order was kept in every zone, as the end
	// of a sentence about the job, or is empty.
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
