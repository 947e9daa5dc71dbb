package order

// mostPieces and mostPoints are how much is ordered at most.
const mostPieces, mostPoints = 2_000_000, 24_000_000

// Why the original's order is kept, as the end of a sentence about the job.
const (
	tooManyPieces  = "it has more than 2,000,000 pieces"
	tooManyPoints  = "its burns have too many corners to be held against one another"
	tooFar         = "a burn is not within 50 m of the program's zero"
	tooManyTouches = "too many of its burns cross or cover one another"
	tooMuchInside  = "too many of its burns lie inside others"
)

// piece is a part of a figure that is burned in one go in one zone.
type piece struct {
	zone   int32
	figure int32 // counted from 0 without gaps
	chain  int32 // its first chain
	cuts   bool
	last   bool // burned after everything else
}

// Job gathers the pieces of a divided job, in the original's order.
//
// What they burn is kept as chains of points joined by straight segments; a chain
// of one point is a burn without length.
type Job struct {
	opt    Options
	pieces []piece
	figure int     // number of the last figure, as the caller counts
	chains []int32 // the first point of each
	pts    []point
	why    string // not empty: the original's order has to be kept
	merge  sleeve // of the segment under way
}

// New returns a job without pieces.
func New(opt Options) *Job { return &Job{opt: opt} }

// Piece begins the next piece: what follows in the same zone without a break.
// Figures, unbroken runs of burns, are numbered upward.
func (j *Job) Piece(zone, figure int, cuts bool) {
	p := piece{zone: int32(zone), chain: int32(len(j.chains)), cuts: cuts}
	if n := len(j.pieces); n > 0 {
		p.figure = j.pieces[n-1].figure
		if figure != j.figure {
			p.figure++
		}
	}
	j.figure = figure
	j.pieces = append(j.pieces, p)
	if len(j.pieces) > mostPieces {
		j.give(tooManyPieces)
	}
}

// Cuts has the piece under way cut.
func (j *Job) Cuts() { j.pieces[len(j.pieces)-1].cuts = true }

// MustBeLast has the piece under way burned after all others.
func (j *Job) MustBeLast() { j.pieces[len(j.pieces)-1].last = true }

// Len is the number of pieces.
func (j *Job) Len() int { return len(j.pieces) }

// give gives up: the original's order is kept.
func (j *Job) give(why string) {
	if j.why == "" {
		j.why = why
	}
	j.pts, j.chains = nil, nil
}
