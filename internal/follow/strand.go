package follow

import (
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

// mark is a plain line of a strand, D being the distance along the path from
// some origin, and End counting in the batch's text.
type mark = machine.PlainMove

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
	// b is the batch in progress.
	b *batch
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
	ahead   float64 // D of the last mark

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
	st.b = st.s.batch
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
	n := len(st.b.marks)
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

// take takes plain lines, whose text begins with the first and whose number is
// line, as many as the machine steps in short. The text counts from start on.
func (st *strand) take(lines []program.PlainLine, text []byte, start int32, line int) (n int) {
	for n < len(lines) {
		b := st.b
		k := b.fit(lines[n:], start)
		if k == 0 {
			st.cutOff(len(b.marks))
			st.s.send()
			st.b = st.s.batch
			st.begin(line + n)
			continue
		}
		i, first, shift := len(b.marks), len(b.arcs), int32(len(b.text))-start
		if cap(b.arcs)-first < k {
			b.arcs = append(make([]machine.Turn, 0, first+max(marksAtOnce, min(first*7, batchArcs))), b.arcs...)
		}
		took, bent := st.s.machine.StepPlain(lines[n:n+k], b.marks[i:i+k], b.arcs[first:first+k], st.ahead, shift)
		if took > 0 {
			end := lines[n+took-1].End
			b.text = append(b.text, text[:end-start]...)
			text, start = text[end-start:], end
			b.marks = b.marks[:i+took]
			st.ahead = b.marks[i+took-1].D
			b.arcs = b.arcs[:first+bent]
			for q := first; q < first+bent; q++ {
				b.arcs[q].Mark += int32(i)
			}
			st.sort(i)
			n += took
		}
		if took < k {
			return n
		}
	}
	return n
}

// sort sorts the marks from i on into legs and strands.
func (st *strand) sort(i int) {
	marks := st.b.marks
	for {
		if i = st.goOn(marks, i); i == len(marks) {
			return
		}
		st.join(i)
		i++
	}
}

// goOn takes the marks from i on that go on as the ones before them, as most
// do, and returns the first that does not.
func (st *strand) goOn(marks []mark, i int) int {
	if st.taken != i || i <= st.legFirst || st.leg == skew {
		return i
	}
	d, x, y := st.d, st.x, st.y
	alongX, forward, burn := st.leg == alongX, st.forward, st.burn
	end := min(len(marks), st.legFirst+chunkLines)
	for ; i < end; i++ {
		m := &marks[i]
		if m.Burn != burn || m.D-d >= longLine || m.Motion != 1 {
			break
		}
		if alongX && (m.Y != y || m.X > x != forward) || !alongX && (m.X != x || m.Y > y != forward) {
			break
		}
		d, x, y = m.D, m.X, m.Y
	}
	st.taken, st.d, st.x, st.y = i, d, x, y
	return i
}

// join takes mark i, the next.
func (st *strand) join(i int) {
	m, before := &st.b.marks[i], st.d
	if i > st.taken {
		before = st.b.marks[i-1].D
	}
	switch {
	case m.Motion > 1, m.D-before >= longLine:
		st.cutOff(i)
		st.alone(i)
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
		if m.D-st.d > mixedGap {
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
		st.cutOff(len(st.b.marks))
		st.active = false
	}
}
