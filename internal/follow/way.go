package follow

import (
	"math"

	"sagitta/internal/corridor"
	"sagitta/internal/machine"
)

// way follows the direction of the head over XY, for the speed at which it passes from one
// move to the next.
type way struct {
	// known tells that the last motion ended at the last gate, in direction to.
	known bool
	to    [2]float64
}

// turn notes at the gate where an item begins, whose own gates are laid behind it, how the
// head passes it.
func (w *way) turn(gates []corridor.Gate, h *pending, o *Options) {
	if o.Inertia == nil {
		return
	}
	m, a := &h.Move, &h.Actions
	if a.Beam != 0 && o.StopsAtBeam {
		w.known = false
	}
	if !h.Moves() || m.Length == 0 {
		if h.Moves() || m.Kind == machine.Dwell || a.Stop != 0 || a.Ends {
			w.known = false
		}
		return
	}
	laid := h.g1 > h.g0 && !m.FromUnknown && !m.ZUnknown
	in, out := h.Heading(false), h.Heading(true)
	if g := &gates[h.g0]; laid && w.known {
		g.Corner = o.Inertia.Turn(w.to, in)
		g.Turn = math.Hypot(in[0]-w.to[0], in[1]-w.to[1])
	} else {
		g.Corner = 0
	}
	w.known, w.to = laid && a.Stop == 0, out
}

const (
	// bendOff is by what part of the depth a path that bends at gates may be off one whose slope
	// changes all along.
	bendOff = 0.01
	// bendFinest is how many gates may stand in the time of a bend at most for that.
	bendFinest = 4
	// bendsEven is how many gates stand evenly next to where the height bends at most, and
	// bendGrowth how many times further apart the next is behind those.
	bendsEven, bendGrowth = 32, 1.5
)

// bendTime is the time in s in which Z, at its acceleration, changes its speed by what a
// corner may have: where it bends they need stand no closer, but for the depth to be so little
// that it matters by how much chords of its way are off that. It is 0 where nothing is known
// of it.
func (o *Options) bendTime() float64 {
	l := o.Inertia
	if l == nil || l.Accel[2] <= 0 {
		return 0
	}
	most := corridor.Gentle * l.Rise(0, 1) / l.Accel[2]
	// Of a parabola of acceleration a a chord of time t is off by a·t²/8.
	return min(most, max(most/bendFinest, math.Sqrt(8*bendOff*min(o.Depth.Near, o.Depth.Far)/l.Accel[2])))
}

// bendReach is the time in s on either side of a bend of the height over which Z turns from one
// speed to another at its acceleration a, where it spends all of the depth d for it: of the
// difference v of these speeds v²/(16·a) is off, and half of v/a is what it takes.
func (o *Options) bendReach() float64 {
	return 2 * math.Sqrt(max(o.Depth.Near, o.Depth.Far)/o.Inertia.Accel[2])
}

// divide divides pieces of a move that takes so long so that its path can bend between the
// ends of each: a bendTime apart as far from them as a bend reaches, and further behind that.
func (tb *tubeBuilder) divide(m *machine.Move) {
	least := tb.opt.bendTime()
	if least <= 0 || m.Seconds <= 0 || m.Length <= 0 {
		return
	}
	if least = max(least/m.Seconds, corridor.ClosestCut/m.Length); least > 0.5 {
		return
	}
	reach := min(tb.opt.bendReach()/m.Seconds, bendsEven*least)
	tb.whole = append(tb.whole[:0], tb.pieces...)
	tb.pieces = tb.pieces[:0]
	for k := range tb.whole {
		whole, rest := &tb.whole[k], tb.whole[k]
		length := whole.S1 - whole.S0
		tb.ends = tb.ends[:0]
		for d, step := least, least; d < length/2; d += step {
			if tb.ends = append(tb.ends, d); d > reach {
				step *= bendGrowth
			}
		}
		n := len(tb.ends)
		for k := range 2 * n {
			d := tb.ends[min(k, 2*n-1-k)]
			if k >= n {
				if d = length - d; d-tb.ends[n-1] < least/2 {
					continue
				}
			}
			part := rest
			part.S1 = whole.S0 + d
			part.H1 = whole.H0 + (whole.H1-whole.H0)*d/length
			rest.S0, rest.H0 = part.S1, part.H1
			tb.pieces = append(tb.pieces, part)
		}
		tb.pieces = append(tb.pieces, rest)
	}
}
