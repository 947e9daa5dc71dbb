package corridor

import (
	"math"

	"sagitta/internal/focus"
)

// Gate is a place of the path and the corrections allowed there. Whatever stays
// in the trapezoids that join the windows of neighbours is allowed between them:
// who lays the gates sees to that.
type Gate struct {
	// DT is the time in s from the gate before, at the programmed feed. Gates
	// are at least so far apart that two times differ.
	DT float64
	// High and Low are the greatest and the least of what is asked to be in
	// best focus at the gate, in mm: High is -Inf where nothing is, Low is
	// +Inf where only travels pass.
	High, Low float64
	// Depth is what may be spent there; a side of 0 is that of the Terms, as it is of
	// all gates of a plan or of none that ask for that side. Use is the part of it to
	// spend while nothing forces more, 0 that of the Terms.
	Depth focus.Depth
	Use   float64
	// Min and Max are limits of c that no depth widens, infinite where there
	// are none.
	Min, Max float64
	// S is the fraction of its move at which the gate stands, 0 < S <= 1, and
	// Length is that of the whole move in mm. The move ends where S is 1; the
	// first gate of a window ends one.
	S, Length float64
	// Burn tells that the stretch before the gate burns, and Slow that it may
	// take longer for that than at the programmed feed. Meets tells that burns of
	// two kinds meet there.
	Burn, Slow, Meets bool
	// Even tells that the burn may as well be slowed as a whole, beside others.
	Even bool
	// Top is the highest that lies there, for figures: no window hangs on it.
	Top float64
	// Corner is the greatest speed in mm/s at which the head passes the gate as its way
	// over XY turns there, +Inf straight on and 0 where it stands, and Turn by how much it
	// does, as for motion.Limits.Rise.
	Corner, Turn float64
}

// Open is a gate that allows everything, at the end of a move.
func Open() Gate {
	return Gate{High: math.Inf(-1), Low: math.Inf(1), Min: math.Inf(-1), Max: math.Inf(1), S: 1, Top: math.Inf(-1)}
}

// Serve takes what is to be in best focus into the gate: all heights from low to
// high, low being +Inf for a travel.
func (g *Gate) Serve(high, low float64) {
	g.Take(&Gate{High: high, Low: low, Min: math.Inf(-1), Max: math.Inf(1), Depth: g.Depth, Top: math.Inf(-1)})
}

// Take takes what another gate asks for into the gate.
func (g *Gate) Take(o *Gate) {
	near, far := g.Depth.Near, g.Depth.Far
	g.High, near = join(g.High, near, o.High, o.Depth.Near)
	low, far := join(-g.Low, far, -o.Low, o.Depth.Far)
	g.Low, g.Depth = -low, focus.Depth{Near: near, Far: far}
	if g.Use == 0 || o.Use > 0 && o.Use < g.Use {
		g.Use = o.Use
	}
	g.Limit(o.Min, o.Max)
	g.Meets, g.Top = g.Meets || o.Meets, max(g.Top, o.Top)
}

// join gives one height and one depth for two that c is to be no further below than
// theirs: where they differ those with which it is the same in best focus and at the
// whole depth. Of parts between it is a little more than both ask for: what they ask
// for is convex in the part, as the greater of two straight lines.
func join(high, depth, other, by float64) (joined, within float64) {
	switch {
	case math.IsInf(other, -1):
		return high, depth
	case math.IsInf(high, -1):
		return other, by
	case depth == by:
		return max(high, other), depth
	}
	joined = max(high, other)
	return joined, joined - max(high-depth, other-by)
}

// Limit narrows the limits.
func (g *Gate) Limit(least, most float64) {
	g.Min, g.Max = max(g.Min, least), min(g.Max, most)
}

// depth is what may be spent at the gate, d being that of the Terms.
func (g *Gate) depth(d focus.Depth) focus.Depth {
	if g.Depth.Near > 0 {
		d.Near = g.Depth.Near
	}
	if g.Depth.Far > 0 {
		d.Far = g.Depth.Far
	}
	return d
}

// Window is what the gate allows where the given part of the depth may be spent, which
// is d but where the gate has its own. It may be empty.
func (g *Gate) Window(d focus.Depth, part float64) focus.Window {
	d = g.depth(d)
	return focus.Window{
		Lo: max(g.High-part*d.Near, g.Min),
		Hi: min(g.Low+part*d.Far, g.Max),
	}
}

// Spends gives which part of the depth c spends at the gate, above 1 where it is beyond.
func (g *Gate) Spends(d focus.Depth, c float64) float64 {
	d = g.depth(d)
	return max((g.High-c)/d.Near, (c-g.Low)/d.Far)
}

// part is the part of the depth that the gate needs against envelopes of others:
// against the greatest and the least that is to be in best focus, and the limits.
func (g *Gate) part(d focus.Depth, e *Gate) float64 {
	own, other := g.depth(d), e.depth(d)
	return max((g.High-e.Low)/(own.Near+other.Far), (e.High-g.Low)/(other.Near+own.Far), (g.High-e.Max)/own.Near, (e.Min-g.Low)/own.Far)
}

// aheadPart is the part of a window that is only looked ahead at.
const aheadPart = 8

// Commit gives the last end of a move up to which a window of gates may be
// committed, what comes after them being unknown; 0 where the window is too
// short for that. With a rate, c must be able to come from anywhere to anywhere
// on the way behind it, swing mm further than the depth: what lies further ahead
// asks nothing of here. It reports whether the window is long enough for that.
func (s *Terms) Commit(gates []Gate, swing float64) (end int, ahead bool) {
	end, ahead = s.commit(gates, swing)
	if s.Inertia != nil {
		end = standing(gates, end)
	}
	return end, ahead
}

// standing is the best gate to commit up to, in the second half of those up to gate end: where
// the head as good as stands, as nothing there asks how it came. Of several such behind one
// burn it is the first, so that the way to the next burn is planned with that; without one it
// is gate end.
func standing(gates []Gate, end int) int {
	best, found := end, false
	for k := end; k > end/2; k-- {
		if gates[k].S == 1 && Stands(gates, k) {
			best, found = k, true
		}
		if found && gates[k].Burn {
			break
		}
	}
	return best
}

func (s *Terms) commit(gates []Gate, swing float64) (end int, ahead bool) {
	n := len(gates)
	end = moveEnd(gates, n-1-max(1, n/aheadPart)) // the last gate may still narrow
	if s.Rate <= 0 || end <= 0 {
		return max(0, end), true
	}
	need, seconds, k := (swing+s.Depth.Near+s.Depth.Far)/s.Rate, 0.0, n-1
	for ; k > 0 && seconds < need; k-- {
		seconds += gates[k].DT
	}
	if k = moveEnd(gates, k); k > 0 {
		return min(k, end), true
	}
	return end, false
}

// Stands reports whether the head as good as stands at gate k, behind the first.
func Stands(gates []Gate, k int) bool {
	return gates[k].Corner*gates[k].DT <= crawl*stretch(gates, k)
}

// stretch is how far it is to gate k from the one before, in mm.
func stretch(gates []Gate, k int) float64 {
	from := gates[k-1].S
	if from >= 1 {
		from = 0
	}
	return (gates[k].S - from) * gates[k].Length
}

// moveEnd is the last gate up to gate k that ends a move.
func moveEnd(gates []Gate, k int) int {
	for k > 0 && gates[k].S < 1 {
		k--
	}
	return k
}
