package follow

import (
	"bytes"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
)

// A strand is a run of plain lines at one feed that all burn or all travel.
// Their ends lie much closer than the surface bends, so they get gates only
// where it does: the strand is cut into chunks over which the height along
// the path is straight, within tol, and each chunk is planned as one move.
// From a chunk's start to its end c is straight over its length, line by
// line.

const (
	// mixedGap is the length in mm of a travel between two burns up to which
	// it is planned as if it burned: pixels of a raster without power.
	mixedGap = 2
	// longLine is the length in mm from which a plain line is a move of its
	// own, which may be cut.
	longLine = 5
	// chunkLines bounds the lines of a chunk and of a leg, chunkBends the
	// places at which the surface bends in a chunk.
	chunkLines, chunkBends = 1024, 128
)

// mark is a plain line of a strand.
type mark struct {
	// d is the distance along the path from some origin to the line's end,
	// x and y are that end, in mm.
	d, x, y float64
	end     int32 // of its text in the batch's
	axis    uint8 // see program.PlainLine
	style   program.PlainStyle
	burn    bool
	// motion is 1 for a straight line, 2 and 3 for an arc.
	motion int8
}

// bow is the arc of a mark, as machine.Move has it.
type bow struct{ cx, cy, r0, r1, a0, sweep float64 }

// spot is a place along a strand: a distance and the height there, in mm.
type spot struct{ d, h float64 }

// bend is where the height along a strand bends. up and down bound its excess
// over the chord from the bend before.
type bend struct {
	spot
	up, down float64
}

// The directions of a leg.
const (
	skew = iota
	alongX
	alongY
)

// strand builds the chunks of the strand in progress.
type strand struct {
	opt *Options
	s   *source
	// tol is within what the height over a chunk is straight.
	tol    float64
	hold   bool // a run of burns holds one c, see tubeBuilder
	mixing bool // short travels count as burns

	active bool
	burn   bool
	mixed  bool // it has travels among its burns
	feed   float64
	scaled bool // power follows speed
	state  machine.State
	// like is what its lines have in common; line is the number of mark 0.
	like program.Block
	line int

	// d, x, y are where the lines that are in a leg end: marks before taken.
	// Those from taken on wait for what follows: travels after a burn.
	taken   int
	d, x, y float64
	ahead   float64 // d of the last mark

	// The leg is a straight run of lines, from mark legFirst to taken.
	leg        uint8
	forward    bool
	legFirst   int
	legD       float64
	legX, legY float64
	pieces     []surface.Piece
	cursor     surface.Cursor

	// The chunk goes from start, where mark first begins, to good, where
	// mark last-1 ends, and on to where the height is no longer straight.
	first, last    int
	start, good    spot
	startX, startY float64
	least, most    float64 // slopes from start that are within tol of bends
	bends          []bend
	// nextBow is the bow of the batch that the next arc has.
	nextBow int

	words []program.Word // for the block of a line
}

func (st *strand) init(o *Options) {
	st.opt = o
	st.cursor = o.Surface.Cursor()
	st.tol = pieceTolerance * (o.Depth.Near + o.Depth.Far) / 2
	st.hold = o.ZMoves != Always
	// Under a rate travels take longer before burns give way, so each must
	// be known for what it is.
	st.mixing = o.ZRate <= 0 && !st.hold
}

// resume begins a strand where the machine stands, if none is in progress;
// line is that of the next block.
func (st *strand) resume(line int) {
	if st.active {
		return
	}
	st.s.room()
	st.state = st.s.machine.State()
	st.feed, st.scaled = st.s.machine.FeedMM()
	st.d, st.ahead = 0, 0
	st.x, st.y = st.state.At.X, st.state.At.Y
	st.like = st.s.plainLike
	st.active = true
	st.begin(line)
}

// begin lets the strand begin behind the last mark.
func (st *strand) begin(line int) {
	n := len(st.s.batch.marks)
	st.line, st.nextBow = line-n, len(st.s.batch.bows)
	st.from(n)
}

