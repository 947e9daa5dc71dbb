package corridor

import (
	"cmp"
	"iter"
	"math"

	"gonum.org/v1/gonum/floats"

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
	// Peak, PeakBurn, Slope, Even, AnySlope and Row are those to start the next window with.
	Peak, PeakBurn, Slope, Even float64
	AnySlope                    bool
	Row                         Row
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

// link gives c at each gate of the way to waypoint k.
func (p *Planner) link(k int) iter.Seq2[int, float64] {
	way := Plan{Waypoints: p.plan.Waypoints[k-1 : k+1]}
	return way.Along(p.gates)
}

// Room is by how much, on the link to corner k of the last plan, c may be off its
// straight way without leaving the spent tube, in mm.
func (p *Planner) Room(k int) float64 {
	room := math.Inf(1)
	for q, c := range p.link(k) {
		w := p.gates[q].Window(p.Depth, p.spent[q])
		room = min(room, c-w.Lo, w.Hi-c)
	}
	return max(0, room)
}

// Planner plans windows of gates, one after the other. It keeps nothing between
// them but its memory.
type Planner struct {
	Terms
	gates []Gate
	from  Start
	plan  Plan

	// By gate: times and parts of the depth (budget), the string, the
	// bounds and the slopes for thinning (bound).
	dt, need, part, spent   []float64
	c, lo, hi, reach, limit []float64
	low, high               float64 // of the string

	string           tautString
	st, slo, shi, sc []float64 // the string's gates, free ends included
	nodes            []node
	view, view2      []focus.Window
	rounder          rounder
	rounded          bool
	rows             []row
	still            []float64 // c of the gates that are held still, else NaN; none where that is not asked
}

// Plan lays the path through the gates, up to gate end, which ends a move; those
// after it are looked ahead at. A planner whose Terms are set is ready.
func (p *Planner) Plan(gates []Gate, from Start, end int) Plan {
	n := len(gates)
	p.gates, p.from = gates, from
	p.plan = Plan{Waypoints: p.plan.Waypoints[:0], Violations: p.plan.Violations[:0], Peak: from.Peak, PeakBurn: from.PeakBurn}
	p.lo, p.hi, p.reach, p.c = grow(p.lo, n), grow(p.hi, n), grow(p.reach, n), grow(p.c, n)
	p.still = p.still[:0]
	p.draw(end)
	p.rounded = false
	if p.Inertia != nil {
		p.turnGently(end)
	}
	p.low, p.high = floats.Min(p.c), floats.Max(p.c)
	for k := 1; k < n; k++ {
		rise, dt := math.Abs(p.c[k]-p.c[k-1]), p.dt[k]
		if rise > p.plan.Peak*dt {
			p.plan.Peak = rise / dt
		}
		if gates[k].Burn && rise > p.plan.PeakBurn*dt {
			p.plan.PeakBurn = rise / dt
		}
	}
	if !p.rounded {
		p.bound()
		p.thin(end)
	}
	for k := range p.nodes {
		nd := &p.nodes[k]
		p.plan.Waypoints = append(p.plan.Waypoints, Waypoint{nd.gate, nd.w.Lo, nd.forced})
		if nd.forced {
			p.checkLink(k)
		}
	}
	return p.plan
}

// draw lays the string.
func (p *Planner) draw(end int) {
	p.plan.Violations = p.plan.Violations[:0]
	p.budget()
	p.pull(0, len(p.gates)-1, 0, p.from.Free)
	p.checkLimits(end)
}

// turnGently holds still what can be, and rounds the corners of the rest.
func (p *Planner) turnGently(end int) {
	n := len(p.gates)
	p.still = grow(p.still, n)
	for k := range p.still {
		p.still[k] = math.NaN()
	}
	p.hold(end == n-1)
	if p.moving() < len(p.rows) {
		p.draw(end)
		for many := 1; p.release(many); many *= 2 {
			p.draw(end)
		}
	}
	p.rounder.p, p.rounder.limit = p, p.Inertia
	for many := 1; ; many *= 2 {
		if p.rounded = p.rounder.round(end) && p.rounder.chords(end); !p.rounded {
			p.pull(0, n-1, 0, p.from.Free)
		}
		if !p.release(many) {
			break
		}
		p.draw(end)
	}
	p.plan.Row = p.lastRow(end)
}

func grow(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n, n+n/8)
	}
	return s[:n]
}

// pull draws the string from gate i to gate j into p.c, in the tube of the given
// part of the depth (0: each gate's own), from the start or freely, to freely
// with a liking for rest. At a gate that leaves one c it comes in two, each pulled
// for itself with times of its own: so a long way into one or out of one takes
// nothing off how exactly the others are told apart.
func (p *Planner) pull(i, j int, part float64, free bool) {
	n := j - i + 1
	p.st, p.slo, p.shi, p.sc = grow(p.st, n+2), grow(p.slo, n+2), grow(p.shi, n+2), grow(p.sc, n+2)
	for k := i; k <= j; k++ {
		u := part
		if u == 0 {
			u = p.part[k]
		}
		w := p.window(k, u)
		q := k - i + 1
		p.st[q], p.slo[q], p.shi[q] = p.dt[k], w.Lo, w.Hi // times from the gate before, at first
	}
	from := p.from.C
	p.slo[0], p.shi[0] = from, from
	if !free {
		p.slo[1], p.shi[1] = from, from
	}
	p.st[1] = LongTime
	p.st[n+1], p.slo[n+1], p.shi[n+1] = LongTime, p.Rest, p.Rest
	for a, b := 0, 0; a <= n; a = b {
		into := p.st[a+1]
		p.st[a], p.st[a+1] = -into, 0
		for b = a + 1; b <= n && p.slo[b] != p.shi[b]; b++ {
			p.st[b+1] += p.st[b]
		}
		p.string.pull(p.st[a:b+1], p.slo[a:b+1], p.shi[a:b+1], p.sc[a:b+1])
	}
	copy(p.c[i:j+1], p.sc[1:n+1])
}

// window is gate k's window for a part of the depth, or where it is held still. An empty one is a breach
// that is found elsewhere; the plan goes on through its middle.
func (p *Planner) window(k int, part float64) focus.Window {
	if p.held(k) {
		return focus.Window{Lo: p.still[k], Hi: p.still[k]}
	}
	w := p.gates[k].Window(p.Depth, part)
	if w.Empty() {
		m := w.Clamp(0)
		w = focus.Window{Lo: m, Hi: m}
	}
	return w
}

func (p *Planner) violated(kind Kind, gate int, amount float64) {
	p.plan.Violations = append(p.plan.Violations, Violation{kind, gate, gate, amount})
}

// checkLimits looks for gates that limits close even at the whole depth.
func (p *Planner) checkLimits(end int) {
	for k := 0; k <= end; k++ {
		if g := &p.gates[k]; !isInf(g.Min) || !isInf(g.Max) {
			if w := g.Window(p.Depth, 1); w.Empty() {
				p.violated(Closed, k, -w.Width())
			}
		}
	}
}

// checkLink holds the link to a corner that thinning had to force against the
// whole depth.
func (p *Planner) checkLink(k int) {
	for q, c := range p.link(k) {
		w := p.gates[q].Window(p.Depth, 1)
		if out := max(w.Lo-c, c-w.Hi); out > rounding && q > p.plan.Waypoints[k-1].Gate {
			p.violated(Sharp, q, out)
		}
	}
}
