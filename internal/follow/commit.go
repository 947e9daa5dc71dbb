package follow

import (
	"sort"

	"sagitta/internal/corridor"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
)

// commit plans the horizon and writes what is safe to write, leaving the part
// that was only looked ahead at.
func (f *runner) commit() error {
	if !f.begun {
		return f.passPreamble()
	}
	end := f.commitGate()
	if end <= 0 {
		f.most *= 2 // one move, or one run of burns, is longer than the horizon
		return nil
	}
	n := f.planTo(end)
	if f.opt.ZRate <= 0 { // under a rate it is as long as that asks for
		f.most = f.usual
	}
	return f.write(n)
}

// planTo plans up to gate end, the end of a move, and gives the number of blocks
// up to there.
func (f *runner) planTo(end int) int {
	n := sort.Search(len(f.horizon.blocks), func(i int) bool { return int(f.horizon.blocks[i].g1) > end })
	f.horizon.lay(end)
	corners := f.horizon.plan.Waypoints
	if f.horizon.start.Free {
		f.layPreamble(f.preamble.n, corners[0].C)
	}
	q, was := 0, corners[0].C
	for i, h := range f.horizon.blocks[f.preamble.n:n] {
		for corners[q].Gate < int(h.g1) {
			q++
		}
		h.plan.C = corners[q].C
		if h.Move.Burn && h.g1 > h.g0 {
			h.plan.Longer = max(f.horizon.planner.Longer(int(h.g0)+1), f.horizon.planner.Longer(int(h.g1)))
		}
		if h.g0 != h.g1 && !h.stroke && h.ZOnly() && !f.takes(h, was, h.plan.C) {
			f.keepStroke(f.preamble.n+i, was)
		}
		was = h.plan.C
		if h.stroke {
			at := sort.Search(q, func(i int) bool { return corners[i].Gate >= int(h.g0) })
			h.plan.Stroke, h.plan.Before = true, corners[at].C
		}
		if f.opt.Inertia == nil && h.IsRun() && h.Move.Burn && q > 0 && corners[q-1].Gate == int(h.g0) && corners[q].Gate == int(h.g1) {
			f.leaveRoom(h, q)
		}
	}
	f.preamble.n = 0
	return n
}

// shortStretch in s is the shortest stretch over which Z has to keep its rate.
const shortStretch = 0.02

// keepStroke lets a block of Z alone that is to take a change of c from was, and would
// not be what it is any more, move as it did: c changes before it where it comes down,
// else before the next.
func (f *runner) keepStroke(k int, was float64) {
	blocks := f.horizon.blocks
	h := blocks[k]
	if from, to := f.horizon.tube.lift(&h.Move); to < from {
		if f.admits(k) {
			h.plan.Stroke, h.plan.Before = true, h.plan.C
		}
	} else if k+1 < len(blocks) && f.admits(k+1) && !blocks[k+1].stroke {
		next := blocks[k+1]
		next.plan.Stroke, next.plan.Before, h.plan.C = true, h.plan.C, was
	}
}

// mostWait is how many decimals Z may be later than half of one: so few that
// nothing is seen of it.
const mostWait = 4

// leaveRoom lets Z wait within a run, the link to corner q: as far as the tube has
// room for it, and its lines may make up for it as steeply as the string is.
func (f *runner) leaveRoom(h *pending, q int) {
	decimal := f.opt.Decimal(h.During.Inches)
	room := min(f.horizon.planner.Room(q), mostWait*decimal)
	if rate := f.opt.ZRate; rate > 0 { // what it makes up for must not be over the rate
		room = min(room, decimal/2+shortStretch*max(0, rate-f.horizon.plan.PeakBurn))
	}
	h.plan.Room, h.plan.Rate = room, f.horizon.plan.PeakBurn
	a, b := f.horizon.plan.Waypoints[q-1], f.horizon.plan.Waypoints[q]
	for _, c := range [2]corridor.Waypoint{a, b} {
		g := &f.horizon.tube.gates[c.Gate]
		f.trace.spend(g, c.C-room)
		f.trace.spend(g, c.C+room)
		f.trace.approach(c.C-room, g.Top, h, 1)
	}
}

