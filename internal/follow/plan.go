package follow

import (
	"sort"

	"sagitta/internal/corridor"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

// pending is an item that waits for its correction.
type pending struct {
	*stream.Item
	// g0 and g1 are the gates of the move's ends.
	g0, g1 int32
	// plan is where it is to lead.
	plan rewrite.Target
	// stroke tells that c comes to gate g0 in a block of Z alone before the item.
	stroke bool
	// held tells a retract to a safe height that leaves c as it is.
	held bool
	// need is the lowest c that is clear on the item, before the first burn.
	need float64
	// needTip is the same for c and the Z of the first burn together, away
	// from the stock: what the head asks for.
	needTip float64
	// top is the highest of what is asked to be in best focus there.
	top float64
}

// horizon is the part of the program that is planned at once: blocks that wait, and
// the gates of their moves, which are the tube's.
type horizon struct {
	*account
	blocks []*pending
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
func (p *horizon) lay(end int) {
	p.plan = p.planner.Plan(p.tube.gates, p.start, end)
	for k := range p.plan.Violations {
		p.failed(&p.plan.Violations[k])
	}
	for _, c := range p.plan.Waypoints {
		if c.Forced {
			p.sum.Forced++
		}
	}
}

// item is the block that gate k is of: the first that moves, for the first gate;
// nil where all is written.
func (p *horizon) item(k int) *pending {
	i := sort.Search(len(p.blocks), func(i int) bool { return int(p.blocks[i].g1) >= k })
	for ; i < len(p.blocks); i++ {
		if p.blocks[i].Move.Kind != machine.Still {
			return p.blocks[i]
		}
	}
	return nil
}

// failed notes what the path cannot meet.
func (p *horizon) failed(b *corridor.Violation) {
	switch b.Kind {
	case corridor.Steep:
		p.fail(b.Gate, TooSteep, b.Amount*60)
	case corridor.Deep:
		p.failRun(b.Gate, b.Last, b.Amount)
	case corridor.Apart:
		p.failJoint(b.Gate, b.Amount)
	case corridor.Closed:
		p.failLimit(b.Gate, b.Amount)
	case corridor.Sharp:
		p.fail(b.Gate, NoRoom, b.Amount)
	}
}

// fail notes that the move that passes gate k cannot be done.
func (p *horizon) fail(k int, kind FailureKind, amount float64) {
	h := p.item(k)
	if h == nil { // all written: the end of the program
		p.fails.at(p.sum.Blocks, [2]float64{p.last.X, p.last.Y}, kind, amount)
		return
	}
	s := p.tube.gates[k].S
	p.fails.at(h.LineAt(s), h.PlaceAt(s), kind, amount)
}

// failJoint notes that burns of two kinds meet at gate k that no Z serves.
func (p *horizon) failJoint(k int, amount float64) {
	first, second := (*pending)(nil), (*pending)(nil)
	for _, h := range p.blocks {
		switch {
		case !h.Move.Burn || int(h.g1) < k:
		case first == nil:
			first = h
		case second == nil && h.Kind != first.Kind:
			second = h
		}
	}
	if second == nil { // the first is written already
		p.fail(k, Apart, amount)
		return
	}
	p.fails.add(Failure{Line: first.LineAt(1), Last: second.Block.Line,
		X: second.Move.From.X, Y: second.Move.From.Y, Kind: Apart, Amount: amount})
}

// failRun notes that the burns that meet at gates i to j need more than the
// depth at one c.
func (p *horizon) failRun(i, j int, part float64) {
	first, last := (*pending)(nil), (*pending)(nil)
	for _, h := range p.blocks {
		if h.Move.Burn && int(h.g0) >= i && int(h.g1) <= j {
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
	p.fails.add(Failure{Line: first.Block.Line, Last: last.LineAt(1),
		X: first.Move.From.X, Y: first.Move.From.Y, Kind: TooDeep, Amount: part})
}
