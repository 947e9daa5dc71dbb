package follow

import (
	"math"
	"slices"

	"sagitta/internal/bench"
	"sagitta/internal/corridor"
	"sagitta/internal/machine"
)

// A height that the program itself rises to is safe where the lens is further from
// all that is passed there than in best focus, the head clear and Z within its range,
// at the one c that leaves the words as they are: 0, or in G91 what it was before.
// Travels at it take no time on the string and ask nothing of it: c changes where the
// program rises and where it comes down.

// leastLift is by how much the lens must be further than in best focus at a safe
// height, in mm: a retract must stay one.
const leastLift = leastStroke

const (
	// easeTime is the time in s that stands for a travel on which c is to change and not
	// beside it: so long that next to nothing of the change is left to a burn.
	easeTime = 1e5
	// strokeTime is the same for a block of Z alone between gates that both leave c a
	// choice. There may be thousands of them in a row, and times a billionth of a second
	// apart must still be told.
	strokeTime = 1e3
)

// aloftState says how the place after the last motion stands to a safe height.
type aloftState uint8

const (
	// low: it is at none.
	low aloftState = iota
	// risen: it may be at one, if what comes next is clear there.
	risen
	// crossing: the last motion is a travel at one, which is taken off the string
	// if the next leads on at it, or down from it.
	crossing
)

// aloft follows the program to safe heights and back.
type aloft struct {
	state aloftState
	// h is the motion that led here.
	h *pending
	// own: it rose to a gate of its own, where c is to be 0; else c stays as it is.
	own bool
	// over: it rose from a safe height.
	over bool
	// lo and hi bound what c is here.
	lo, hi float64
	// falls: the motion under way comes down from a safe height as it travels.
	falls bool
}

// lift is how far the program lifts Z over the first burn where a move begins and
// where it ends, away from the stock; nothing where Z is moved by hand.
func (tb *tubeBuilder) lift(m *machine.Move) (from, to float64) {
	t := &tb.tip
	if !t.known || tb.opt.ZMoves == bench.ByHand {
		return 0, 0
	}
	return t.sigma*m.From.Z - t.focus, t.sigma*m.To.Z - t.focus
}

// counted is what of its lift counts as clearance on a travel: of one that is below
// the first burn anywhere nothing, of a loose one the least, as of the rest nobody
// knows where it is. One of Z alone counts where it ends.
func (tb *tubeBuilder) counted(m *machine.Move) (from, to float64) {
	from, to = tb.lift(m)
	if m.Length == 0 || m.FromUnknown || m.ZUnknown {
		from = to
	}
	least := min(from, to)
	switch {
	case least < -rounding:
		return 0, 0
	case m.Loose:
		return least, least
	}
	return from, to
}

// asked is what a travel asks of c: where it begins, over all, and where it ends.
type asked struct{ start, all, end corridor.Gate }

// ask tells what a travel asks of c.
func (tb *tubeBuilder) ask(h *pending) (a asked) {
	last := len(tb.gates) - 1
	was, asks := tb.gates[last], len(tb.asks)
	tb.gates[last] = corridor.Open()
	tb.lead(h.Item)
	gates := tb.gates[last:]
	a = asked{gates[0], gates[0], gates[len(gates)-1]}
	for k := range gates {
		a.all.Serve(gates[k].High, gates[k].Low)
		a.all.Limit(gates[k].Min, gates[k].Max)
	}
	tb.gates, tb.asks = tb.gates[:last+1], tb.asks[:asks]
	tb.gates[last] = was
	return a
}

// safe reports whether what is asked is met at a safe height by any c between two.
func safe(g *corridor.Gate, lo, hi float64) bool {
	return g.High+leastLift <= lo && g.Min <= lo && g.Max >= hi
}

// trackHeight takes note of the next motion before its gates are laid: with it, it is known
// whether the place before it is at a safe height.
func (f *runner) trackHeight(h *pending) {
	m, a, tb := &h.Move, &f.aloft, &f.horizon.tube
	if !h.Moves() && !m.Burn {
		return
	}
	if m.Burn {
		f.cancelHeight()
		return
	}
	if !h.Known() || m.FromUnknown || m.ZUnknown || m.Lost != 0 {
		if a.state != low { // of what comes next nobody knows what it passes
			f.confirmHeight()
		}
		*a = aloft{}
		return
	}
	from, to := tb.lift(m)
	if m.Length == 0 && from == to {
		return
	}
	if max(from, to) <= leastLift {
		f.cancelHeight()
		return
	}
	ask := tb.ask(h)
	if a.state == low {
		if to > from && to > leastLift && safe(&ask.end, 0, 0) && (m.Length == 0 || !h.During.Relative) {
			f.rise(h, &ask)
		}
		return
	}
	switch {
	case m.Length == 0 && to > leastLift && safe(&ask.end, a.lo, a.hi):
		f.confirmHeight()
		f.rise(h, &ask)
	case m.Length == 0 && ask.end.High > from-max(0, to)-leastLift:
		f.cancelHeight() // it would not come down any more
	case m.Length == 0:
		f.confirmHeight()
		f.stroke()
		*a = aloft{}
	case min(from, to) > leastLift && safe(&ask.all, a.lo, a.hi):
		f.confirmHeight()
		a.state, a.h = crossing, h
	case safe(&ask.start, a.lo, a.hi) && to < from:
		f.confirmHeight()
		*a = aloft{falls: true}
	default:
		f.cancelHeight()
	}
}