// commitGate is the last end of a move that leaves enough to look ahead at;
// 0 asks for a longer horizon.
func (f *runner) commitGate() int {
	gates := f.horizon.tube.gates
	if f.aloft.own { // the last may become one with that before it, which then narrows
		gates = gates[:len(gates)-1]
	}
	end, ahead := f.horizon.planner.Commit(gates, f.opt.swing())
	switch {
	case ahead && f.opt.Inertia != nil && end > 0 && !corridor.Stands(gates, end) && f.most < rowHorizon*f.usual:
		return 0
	case ahead:
	case f.most < mostHorizon:
		return 0
	case f.sum.ShortHorizon == 0:
		f.sum.ShortHorizon = f.horizon.item(end).Block.Line
	}
	return end
}

// write writes the first n blocks and drops them and their gates.
func (f *runner) write(n int) error {
	q, gate, corners := 0, 0, f.horizon.plan.Waypoints
	// The source may use an item again once it is dropped.
	if n > 0 {
		gate = int(f.horizon.blocks[n-1].g1)
	}
	if len(corners) > 0 {
		f.trace.along(&f.horizon, gate)
	}
	for i, h := range f.horizon.blocks[:n] {
		for q < len(corners) && corners[q].Gate <= int(h.g0) {
			q++
		}
		for ; q < len(corners) && corners[q].Gate < int(h.g1); q++ {
			h.plan.Corners = append(h.plan.Corners, rewrite.Corner{S: f.horizon.tube.gates[corners[q].Gate].S, C: corners[q].C})
		}
		if f.opt.Fine && h.Moves() {
			h.plan.Next = f.next(i, q)
		}
		f.out.Pass(h.Item, h.plan)
		f.length -= h.Move.Length
		f.drop(h)
	}
	if len(corners) > 0 {
		q := sort.Search(len(corners), func(q int) bool { return corners[q].Gate >= gate })
		f.horizon.start = f.horizon.plan.Next(corners[q].C)
	}
	f.horizon.tube.gates = f.horizon.tube.gates[:copy(f.horizon.tube.gates, f.horizon.tube.gates[gate:])]
	f.horizon.tube.gates[0].DT, f.horizon.tube.gates[0].Burn = 0, false
	f.horizon.tube.dropAsks(gate)
	f.horizon.blocks = f.horizon.blocks[:copy(f.horizon.blocks, f.horizon.blocks[n:])]
	for _, h := range f.horizon.blocks {
		h.g0 -= int32(gate)
		h.g1 -= int32(gate)
	}
	f.lastBurn = max(-1, f.lastBurn-n)
	f.horizon.plan = corridor.Plan{}
	return f.out.Err()
}

// next is how long in s the first straight part of the item takes that moves next behind
// item i, 0 where the head stands before; the corners that are planned begin at corner q.
func (f *runner) next(i, q int) float64 {
	for _, h := range f.horizon.blocks[i+1:] {
		m := &h.Move
		switch {
		case !h.Moves() && m.Kind != machine.Dwell && h.Actions.Stop == 0:
			continue
		case h.g1 == h.g0: // nor is it known which way it goes
			return 0
		case h.IsRun():
			return m.Seconds * (h.Lines()[0].D - h.StartD) / m.Length
		}
		first := int(h.g0) + 1
		for _, c := range f.horizon.plan.Waypoints[q:] {
			if c.Gate >= first {
				first = min(c.Gate, int(h.g1))
				break
			}
		}
		return m.Seconds * f.horizon.tube.gates[first].S
	}
	return 0
}

// drop lets go of an item that is written.
func (f *runner) drop(h *pending) {
	f.source.Done(h.Item)
	f.spare = append(f.spare, h)
}
