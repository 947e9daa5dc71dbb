package corridor

import (
	"cmp"
	"iter"

	"sagitta/internal/focus"
	"sagitta/internal/motion"
)

const (
	// Narrowing is the part of the spent tube in which the string is pulled:
	// a tenth is left to thinning.
	Narrowing = 0.9
	// ClosestCut is the least distance in mm of a corner within a move from
	// the next corner and from the ends of the move.
	ClosestCut = 0.05
	// rounding is the relative error allowed to times and slopes that are
	// met exactly in theory.
	rounding = 1e-9
	// LongTime is the time in s that stands for a way that no feed limits: so
	// long that its slope is nothing, so that the string is free at that end,
	// and prefers what is on the other. Between two gates it may stand where
	// one of them leaves one c.
	LongTime = 1e9
)

// Terms are what all windows of a path have in common.
type Terms struct {
	// Depth is the usable depth in mm, Use the part of it to spend while
	// nothing forces more, where gates have none of their own. No gate has more.
	Depth focus.Depth
	Use   float64
	// Rate is the greatest |dc/dt| in mm/s; 0 is no limit. Slowest is the
	// least part of its feed that a burn may be slowed to.
	Rate, Slowest float64
	// Rest is the c that the string prefers where an end is free. Where c stands still over
	// a row it is a whole number of steps of Step mm, if that may be; 0 is no step.
	Rest, Step float64
	// Inertia is what the axes can do, the focus axis being Z: corners are rounded for
	// that. Nil where it is not known: then they stay.
	Inertia *motion.Limits
}

// Lowest is the least c that the string may have at a gate while nothing forces
// more.
func (s *Terms) Lowest(g *Gate) float64 {
	return s.Drawn(g).Lo
}

// use is the part of the depth to spend at a gate while nothing forces more.
func (s *Terms) use(g *Gate) float64 { return cmp.Or(g.Use, s.Use) }

// Usual is what a gate allows while nothing forces more of the depth to be spent, and
// Drawn the part of that in which the string is pulled.
func (s *Terms) Usual(g *Gate) focus.Window { return g.Window(s.Depth, s.use(g)) }

// Drawn is explained at Usual.
func (s *Terms) Drawn(g *Gate) focus.Window { return g.Window(s.Depth, Narrowing*s.use(g)) }

// Start is how a path comes to the first gate of a window.
type Start struct {
	// C is where it stands; where Free, it may be chosen, and C is preferred.
	C    float64
	Free bool
	// Peak and PeakBurn are the string's steepest so far in mm/s, over all
	// and over burns. Links need be no calmer.
	Peak, PeakBurn float64
	// Slope is that of the path so far where it comes to the gate, over its length;
	// with AnySlope it may go on at any other, as the head may be slower there.
	Slope    float64
	AnySlope bool
	// Even is how many times longer than by their feed the burns so far take, 1 where the
	// head as good as stands at the gate; 0 is as 1.
	Even float64
	// Row is the last row that burned before it.
	Row Row
}

// Waypoint is a place where the path may turn. Every end of a move is one.
type Waypoint struct {
	Gate int
	C    float64
	// Forced tells that no link leads here inside the tube, so that it was
	// put on the string.
	Forced bool
}

// Kind says what cannot be met.
type Kind uint8

const (
	// Steep: even with the whole depth spent, the burn before Gate would have
	// to be slower than it may be. Amount is the rate that is asked for, in
	// mm/s.
	Steep Kind = iota
	// Deep: one c must serve more than the depth, on the burn from Gate to
	// Last. Amount is the part of the depth that would be needed.
	Deep
	// Apart: at Gate burns of two kinds meet that no c serves, even with the whole depth
	// of each spent. Amount is by how much, in mm.
	Apart
	// Closed: the limits leave nothing at Gate even of the whole depth. Amount
	// is by how much, in mm.
	Closed
	// Sharp: the path would have to turn closer than ClosestCut. Amount is by
	// how much it leaves the whole depth at Gate, in mm.
	Sharp
)

// Violation is a place where the path cannot be as asked. It goes on through the
// middle of what is empty there.
type Violation struct {
	Kind       Kind
	Gate, Last int
	Amount     float64
}

// Plan is a path through a window of gates. Its slices are used again by the next
// plan.
type Plan struct {
	Waypoints  []Waypoint
	Violations []Violation
	// Peak, PeakBurn, Slope, Even, AnySlope and Row are those of Next.
	Peak, PeakBurn, Slope, Even float64
	AnySlope                    bool
	Row                         Row
}

// Next is the start of the window behind, whose first gate the path comes to at c.
func (pl *Plan) Next(c float64) Start {
	return Start{C: c, Peak: pl.Peak, PeakBurn: pl.PeakBurn, Slope: pl.Slope, AnySlope: pl.AnySlope, Even: pl.Even, Row: pl.Row}
}

// Along gives c at each gate, from the first corner's to the last's: it is
// straight between corners.
func (pl *Plan) Along(gates []Gate) iter.Seq2[int, float64] {
	return func(yield func(int, float64) bool) {
		if len(pl.Waypoints) == 0 || !yield(pl.Waypoints[0].Gate, pl.Waypoints[0].C) {
			return
		}
		for k := 1; k < len(pl.Waypoints); k++ {
			a, b := &pl.Waypoints[k-1], &pl.Waypoints[k]
			t := 0.0
			for q := a.Gate + 1; q <= b.Gate; q++ {
				t += gates[q].DT
			}
			c, slope := a.C, (b.C-a.C)/t
			for q := a.Gate + 1; q < b.Gate; q++ {
				c += slope * gates[q].DT
				if !yield(q, c) {
					return
				}
			}
			if !yield(b.Gate, b.C) {
				return
			}
		}
	}
}