// from lets a strand begin with mark n at where the last has ended.
func (st *strand) from(n int) {
	st.taken, st.legFirst, st.first, st.last = n, n, n, n
	st.startX, st.startY = st.x, st.y
	st.mixed = false
	st.start.d = st.d
	st.restart(spot{st.d, math.NaN()})
	st.bends = st.bends[:0]
}

// add takes plain lines with their moves; text begins with the first and line
// is its number.
func (st *strand) add(lines []program.PlainLine, moves []machine.PlainMove, arcs []machine.Move, text []byte, line int) {
	start := lines[0].End - int32(bytes.IndexByte(text, '\n')+1)
	for len(lines) > 0 {
		n := st.s.batch.fit(lines, start)
		if n == 0 {
			st.cutOff(len(st.s.batch.marks))
			st.s.send()
			st.begin(line)
			continue
		}
		end := lines[n-1].End
		arcs = st.take(lines[:n], moves[:n], arcs, text[:end-start], start)
		lines, moves, text, line, start = lines[n:], moves[n:], text[end-start:], line+n, end
	}
}

// fit tells how many of the lines, whose text begins at start, are taken into
// the batch at once; none, where it is full. Its items are counted at certain
// marks only, so that it does not matter how lines come in.
func (b *batch) fit(lines []program.PlainLine, start int32) int {
	const each = 64
	if b.text == nil {
		b.text = make([]byte, 0, batchText+program.MaxPlain)
		b.marks = make([]mark, 0, batchMarks)
	}
	n := min(len(lines), batchMarks-len(b.marks), each-len(b.marks)%each)
	if len(b.marks)%each == 0 && len(b.items) >= batchItems {
		return 0
	}
	for n > 0 && len(b.text)+int(lines[n-1].End-start) > batchText {
		n--
	}
	return n
}

// take is add for lines that fit the batch. Their text begins at start, as
// they count. It returns the arcs of the lines after them.
func (st *strand) take(lines []program.PlainLine, moves []machine.PlainMove, arcs []machine.Move, text []byte, start int32) []machine.Move {
	b := st.s.batch
	shift := int32(len(b.text)) - start
	b.text = append(b.text, text...)
	i := len(b.marks)
	b.marks = b.marks[:i+len(lines)]
	marks := b.marks[i:]
	for k := range lines {
		l, m, to := &lines[k], &moves[k], &marks[k]
		st.ahead += m.Length
		to.d, to.x, to.y = st.ahead, m.X, m.Y
		to.end, to.axis, to.style, to.burn, to.motion = l.End+shift, l.Axis, l.Style, m.Burn, m.Motion
		// Most lines go on as the ones before them.
		if m.Burn == st.burn && st.taken == i && m.Length < longLine && m.Motion == 1 && i-st.legFirst < chunkLines && i > st.legFirst &&
			(st.leg == alongX && m.Y == st.y && m.X > st.x == st.forward || st.leg == alongY && m.X == st.x && m.Y > st.y == st.forward) {
			st.taken, st.d, st.x, st.y = i+1, st.ahead, m.X, m.Y
		} else {
			if m.Motion > 1 {
				a := &arcs[0]
				arcs = arcs[1:]
				b.bows = append(b.bows, bow{a.CX, a.CY, a.R0, a.R1, a.A0, a.Sweep})
			}
			st.join(i, m)
		}
		i++
	}
	return arcs
}

// join takes mark i, the next, with its move.
func (st *strand) join(i int, m *machine.PlainMove) {
	switch {
	case m.Motion > 1 || m.Length >= longLine:
		st.cutOff(i)
		st.alone(i, m.Length)
		return
	case i == st.first && st.taken == i:
		st.burn = m.Burn
	case m.Burn == st.burn:
		for k := st.taken; k < i; k++ { // the gap has closed
			st.mixed = true
			st.extend(k)
		}
	case !st.burn || !st.mixing:
		st.cut(i)
		st.burn = m.Burn
	default:
		if st.ahead-st.d > mixedGap {
			st.cut(st.taken)
			st.burn = false
			for k := st.taken; k <= i; k++ {
				st.extend(k)
			}
		}
		return
	}
	st.extend(i)
}

