package follow

import (
	"math"
	"sort"

	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
)

// freeTime is the time in s that stands for the way to height before the
// first burn and after the last, which no feed limits: so long that its slope
// is nothing, so that the string is free at that end and prefers the rest
// value.
const freeTime = 1e9

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

// planner holds the window of blocks and gates that is planned at once.
type planner struct {
	opt    *Options
	sum    *Summary
	fails  *failures
	blocks []*held
	gates  []gate

	// last is where the program stands after the last block read.
	last machine.Point
	// start is the c at the first gate; startFree that it may be chosen.
	start     float64
	startFree bool
	// peak and peakBurn are the string's steepest so far, in mm/s, over all
	// and over burns.
	peak, peakBurn float64

	// By gate: times and parts of the depth (budget), the string, the
	// bounds and the slopes for thinning (bound).
	dt, need, part, spent []float64
	c, lo, hi, limit      []float64

	string           tautString
	st, slo, shi, sc []float64 // the string's gates, free ends included
	nodes            []node
	view, view2      []focus.Window
}

func grow(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n, n+n/2)
	}
	return s[:n]
}

// pull draws the string from gate i to gate j in the tube of the given part
// of the depth (0: each gate's own), from p.start or freely, to freely with a
// liking for rest. The result is in p.c.
func (p *planner) pull(i, j int, part float64, free bool, rest float64) {
	n := j - i + 1
	p.st, p.slo, p.shi, p.sc = grow(p.st, n+2), grow(p.slo, n+2), grow(p.shi, n+2), grow(p.sc, n+2)
	t := 0.0
	for k := i; k <= j; k++ {
		if k > i {
			t += p.dt[k]
		}
		u := part
		if u == 0 {
			u = p.part[k]
		}
		w := p.window(k, u)
		q := k - i + 1
		p.st[q], p.slo[q], p.shi[q] = t, w.Lo, w.Hi
	}
	from := p.start
	if free {
		p.st[0], p.slo[0], p.shi[0] = -freeTime, from, from
	} else {
		p.st[0], p.slo[0], p.shi[0] = 0, from, from
		p.slo[1], p.shi[1] = from, from
	}
	p.st[n+1], p.slo[n+1], p.shi[n+1] = t+freeTime, rest, rest
	first := 0
	if !free {
		first = 1
	}
	p.string.pull(p.st[first:], p.slo[first:], p.shi[first:], p.sc[first:])
	p.c = grow(p.c, len(p.gates))
	copy(p.c[i:j+1], p.sc[1:n+1])
}

// window is gate k's window for a part of the depth. An empty one is a
// failure, noted elsewhere; the plan goes on through its middle.
func (p *planner) window(k int, part float64) focus.Window {
	w := p.gates[k].window(p.opt.Depth, part)
	if w.Empty() {
		m := w.Clamp(0)
		w = focus.Window{Lo: m, Hi: m}
	}
	return w
}

// pullAll decides what is spent where and pulls the string through the
// window.
func (p *planner) pullAll() {
	n := len(p.gates)
	p.lo, p.hi = grow(p.lo, n), grow(p.hi, n)
	p.budget()
	p.pull(0, n-1, 0, p.startFree, p.opt.Defocus)
}

// plan chooses the corners for the gates up to gate end, once the string is
// pulled; the gates after it are looked ahead at. It leaves the corners in
// p.nodes.
func (p *planner) plan(end int) {
	n := len(p.gates)
	p.checkLimits(end)
	for k := 1; k < n; k++ {
		v := math.Abs(p.c[k]-p.c[k-1]) / p.dt[k]
		p.peak = max(p.peak, v)
		if p.gates[k].burn {
			p.peakBurn = max(p.peakBurn, v)
		}
	}
	p.bound()
	p.thin(end)
	for k := range p.nodes {
		p.c[p.nodes[k].gate] = p.nodes[k].w.Lo
		if p.nodes[k].forced {
			p.checkLink(k)
		}
	}
}

// checkLimits notes gates that the range of Z closes even at full depth.
func (p *planner) checkLimits(end int) {
	for k := 0; k <= end; k++ {
		g := &p.gates[k]
		if isInf(g.min) && isInf(g.max) {
			continue
		}
		if w := g.window(p.opt.Depth, 1); w.Empty() {
			if g.tipLine > 0 {
				p.failHead(k, -w.Width())
			} else {
				p.fail(k, OutOfRange, -w.Width())
			}
		}
	}
}

// checkLink holds a link that thinning had to force against the whole usable
// depth.
func (p *planner) checkLink(k int) {
	a, b := p.nodes[k-1], p.nodes[k]
	t, c := 0.0, a.w.Lo
	for q := a.gate + 1; q <= b.gate; q++ {
		t += p.gates[q].dt
	}
	slope := (b.w.Lo - c) / t
	for q := a.gate + 1; q <= b.gate; q++ {
		c += slope * p.gates[q].dt
		w := p.gates[q].window(p.opt.Depth, 1)
		if out := max(w.Lo-c, c-w.Hi); out > rounding {
			p.fail(q, NoRoom, out)
		}
	}
}

// fail notes that the move that passes gate k cannot be done.
func (p *planner) fail(k int, kind FailureKind, amount float64) {
	g := &p.gates[k]
	var h *held
	if g.move >= 0 {
		h = p.blocks[g.move]
	} else {
		for _, b := range p.blocks {
			if h == nil && b.mv.Kind != machine.Still && int(b.g1) >= k {
				h = b
			}
		}
	}
	if h == nil { // all written: the end of the program
		p.fails.add(Failure{Line: p.sum.Blocks, X: p.last.X, Y: p.last.Y, Kind: kind, Amount: amount})
		return
	}
	at := h.placeAt(g.s)
	p.fails.add(Failure{Line: h.lineAt(g.s), X: at[0], Y: at[1], Kind: kind, Amount: amount})
}

// failSlope notes a stretch that asks for the rate v in mm/s.
func (p *planner) failSlope(k int, v float64) { p.fail(k, TooSteep, v*60) }

// failRun notes that the burns that meet at gates i to j need more than the
// depth at one c.
func (p *planner) failRun(i, j int, part float64) {
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