// rise lets the block h lead to what may be a safe height.
func (f *runner) rise(h *pending, ask *asked) {
	a, g := &f.aloft, &f.horizon.tube.gates[len(f.horizon.tube.gates)-1]
	over := a.state != low
	*a = aloft{state: risen, h: h, over: over}
	if h.Move.Length > 0 {
		return
	}
	if h.During.Relative && g.Min < g.Max {
		w := g.Window(f.opt.Depth, 1)
		lo, hi := w.Lo, min(w.Hi, g.High+f.horizon.planner.Depth.Far)
		if safe(&ask.end, lo, hi) {
			a.lo, a.hi, h.held = lo, hi, true
			return
		}
	}
	a.own = true
	f.stroke()
}

// stroke appends a gate for a block of Z alone that takes any change of c.
func (f *runner) stroke() {
	tb := &f.horizon.tube
	g := stroke()
	g.DT = strokeTime
	if was := &tb.gates[len(tb.gates)-1]; f.aloft.own || was.Min == was.Max {
		g.DT = corridor.LongTime
	}
	tb.gates = append(tb.gates, g)
}

// confirmHeight makes the place before the next motion one at a safe height.
func (f *runner) confirmHeight() {
	a, tb := &f.aloft, &f.horizon.tube
	switch {
	case a.state == crossing:
		f.cutBack(int(a.h.g0))
	case a.own:
		tb.gates[len(tb.gates)-1].Limit(0, 0)
	case a.h.Move.Length > 0:
		f.ease(a.h)
		tb.gates[len(tb.gates)-1].Limit(0, 0)
	}
	a.own = false
}

// ease gives c time to change on a travel over XY to a safe height or down from one, so
// that no burn beside it does.
func (f *runner) ease(h *pending) {
	gates, seconds := f.horizon.tube.gates[h.g0+1:h.g1+1], 0.0
	for k := range gates {
		seconds += gates[k].DT
	}
	for k := range gates {
		gates[k].DT *= max(1, easeTime/seconds)
	}
}

// cancelHeight lets the place before the next motion be at no safe height.
func (f *runner) cancelHeight() {
	a, tb := &f.aloft, &f.horizon.tube
	switch a.state {
	case risen:
		a.h.held = false
	case crossing:
		f.ease(a.h)
	}
	switch last := len(tb.gates) - 1; {
	case a.state != risen || !a.own:
	case a.over:
		if g := &tb.gates[last-1]; g.Min < g.Max {
			tb.gates[last].DT = strokeTime
		}
	default:
		g := tb.gates[last]
		tb.gates[last-1].Take(&g)
		for k := range tb.asks {
			tb.asks[k].gate = min(tb.asks[k].gate, last-1)
		}
		f.cutBack(last - 1)
	}
	*a = aloft{}
}

// cutBack takes away the gates behind a gate: what led to them stays there.
func (f *runner) cutBack(gate int) {
	f.horizon.tube.cutBack(gate)
	for k := len(f.horizon.blocks) - 1; k >= 0 && int(f.horizon.blocks[k].g1) > gate; k-- {
		b := f.horizon.blocks[k]
		b.g0, b.g1 = min(b.g0, int32(gate)), int32(gate)
	}
}

func (tb *tubeBuilder) cutBack(gate int) {
	tb.gates = tb.gates[:gate+1]
	tb.asks = slices.DeleteFunc(tb.asks, func(a headAsk) bool { return a.gate > gate })
}

// closeHeight decides what is left open where the program ends, and reports whether it ends
// at a safe height with c at 0. Where c is still what it was below, what is asked up
// there stands in the last gate.
func (f *runner) closeHeight() bool {
	a, tb := &f.aloft, &f.horizon.tube
	last := len(tb.gates) - 1
	from := last
	if a.state == crossing {
		from = int(a.h.g0)
	}
	switch g := &tb.gates[from]; {
	case a.state == low:
		return false
	case a.own || a.h.Move.Length > 0 && a.state == risen || g.Min == 0 && g.Max == 0:
		f.confirmHeight()
		return true
	case a.state == crossing:
		return false
	}
	tb.stroke()
	f.stand(f.before(len(f.horizon.blocks)))
	for k := len(f.horizon.blocks) - 1; k >= 0 && f.horizon.blocks[k] != a.h; k-- {
		f.horizon.blocks[k].g0, f.horizon.blocks[k].g1 = int32(last+1), int32(last+1)
	}
	return false
}

// rests reports whether a block before the first burn is at a safe height where it
// ends, c being 0. Where the place is not known, that is one over all of the surface.
func (f *runner) rests(h *pending) bool {
	tb, top := &f.horizon.tube, h.top
	if !tb.tip.known || h.Move.Lost != 0 || !h.After.ZKnown {
		return false
	}
	if math.IsInf(top, -1) {
		top = tb.high + f.opt.passes.Defocus
	}
	_, to := tb.lift(&h.Move)
	return to >= max(0, top)+leastLift
}