// cut ends the strand before mark k, which begins another.
func (st *strand) cut(k int) {
	st.closeLeg()
	if st.last > st.first {
		st.emit(st.last, st.good)
	}
	st.from(k)
}

// cutOff ends the strand before mark n, and what waits before it.
func (st *strand) cutOff(n int) {
	if st.taken < n {
		st.cut(st.taken)
		st.burn = false
		for k := st.taken; k < n; k++ {
			st.extend(k)
		}
	}
	st.cut(n)
}

// finish ends the strand in progress, if any.
func (st *strand) finish() {
	if st.active {
		st.cutOff(len(st.s.batch.marks))
		st.active = false
	}
}

// extend takes mark k, the next, into the leg, or begins another with it.
func (st *strand) extend(k int) {
	m := &st.s.batch.marks[k]
	leg, forward := uint8(skew), false
	switch {
	case m.y == st.y:
		leg, forward = alongX, m.x > st.x
	case m.x == st.x:
		leg, forward = alongY, m.y > st.y
	}
	if leg == skew && st.short(k) {
		return
	}
	if k == st.legFirst || leg == skew || leg != st.leg || forward != st.forward || k-st.legFirst >= chunkLines {
		st.closeLeg()
		st.leg, st.forward, st.legFirst = leg, forward, k
		st.legD, st.legX, st.legY = st.d, st.x, st.y
	}
	st.taken = k + 1
	st.d, st.x, st.y = m.d, m.x, m.y
}

// short takes mark k, a line askew, in short where it stays within a cell of
// the surface.
func (st *strand) short(k int) bool {
	st.closeLeg()
	m := &st.s.batch.marks[k]
	if st.start.h != st.start.h {
		return false // the first of a strand asks for the height of its start
	}
	st.cursor.Stand(st.x, st.y)
	h, up, down, ok := st.cursor.To(m.x, m.y)
	if !ok || up+down > st.tol {
		return false
	}
	st.taken, st.legFirst = k+1, k+1
	st.d, st.x, st.y = m.d, m.x, m.y
	st.bendAt(bend{spot{m.d, h}, up, down}, k+1)
	return true
}

// alone makes a block of mark k, which nothing waits before, and goes on
// behind it.
func (st *strand) alone(k int, length float64) {
	m := &st.s.batch.marks[k]
	st.startX, st.startY = st.x, st.y
	st.block(k, length)
	st.d, st.x, st.y = m.d, m.x, m.y
	st.from(k + 1)
}

// closeLeg takes the heights along the leg into the chunk.
func (st *strand) closeLeg() {
	if st.taken == st.legFirst {
		return
	}
	st.pieces = st.opt.Surface.AppendLine(st.pieces[:0], st.legX, st.legY, st.x, st.y, st.tol, 0)
	for k := range st.pieces {
		if st.pieces[k].Where != surface.On {
			st.offSurface()
			return
		}
	}
	if st.start.h != st.start.h {
		st.start.h, st.good.h = st.pieces[0].H0, st.pieces[0].H0
	}
	length := st.d - st.legD
	for k := range st.pieces {
		pc := &st.pieces[k]
		if k == len(st.pieces)-1 {
			st.bendAt(bend{spot{st.d, pc.H1}, pc.Up, pc.Down}, st.taken)
			break
		}
		d := st.legD + length*pc.S1
		st.bendAt(bend{spot{d, pc.H1}, pc.Up, pc.Down}, st.lastEnd(d))
	}
	st.legFirst = st.taken
}

// lastEnd returns the number of marks that end up to d.
func (st *strand) lastEnd(d float64) int {
	marks := st.s.batch.marks
	lo, hi := st.last, st.taken
	for lo < hi {
		m := (lo + hi) / 2
		if marks[m].d <= d {
			lo = m + 1
		} else {
			hi = m
		}
	}
	return lo
}

