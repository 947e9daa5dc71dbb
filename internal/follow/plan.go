package follow

import (
	"sort"

	"sagitta/internal/corridor"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
)

// held is a block that waits for its correction.
type held struct {
	block program.Block
	mv    machine.Move
	// during are the modes in force while the block moves, after those it
	// leaves: the end of a program resets them.
	during, after machine.State
	// g0 and g1 are the gates of the move's ends.
	g0, g1 int32
	// c is the correction at the end of the block.
	c float64
	// pre, where set, is the correction to go to in a block of Z alone
	// before this one.
	pre    float64
	hasPre bool
	// need is the lowest c that is clear on the block, before the first burn.
	need float64
	// needTip is the same for c and the Z of the first burn together, away
	// from the stock: what the head asks for.
	needTip float64
	// top is the highest a there, see gate.
	top float64
	// bend, where bends, is a corner of a travel of the head.
	bend  corner
	bends bool

	// batch is what the item came with.
	batch *batch
	// A chunk of a strand is the lines of the batch's marks from first up to
	// end, which is 0 for a block. Its block has the place of the first line
	// alone, and mv is the whole chunk's.
	first, end int
	startD     float64 // where it starts along the strand, as the marks count
	pieces     [2]surface.Piece
	// low and high are the places of the least height and the greatest; burns
	// and burnLength its burns.
	low, high  spot
	burns      int
	burnLength float64
}

// isChunk tells a chunk of a strand.
func (h *held) isChunk() bool { return h.end > 0 }

// lines is how many lines of the program the item is.
func (h *held) lines() int {
	if h.isChunk() {
		return h.end - h.first
	}
	return 1
}

// lineAt is the line of the program at the fraction s of the item's move.
func (h *held) lineAt(s float64) int {
	if !h.isChunk() {
		return h.block.Line
	}
	d := h.startD + s*h.mv.Length
	k := sort.Search(h.lines()-1, func(k int) bool { return h.batch.marks[h.first+k].D >= d })
	return h.block.Line + k
}

// placeAt is the place at the fraction s of the item's move.
func (h *held) placeAt(s float64) [2]float64 {
	if !h.isChunk() {
		return h.mv.XY(s)
	}
	m := &h.batch.marks[h.first+h.lineAt(s)-h.block.Line]
	return [2]float64{m.X, m.Y} // no further off than a line is long
}

// zOnly tells a travel of Z alone, which may take a change of c.
func (h *held) zOnly() bool {
	return h.mv.Kind == machine.Line && !h.mv.Burn && !h.mv.ZUnknown && !h.travels() && h.mv.From.Z != h.mv.To.Z
}

// travels tells a travel over XY, of known length or not.
func (h *held) travels() bool {
	if h.mv.Burn || h.mv.Kind == machine.Still {
		return false
	}
	if h.mv.Lost&(machine.AxisX|machine.AxisY) != 0 {
		return true
	}
	if h.mv.Length > 0 || !h.mv.FromUnknown {
		return h.mv.Length > 0
	}
	_, x := h.block.Find('X')
	_, y := h.block.Find('Y')
	return x || y
}

// window is the part of the program that is planned at once: blocks that wait, and
// the gates of their moves, which are the tube's.
type window struct {
	opt    *Options
	sum    *Summary
	fails  *failures
	blocks []*held
	tube   tubeBuilder

	// last is where the program stands after the last block read.
	last machine.Point
	// start is how the path comes to the first gate; plan is the path, once
	// it is laid.
	start   corridor.Start
	planner corridor.Planner
	plan    corridor.Plan
}

// lay lays the path up to gate end, and notes what cannot be met.
func (p *window) lay(end int) {
	p.plan = p.planner.Plan(p.tube.gates, p.start, end)
	for k := range p.plan.Breaches {
		p.failed(&p.plan.Breaches[k])
	}
	for _, c := range p.plan.Corners {
		if c.Forced {
			p.sum.Forced++
		}
	}
}

// item is the block that gate k is of: the first that moves, for the first gate;
// nil where all is written.
func (p *window) item(k int) *held {
	i := sort.Search(len(p.blocks), func(i int) bool { return int(p.blocks[i].g1) >= k })
	for ; i < len(p.blocks); i++ {
		if p.blocks[i].mv.Kind != machine.Still {
			return p.blocks[i]
		}
	}
	return nil
}

// failed notes what the path cannot meet.
func (p *window) failed(b *corridor.Breach) {
	switch b.Kind {
	case corridor.Steep:
		p.fail(b.Gate, TooSteep, b.Amount*60)
	case corridor.Deep:
		p.failRun(b.Gate, b.Last, b.Amount)
	case corridor.Closed:
		if a := p.tube.askOf(b.Gate); a != nil {
			p.failHead(b.Gate, a, b.Amount)
		} else {
			p.fail(b.Gate, OutOfRange, b.Amount)
		}
	case corridor.Bent:
		p.fail(b.Gate, NoRoom, b.Amount)
	}
}

// fail notes that the move that passes gate k cannot be done.
func (p *window) fail(k int, kind FailureKind, amount float64) {
	h := p.item(k)
	if h == nil { // all written: the end of the program
		p.fails.add(Failure{Line: p.sum.Blocks, X: p.last.X, Y: p.last.Y, Kind: kind, Amount: amount})
		return
	}
	at := h.placeAt(p.tube.gates[k].S)
	p.fails.add(Failure{Line: h.lineAt(p.tube.gates[k].S), X: at[0], Y: at[1], Kind: kind, Amount: amount})
}

// failRun notes that the burns that meet at gates i to j need more than the
// depth at one c.
func (p *window) failRun(i, j int, part float64) {
	first, last := (*held)(nil), (*held)(nil)
	for _, h := range p.blocks {
		if h.mv.Burn && int(h.g0) >= i && int(h.g1) <= j {
			if first == nil {
				first = h
			}
			last = h
		}
	}
	if first == nil {
		p.fail(i, TooDeep, part)
		return
	}
	p.fails.add(Failure{Line: first.block.Line, Last: last.lineAt(1),
		X: first.mv.From.X, Y: first.mv.From.Y, Kind: TooDeep, Amount: part})
}
