package corridor

import (
	"iter"
	"math"

	"gonum.org/v1/gonum/floats"

	"sagitta/internal/focus"
)

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