// bendAt takes the stretch to the bend b, which the first e marks lie before.
func (st *strand) bendAt(b bend, e int) {
	st.bends = append(st.bends, b)
	for e > st.last {
		to := b.spot
		if d := st.s.batch.marks[e-1].d; d < b.d {
			to = st.spot(d)
		}
		if d, h := to.d-st.start.d, to.h-st.start.h; st.least*d <= h && h <= st.most*d {
			st.last, st.good = e, to
			if e-st.first >= chunkLines || len(st.bends) >= chunkBends {
				st.emit(e, to)
			}
			break
		}
		if st.last > st.first {
			st.emit(st.last, st.good)
		} else {
			st.emit(st.first+1, st.spot(st.s.batch.marks[st.first].d))
		}
		for k := range st.bends {
			if st.bends[k].d >= to.d {
				break
			}
			st.narrow(st.bends[k].spot)
		}
	}
	st.narrow(b.spot)
}

// narrow keeps the slopes that pass within tol of a bend.
func (st *strand) narrow(b spot) {
	if d := b.d - st.start.d; d > 0 {
		st.least = max(st.least, (b.h-st.tol-st.start.h)/d)
		st.most = min(st.most, (b.h+st.tol-st.start.h)/d)
	}
}

// spot is the place at d, which a bend lies behind.
func (st *strand) spot(d float64) spot {
	from := st.start
	for k := range st.bends {
		b := &st.bends[k]
		if b.d >= d {
			if b.d == from.d {
				return spot{d, b.h}
			}
			return spot{d, from.h + (b.h-from.h)*((d-from.d)/(b.d-from.d))}
		}
		from = b.spot
	}
	return spot{d, from.h}
}

// restart lets the chunk begin at a place, with the bends that lie behind it.
func (st *strand) restart(at spot) {
	st.start, st.good = at, at
	st.least, st.most = math.Inf(-1), math.Inf(1)
	k := 0
	for k < len(st.bends) && st.bends[k].d <= at.d {
		k++
	}
	st.bends = st.bends[:copy(st.bends, st.bends[k:])]
}

// emit makes an item of the chunk up to mark e, which ends at the place to,
// and begins the next one there.
func (st *strand) emit(e int, to spot) {
	if st.underHead(e) {
		st.single(e, to)
		return
	}
	b := st.s.batch
	end := &b.marks[e-1]
	length := to.d - st.start.d
	slope := (to.h - st.start.h) / length
	var up, down, over, under float64
	low, high := st.start, st.start
	for k := range st.bends {
		v := &st.bends[k]
		over, under = max(over, v.up), max(under, v.down)
		at := v.spot
		if at.d >= to.d {
			at = to
		}
		off := at.h - (st.start.h + slope*(at.d-st.start.d))
		up, down = max(up, off), max(down, -off)
		if at.h < low.h {
			low = at
		}
		if at.h > high.h {
			high = at
		}
		if v.d >= to.d {
			break
		}
	}
	if e == st.first+1 && up+over+down+under > 2*st.tol && length > shortestCut {
		st.block(st.first, length)
	} else {
		h := st.s.batch.item()
		h.first, h.end, h.startD = st.first, e, st.start.d
		h.low, h.high = low.h, high
		h.burns, h.burnLength = st.burns(e)
		h.block = st.like
		h.block.Line = st.line + st.first
		st.fill(h, end, length)
		if st.hold && st.burn {
			h.pieces[0] = surface.Piece{S1: 1, H0: low.h, H1: low.h, Down: under}
			h.pieces[1] = surface.Piece{S0: 1, S1: 1, H0: high.h, H1: high.h, Up: over}
		} else {
			h.pieces[0] = surface.Piece{S1: 1, H0: st.start.h, H1: to.h, Up: up + over, Down: down + under}
		}
	}
	st.first, st.last = e, max(st.last, e)
	st.startX, st.startY = end.x, end.y
	st.restart(to)
}

