package follow

import (
	"math"
	"slices"

	"sagitta/internal/clearance"
	"sagitta/internal/corridor"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

// preamble is what comes before the first burn. It has no gates: c stands still on
// it, high enough for all its travels.
type preamble struct {
	n int     // blocks of it that wait, once the first burn is met
	c float64 // where c stands at its start
}

// leadSlack in mm is more than the path may lie below a limit, to be told from it.
const leadSlack = 1e-6

// leadIn has c at the first burn, block i, as high as the travel before it asks, where the head
// has inertia and does not stand between: or it would have to stand there for Z to come down.
func (f *runner) leadIn(i int) {
	g := &f.horizon.tube.gates[0]
	if f.opt.Inertia == nil || g.Corner == 0 {
		return
	}
	for i--; i >= 0; i-- {
		if h := f.horizon.blocks[i]; h.Moves() {
			if need := f.needed(h) + leadSlack; need <= f.horizon.planner.Usual(g).Hi {
				g.Limit(need, math.Inf(1))
			}
			return
		}
	}
}

// addPreamble takes the gates of a block before the first burn into the preamble, and
// the way from where the head stands, where it is one.
func (f *runner) addPreamble(h *pending, way *machine.Move) {
	h.need, h.top = math.Inf(-1), math.Inf(-1)
	for k := range f.horizon.tube.gates {
		h.need, h.top = max(h.need, f.horizon.planner.Lowest(&f.horizon.tube.gates[k])), max(h.top, f.horizon.tube.gates[k].High)
	}
	if way != nil {
		for _, pc := range stream.AppendHeights(nil, f.opt.Surface, way, f.opt.mm(pieceTolerance), 0) {
			high := max(pc.H0, pc.H1) + pc.Up
			h.need, h.top = max(h.need, high+f.opt.lead()), max(h.top, high+f.opt.passes.Defocus)
		}
	}
	f.horizon.tube.restart()
	h.g0, h.g1 = 0, 0
}

// layPreamble decides the corrections of the preamble's first n blocks, which end at
// c. Wherever Z becomes known again, it begins anew.
func (f *runner) layPreamble(n int, c float64) {
	if n == 0 {
		f.layPart(0, 0, f.preamble.c, &c, false)
		// All before the burn is written, so that nothing else can take the change.
		if first := f.horizon.blocks[0]; f.begun && !first.plan.Stroke && f.out.Off(c) {
			f.fails.at(first.Block.Line, [2]float64{first.Move.From.X, first.Move.From.Y}, NoWay, math.Abs(c-f.preamble.c))
		}
	}
	for i, j := 0, 0; i < n; i = j {
		for j = i + 1; j < n && !f.arrives(j); j++ {
		}
		was, fresh := f.preamble.c, f.arrives(i)
		if fresh {
			was = f.opt.Defocus
		}
		if fresh && f.rests(f.horizon.blocks[i]) {
			was, fresh = 0, false
		}
		if j < n {
			f.layPart(i, j, was, nil, fresh)
		} else {
			f.layPart(i, j, was, &c, fresh)
		}
	}
	f.preambleApproach(n)
}

// layPart does it for the blocks from i to n, from was to c: up before
// anything moves, down after the last travel over XY. Where Z is lost at the
// end, there is no c to come to. A fresh part begins with a block that gives
// Z, and so c, whatever it was.
func (f *runner) layPart(i, n int, was float64, c *float64, fresh bool) {
	first, after := n, i // the first motion; where the last travel is over
	up := was
	if c != nil {
		up = *c
	}
	for k, h := range f.horizon.blocks[i:n] {
		if h.Moves() && first == n && !(f.rests(h) && f.needed(h) <= was) {
			first = i + k
		}
		// Where the head has inertia it had better not stand still just before a burn that
		// it is led into.
		if h.Travels() && (f.opt.Inertia == nil || c == nil || h.Move.Rapid) || c != nil && max(f.needed(h), f.neededBefore(h)) > *c {
			after = i + k + 1 // or one of Z alone that goes down so far, or up from there
		}
		h.plan.C = was
		up = max(up, f.needed(h))
	}
	if late := max(after, first); late < n && f.admitsAny(late, n) {
		after = late
	}
	if fresh {
		for _, h := range f.horizon.blocks[i:n] {
			h.plan.C = up
		}
	} else {
		up = max(up, was)
		f.change(i, first, n, was, up)
	}
	if c != nil {
		late := n
		if f.opt.Inertia != nil && f.admits(after) {
			late = after
		}
		f.change(after, late, n, up, *c)
	}
	for k := i + 1; k < n; k++ {
		f.easeUp(k, n)
	}
}

// easeUp lets c be 0 from block k, where that is a retract to a safe height, up to the
// block before n that comes down from it.
func (f *runner) easeUp(k, n int) {
	blocks := f.horizon.blocks
	free := func(h *pending) bool { return !h.plan.Stroke && h.Move.Lost == 0 }
	if h := blocks[k]; h.During.Relative || !free(h) || !f.rests(h) || !f.takes(h, blocks[k-1].plan.C, 0) {
		return
	}
	down := k + 1
	for down < n && free(blocks[down]) && (!blocks[down].Moves() || f.rests(blocks[down]) && f.needed(blocks[down]) <= 0) {
		down++
	}
	if down < n && free(blocks[down]) && f.takes(blocks[down], 0, blocks[down].plan.C) {
		for _, h := range blocks[k:down] {
			h.plan.C = 0
		}
	}
}

// passPreamble writes a preamble that has grown as long as the horizon, up to where a
// block of Z alone can still be put in.
func (f *runner) passPreamble() error {
	n := len(f.horizon.blocks)
	for n > 0 && !dark(f.before(n)) {
		n--
	}
	if n < len(f.horizon.blocks)/2 {
		f.most *= 2
		return nil
	}
	up := f.preamble.c
	for _, h := range f.horizon.blocks[:n] {
		up = max(up, f.needed(h))
	}
	for _, h := range f.horizon.blocks[:n] { // what it allows focus to be
		f.horizon.tube.tip.allows = min(f.horizon.tube.tip.allows, up-h.needTip)
	}
	f.layPreamble(n, up)
	f.preamble = preamble{c: up}
	f.horizon.start.C = up
	return f.write(n)
}

// change lets c change from one value to another between the blocks i and j,
// and carries the new value up to block n. It takes a block of Z alone that the program has there
// (block j itself also counts), or adds one where the beam cannot fire;
// failing both, the change goes on with the motion before it.
func (f *runner) change(i, j, n int, was, c float64) {
	if c == was {
		return
	}
	at := -1
	for k := min(j, n-1); k >= i && at < 0; k-- {
		if f.takes(f.horizon.blocks[k], was, c) && !f.misses(k, n, c) {
			at = k
		}
	}
	for k := j; k >= i && at < 0; k-- {
		if k < len(f.horizon.blocks) && f.admits(k) {
			at = k
			plan := &f.horizon.blocks[k].plan
			plan.Before, plan.Stroke, plan.Modes = c, true, f.modes(k)
		}
	}
	if at < 0 {
		at = max(0, i-1)
		f.turnDown(f.horizon.blocks[at], was, c)
	}
	for k := min(i, at); k < n; k++ {
		f.horizon.blocks[k].plan.C = was
		if k >= at {
			f.horizon.blocks[k].plan.C = c
		}
	}
}

// admitsAny reports whether a block of Z alone can be put in before one of the
// blocks from i to j.
func (f *runner) admitsAny(i, j int) bool {
	for k := i; k <= j && k < len(f.horizon.blocks); k++ {
		if f.admits(k) {
			return true
		}
	}
	return false
}

// turnDown lets a travel that must take a fall of c keep its height until the
// fall is as steep as the surface is anywhere, so that it stays clear.
func (f *runner) turnDown(h *pending, was, c float64) {
	length := h.Move.Length
	if c >= was || h.Move.FromUnknown || h.Move.ZUnknown || !h.Travels() || length < stream.ShortestCut {
		return
	}
	fall := length / 2
	if slope := f.opt.Surface.MaxSlope(); slope > 0 {
		fall = min(fall, (was-c)/slope)
	}
	fall = f.clearFall(h, was, c, max(fall, corridor.ClosestCut))
	h.plan.Corners = append(h.plan.Corners, rewrite.Corner{S: 1 - fall/length, C: was})
}

// misses reports whether a move from block i to block n leaves the range of Z at
// correction c.
func (f *runner) misses(i, n int, c float64) bool {
	return slices.ContainsFunc(f.horizon.blocks[i:n], func(h *pending) bool {
		return h.Moves() && h.After.ZKnown && f.opt.OutOfRange(h.Move.To.Z+f.opt.Sigma()*c) > 0
	})
}

// leastStroke is what must be left of a move of Z alone that takes a change of
// c, in mm: more than rounding makes of it.
const leastStroke = 0.05

// takes reports whether a block of Z alone can take c from one value to another
// and still move Z the way it did: a retract stays a retract.
func (f *runner) takes(h *pending, from, to float64) bool {
	if !h.ZOnly() {
		return false
	}
	dz := h.Move.To.Z - h.Move.From.Z
	left := dz + f.opt.Sigma()*(to-from)
	return dz*left > 0 && math.Abs(left) > leastStroke
}

// dark reports whether the beam cannot fire, as far as the program has said anything
// of it.
func dark(st *machine.State) bool { return st.Beam != machine.On }

// arrives reports whether Z becomes known with block k.
func (f *runner) arrives(k int) bool { return f.horizon.blocks[k].After.ZKnown && !f.before(k).ZKnown }

// before is what is in force between block k-1 and block k.
func (f *runner) before(k int) *machine.State {
	if k > 0 {
		return &f.horizon.blocks[k-1].After
	}
	return f.out.State()
}

// admits reports whether a block of Z alone can be put in before block k: the
// beam cannot fire, Z is known, and its numbers mean there what they mean at
// the first motion.
func (f *runner) admits(k int) bool {
	st := f.before(k)
	if !dark(st) || !st.ZKnown {
		return false
	}
	for q := k; !st.Settled && q < len(f.horizon.blocks); q++ {
		h := f.horizon.blocks[q]
		// A work offset on block k itself goes before the block of Z.
		a := &h.Actions
		if a.Codes[machine.NonModal] == 100 || q > k && a.G[machine.WorkOffset] != 0 {
			return false
		}
		if h.After.Settled {
			break
		}
	}
	return true
}

// modes are those at the first motion, where that comes behind block k; else nil.
func (f *runner) modes(k int) *machine.State {
	if f.before(k).Moved {
		return nil
	}
	for _, h := range f.horizon.blocks[k:] {
		if h.After.Moved {
			return &h.During
		}
	}
	return nil
}

// preambleApproach takes the first n blocks of the preamble into the closest approach.
func (f *runner) preambleApproach(n int) {
	c := f.preamble.c
	for k, h := range f.horizon.blocks[:n] {
		if h.plan.Stroke {
			c = h.plan.Before
		}
		from, to := f.horizon.tube.counted(&h.Move)
		if h.Move.Length == 0 && h.ZOnly() {
			from, _ = f.horizon.tube.lift(&h.Move)
		}
		f.trace.approach(min(c+max(0, from), h.plan.C+to), h.top-f.opt.passes.Defocus, h, 1)
		if h.Travels() && !h.Move.FromUnknown && !h.Move.ZUnknown && c < f.needed(h)-rounding {
			f.risesOn(h, c)
		}
		if h.Moves() || f.arrives(k) { // no other takes c along
			c = h.plan.C
		}
	}
}

// risesOn notes a travel that c rises on from was, as nothing before it takes that, if it
// is not clear.
func (f *runner) risesOn(h *pending, was float64) {
	m, t, worst := &h.Move, &f.horizon.tube.tip, 0.0
	from, to := f.horizon.tube.counted(m)
	asks := func(s, need float64) { worst = max(worst, need-(was+s*(h.plan.C-was))) }
	over := func(s, high float64) {
		need := high + f.opt.lead()
		if lift := from + s*(to-from); lift > 0 {
			need = min(need, high+f.opt.passes.Defocus+leastLift-lift)
		}
		asks(s, need)
	}
	for _, pc := range stream.AppendHeights(nil, f.opt.Surface, m, f.opt.mm(pieceTolerance), 0) {
		over(pc.S0, pc.H0+pc.Up)
		over(pc.S1, pc.H1+pc.Up)
	}
	if t.Model != nil && t.known {
		for _, p := range t.Append(nil, m, 0) {
			asks(p.S0, p.High-clearance.Programmed(m, t.sigma, p.S0, p.S1)+t.focus)
		}
	}
	if worst > rounding {
		f.fails.at(h.Block.Line, [2]float64{m.From.X, m.From.Y}, NoWay, worst)
	}
}
