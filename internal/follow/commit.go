package follow

import "sort"

// aheadPart is the part of the window that is only looked ahead at.
const aheadPart = 4

// commit plans the window and writes what is safe to write, leaving the part
// that was only looked ahead at.
func (f *runner) commit() error {
	if !f.begun {
		return f.passHead()
	}
	end := f.commitGate()
	if end <= 0 {
		f.window *= 2 // one move, or one run of burns, is longer than the window
		return nil
	}
	n := f.planTo(end)
	if f.opt.ZRate <= 0 { // under a rate it is as long as that asks for
		f.window = f.usual
	}
	return f.write(n)
}

// planTo plans up to gate end, the end of a move, and gives the number of blocks
// up to there.
func (f *runner) planTo(end int) int {
	n := sort.Search(len(f.blocks), func(i int) bool { return int(f.blocks[i].g1) > end })
	f.pullAll()
	f.plan(end)
	f.nearLinks()
	if f.startFree {
		f.layHead(f.head.n, f.c[0])
	}
	for _, h := range f.blocks[f.head.n:n] {
		h.c = f.c[h.g1]
	}
	f.head.n = 0
	return n
}

// commitGate is the last end of a move that leaves enough to look ahead at;
// 0 asks for a longer window.
func (f *runner) commitGate() int {
	n := len(f.gates)
	end := n - 1 - max(1, n/aheadPart) // the last gate may still narrow
	for end > 0 && f.gates[end].s < 1 {
		end--
	}
	if f.opt.ZRate <= 0 || end <= 0 {
		return end
	}
	// What lies further ahead than Z needs for everything that may come
	// asks nothing of here.
	lo, hi, _, _ := f.opt.Surface.Range()
	need := (hi - lo + f.opt.Depth.Near + f.opt.Depth.Far) / f.opt.ZRate
	ahead, k := 0.0, n-1
	for ; k > 0 && ahead < need; k-- {
		ahead += f.gates[k].dt
	}
	for k > 0 && f.gates[k].s < 1 {
		k--
	}
	switch {
	case k > 0:
		return min(k, end)
	case f.window < mostWindow:
		return 0
	case !f.warned:
		f.warned = true
		f.sum.ShortWindow = f.blocks[max(0, f.gates[end].move)].block.Line
	}
	return end
}

// write writes the first n blocks and drops them and their gates.
func (f *runner) write(n int) error {
	q, gate := 0, 0
	if n > 0 {
		gate = int(f.blocks[n-1].g1) // before the source may use it again
	}
	for _, h := range f.blocks[:n] {
		f.out.corners = f.out.corners[:0]
		for q < len(f.nodes) && f.nodes[q].gate <= int(h.g0) {
			q++
		}
		for ; q < len(f.nodes) && f.nodes[q].gate < int(h.g1); q++ {
			g := f.nodes[q].gate
			f.out.corners = append(f.out.corners, corner{s: f.gates[g].s, c: f.c[g]})
		}
		if h.bends {
			f.out.corners = append(f.out.corners, h.bend)
		}
		f.out.item(h)
		f.length -= h.mv.Length
		f.drop(h)
	}
	if len(f.nodes) > 0 {
		f.spend(gate)
		f.start, f.startFree = f.c[gate], false
	}
	f.gates = f.gates[:copy(f.gates, f.gates[gate:])]
	f.gates[0].dt, f.gates[0].move, f.gates[0].burn = 0, -1, false
	f.blocks = f.blocks[:copy(f.blocks, f.blocks[n:])]
	for k := range f.gates[1:] {
		f.gates[k+1].move -= int32(n)
	}
	for _, h := range f.blocks {
		h.g0 -= int32(gate)
		h.g1 -= int32(gate)
	}
	f.lastBurn -= n
	if f.lastBurn < -1 {
		f.lastBurn = -1
	}
	f.nodes = f.nodes[:0]
	return f.out.err
}

// drop lets go of an item that is written.
func (f *runner) drop(h *held) {
	b := h.batch
	if b.written++; b.written == len(b.items) {
		f.batches--
		f.giveBack(b)
	}
}
