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
	// Min and Max are limits of c that no depth widens, infinite where there
	// are none.
	Min, Max float64
	// S is the fraction of its move at which the gate stands, 0 < S <= 1, and
	// Length is that of the whole move in mm. The move ends where S is 1; the
	// first gate of a window ends one.
	S, Length float64
	// Burn tells that the stretch before the gate burns, and Slow that it may
	// take longer for that than at the programmed feed.
	Burn, Slow bool
	// Corner is the greatest speed in mm/s at which the head passes the gate as its way
	// over XY turns there, +Inf straight on and 0 where it stands, and Turn by how much it
	// does, as for motion.Limits.Rise.
	Corner, Turn float64
}

// Open is a gate that allows everything, at the end of a move.
func Open() Gate {
	return Gate{High: math.Inf(-1), Low: math.Inf(1), Min: math.Inf(-1), Max: math.Inf(1), S: 1}
}

// Serve takes what is to be in best focus into the gate: all heights from low to
// high, low being +Inf for a travel.
func (g *Gate) Serve(high, low float64) {
	g.High, g.Low = max(g.High, high), min(g.Low, low)
}

// Limit narrows the limits.
func (g *Gate) Limit(least, most float64) {
	g.Min, g.Max = max(g.Min, least), min(g.Max, most)
}

// Window is what the gate allows where the given part of the depth may be spent.
// It may be empty.
func (g *Gate) Window(d focus.Depth, part float64) focus.Window {
	return focus.Window{
		Lo: max(g.High-part*d.Near, g.Min),
		Hi: min(g.Low+part*d.Far, g.Max),
	}
}

// part is the part of the depth that the gate needs against envelopes of others:
// against the greatest and the least that is to be in best focus, and the limits.
func (g *Gate) part(d focus.Depth, e *Gate) float64 {
	return max(max(g.High-e.Low, e.High-g.Low)/(d.Near+d.Far), (g.High-e.Max)/d.Near, (e.Min-g.Low)/d.Far)
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
	if s.Inertia != nil { // best where the head stands, as nothing there asks how it came
		for k := end; k > end/2; k-- {
			if gates[k].S == 1 && gates[k].Corner == 0 {
				return k, ahead
			}
		}
	}
	return end, ahead
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

// moveEnd is the last gate up to gate k that ends a move.
func moveEnd(gates []Gate, k int) int {
	for k > 0 && gates[k].S < 1 {
		k--
	}
	return k
}
