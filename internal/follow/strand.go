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
}

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
	st.line = line - n
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
		to.end, to.axis, to.style, to.burn = l.End+shift, l.Axis, l.Style, m.Burn
		// Most lines go on as the ones before them.
		if m.Burn == st.burn && st.taken == i && m.Length < longLine && m.Motion == 1 && i-st.legFirst < chunkLines && i > st.legFirst &&
			(st.leg == alongX && m.Y == st.y && m.X > st.x == st.forward || st.leg == alongY && m.X == st.x && m.Y > st.y == st.forward) {
			st.taken, st.d, st.x, st.y = i+1, st.ahead, m.X, m.Y
		} else {
			var arc *machine.Move
			if m.Motion > 1 {
				arc, arcs = &arcs[0], arcs[1:]
			}
			st.join(i, m, arc)
		}
		i++
	}
	return arcs
}

// join takes mark i, the next, with its move; arc is that of an arc, else nil.
func (st *strand) join(i int, m *machine.PlainMove, arc *machine.Move) {
	switch {
	case arc != nil || m.Length >= longLine:
		st.cutOff(i)
		h := st.block(i, m.Length)
		if arc != nil {
			h.mv.Kind, h.mv.CX, h.mv.CY, h.mv.R0, h.mv.R1, h.mv.A0, h.mv.Sweep = machine.Arc, arc.CX, arc.CY, arc.R0, arc.R1, arc.A0, arc.Sweep
			h.during.Motion, h.after.Motion = m.Motion, m.Motion
		}
		st.d, st.x, st.y = st.ahead, m.X, m.Y
		st.from(i + 1)
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

// line returns the text of mark k.
func (b *batch) line(k int) []byte { return b.text[b.lineStart(k):b.marks[k].end] }

func (b *batch) lineStart(k int) int32 {
	if k == 0 {
		return 0
	}
	return b.marks[k-1].end
}