// burns counts the burns of the chunk up to mark e, and their length.
func (st *strand) burns(e int) (n int, length float64) {
	marks := st.s.batch.marks
	switch {
	case !st.burn:
		return 0, 0
	case !st.mixed:
		return e - st.first, marks[e-1].d - st.start.d
	}
	d := st.start.d
	for k := st.first; k < e; k++ {
		if marks[k].burn {
			n++
			length += marks[k].d - d
		}
		d = marks[k].d
	}
	return n, length
}

// fill fills what an item has of the strand: its move, from the start of the
// chunk to a mark, and its modes.
func (st *strand) fill(h *held, end *mark, length float64) {
	z := st.state.At.Z
	h.mv = machine.Move{
		Kind: machine.Line, Burn: st.burn,
		From:   machine.Point{X: st.startX, Y: st.startY, Z: z},
		To:     machine.Point{X: end.x, Y: end.y, Z: z},
		Length: length, Seconds: length / st.feed * 60, Feed: st.feed, PowerFollows: st.scaled,
	}
	h.after = st.state
	h.after.At, h.after.Motion = h.mv.To, end.motion
	h.after.Beam = machine.Off
	if st.burn {
		h.after.Beam = machine.On
	}
	h.during = h.after
}

// block makes an item of mark k alone, as the general path would.
func (st *strand) block(k int, length float64) {
	b := st.s.batch
	var block program.Block
	block.Words = st.words[:0]
	block.SetPlain(&st.like, b.line(k), 0, b.marks[k].style)
	block.Line = st.line + k
	h := st.s.batch.item()
	block.Hold(&h.block)
	st.words = block.Words
	m := &b.marks[k]
	burn := st.burn
	st.burn = m.burn
	st.fill(h, m, length)
	st.burn = burn
	if m.motion > 1 {
		g := &b.bows[st.nextBow]
		st.nextBow++
		h.mv.Kind, h.mv.CX, h.mv.CY, h.mv.R0, h.mv.R1, h.mv.A0, h.mv.Sweep = machine.Arc, g.cx, g.cy, g.r0, g.r1, g.a0, g.sweep
	}
}

// line returns the text of mark k.
func (b *batch) line(k int) []byte { return b.text[b.lineStart(k):b.marks[k].end] }

func (b *batch) lineStart(k int) int32 {
	if k == 0 {
		return 0
	}
	return b.marks[k-1].end
}

// offSurface makes items of the leg's lines one by one: where they leave the
// surface, or cross a hole, each must be told.
func (st *strand) offSurface() {
	if st.last > st.first {
		st.emit(st.last, st.good)
	}
	marks := st.s.batch.marks
	st.startX, st.startY = st.legX, st.legY
	at := st.legD
	for k := st.legFirst; k < st.taken; k++ {
		st.block(k, marks[k].d-at)
		st.startX, st.startY, at = marks[k].x, marks[k].y, marks[k].d
	}
	st.from(st.taken)
}

// underHead tells that the head is in question on the chunk up to mark e: on
// its way it may need more gates than a chunk has.
func (st *strand) underHead(e int) bool {
	r := st.s.opt.room
	if r == nil {
		return false
	}
	lift := r.sigma*st.state.At.Z - st.s.focus
	if lift >= r.everywhere {
		return false
	}
	x0, y0, x1, y1 := st.startX, st.startY, st.startX, st.startY
	for _, m := range st.s.batch.marks[st.first:e] {
		x0, y0, x1, y1 = min(x0, m.x), min(y0, m.y), max(x1, m.x), max(y1, m.y)
	}
	return !r.clears(x0, y0, x1, y1, lift)
}

// single makes items of the lines up to mark e one by one; they end at the
// place to.
func (st *strand) single(e int, to spot) {
	marks, at := st.s.batch.marks, st.start.d
	for k := st.first; k < e; k++ {
		st.block(k, marks[k].d-at)
		st.startX, st.startY, at = marks[k].x, marks[k].y, marks[k].d
	}
	st.first, st.last = e, max(st.last, e)
	st.restart(to)
}
