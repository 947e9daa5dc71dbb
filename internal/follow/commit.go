package follow

import (
	"sort"

	"sagitta/internal/corridor"
	"sagitta/internal/rewrite"
)

// commit plans the window and writes what is safe to write, leaving the part
// that was only looked ahead at.
func (f *runner) commit() error {
	if !f.begun {
		return f.passPreamble()
	}
	end := f.commitGate()
	if end <= 0 {
		f.most *= 2 // one move, or one run of burns, is longer than the window
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
	n := sort.Search(len(f.window.blocks), func(i int) bool { return int(f.window.blocks[i].g1) > end })
	f.window.lay(end)
	corners := f.window.plan.Waypoints
	if f.window.start.Free {
		f.layPreamble(f.preamble.n, corners[0].C)
	}
	q := 0
	for _, h := range f.window.blocks[f.preamble.n:n] {
		for corners[q].Gate < int(h.g1) {
			q++
		}
		h.plan.C = corners[q].C
		if h.IsRun() && h.Move.Burn && q > 0 && corners[q-1].Gate == int(h.g0) && corners[q].Gate == int(h.g1) {
			f.leaveRoom(h, q)
		}
	}
	f.preamble.n = 0
	return n
}

// mostWait is how many decimals Z may be later than half of one: so few that
// nothing is seen of it.
const mostWait = 4

// leaveRoom lets Z wait within a run, the link to corner q: as far as the tube has
// room for it, and its lines may make up for it as steeply as the string is.
func (f *runner) leaveRoom(h *pending, q int) {
	room := min(f.window.planner.Room(q), mostWait*f.opt.Decimal(h.During.Inches))
	h.plan.Room, h.plan.Rate = room, f.window.plan.PeakBurn
	a, b := f.window.plan.Waypoints[q-1], f.window.plan.Waypoints[q]
	for _, c := range [2]corridor.Waypoint{a, b} {
		g := &f.window.tube.gates[c.Gate]
		f.trace.spend(g, c.C-room)
		f.trace.spend(g, c.C+room)
		f.trace.approach(c.C-room, g.High, h, 1)
	}
}

// commitGate is the last end of a move that leaves enough to look ahead at;
// 0 asks for a longer window.
func (f *runner) commitGate() int {
	lo, hi, _, _ := f.opt.Surface.Range()
	end, ahead := f.window.planner.Commit(f.window.tube.gates, hi-lo)
	switch {
	case ahead:
	case f.most < mostWindow:
		return 0
	case f.sum.ShortWindow == 0:
		f.sum.ShortWindow = f.window.item(end).Block.Line
	}
	return end
}

// write writes the first n blocks and drops them and their gates.
func (f *runner) write(n int) error {
	q, gate, corners := 0, 0, f.window.plan.Waypoints
	// The source may use an item again once it is dropped.
	if n > 0 {
		gate = int(f.window.blocks[n-1].g1)
	}
	if len(corners) > 0 {
		f.trace.along(&f.window, gate)
	}
	for _, h := range f.window.blocks[:n] {
		for q < len(corners) && corners[q].Gate <= int(h.g0) {
			q++
		}
		for ; q < len(corners) && corners[q].Gate < int(h.g1); q++ {
			h.plan.Corners = append(h.plan.Corners, rewrite.Corner{S: f.window.tube.gates[corners[q].Gate].S, C: corners[q].C})
		}
		f.out.Pass(h.Item, h.plan)
		f.length -= h.Move.Length
		f.drop(h)
	}
	if len(corners) > 0 {
		q := sort.Search(len(corners), func(q int) bool { return corners[q].Gate >= gate })
		f.window.start = corridor.Start{C: corners[q].C, Peak: f.window.plan.Peak, PeakBurn: f.window.plan.PeakBurn}
	}
	f.window.tube.gates = f.window.tube.gates[:copy(f.window.tube.gates, f.window.tube.gates[gate:])]
	f.window.tube.gates[0].DT, f.window.tube.gates[0].Burn = 0, false
	f.window.tube.dropAsks(gate)
	f.window.blocks = f.window.blocks[:copy(f.window.blocks, f.window.blocks[n:])]
	for _, h := range f.window.blocks {
		h.g0 -= int32(gate)
		h.g1 -= int32(gate)
	}
	f.lastBurn = max(-1, f.lastBurn-n)
	f.window.plan = corridor.Plan{}
	return f.out.Err()
}

// drop lets go of an item that is written.
func (f *runner) drop(h *pending) {
	f.source.Done(h.Item)
	f.spare = append(f.spare, h)
}
