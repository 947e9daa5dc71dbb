package stream

import (
	"math"
	"slices"

	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
)

const (
	// mixedGap is the length in mm of a travel between two burns up to which
	// it may be taken as if it burned: pixels of a raster without power.
	mixedGap = 2
	// longLine is the length in mm from which a plain line is a move of its
	// own, which may be cut.
	longLine = 5
	// runLines bounds the lines of a run and of a segment, runBreaks the
	// breakpoints in a run.
	runLines, runBreaks = 1024, 128
)

// breakpoint is where the height along the path breaks from straight. up and
// down bound its excess over the chord from the breakpoint before, in mm, and less is
// that of a surface.Piece.
type breakpoint struct {
	Sample
	up, down float64
	less     float32
}

// The directions of a segment.
const (
	askew = iota
	alongX
	alongY
)

// runBuilder makes runs of plain lines at one feed that all burn or all travel.
// Their ends lie much closer than the surface bends: the lines go into segments,
// straight ones along an axis, and the heights along the segments into a run, as
// long as they are straight within the tolerance from its start on.
type runBuilder struct {
	s      *Reader
	cursor surface.Cursor

	active bool
	burn   bool
	kind   int  // of its burns
	mixed  bool // it has travels among its burns
	// state is in force where the run begins, at vertex first, secondsPerMM its
	// feed.
	state        machine.State
	secondsPerMM float64
	// like is what its lines have in common; its Line is that of vertex 0.
	like program.Block

	// d, x, y are where the lines that are in a segment end: vertices before
	// taken. Those from taken on wait for what follows: travels after a burn.
	taken   int
	d, x, y float64
	ahead   float64 // D of the last vertex

	// The segment is a straight series of lines, from vertex segFirst to taken.
	seg        uint8
	forward    bool
	segFirst   int
	segD       float64
	segX, segY float64
	pieces     []surface.Piece

	// The run goes from start, where vertex first begins, to good, where
	// vertex last-1 ends, and on to where the height is no longer straight.
	first, last int
	start, good Sample
	least, most float64 // slopes from start that are within tolerance of breaks
	breaks      []breakpoint
	// crossing: the line that the run begins with goes from heights that are as sure
	// to some that are not.
	crossing bool

	// arcs are what the arcs of the lines taken together turn, turns those of
	// them whose items are still to be made.
	arcs  [linesAtOnce]machine.Turn
	turns []machine.Turn
}

func (r *runBuilder) init(s *Reader) {
	r.s = s
	if s.opt.Surface != nil {
		r.cursor = surface.NewCursor(s.opt.Surface)
	}
}

// resume begins a run where the machine stands, if none is in progress, of lines
// that have this in common; line is that of the next.
func (r *runBuilder) resume(like *program.Block, line int) {
	if r.active {
		return
	}
	r.s.room()
	r.state = r.s.machine.State()
	r.secondsPerMM = 60 / r.state.FeedMM()
	r.s.kinds.power = r.state.Power.Float()
	r.d, r.ahead = 0, 0
	r.x, r.y = r.state.At.X, r.state.At.Y
	r.like = *like
	r.active = true
	r.begin(line)
}

// begin lets the run begin behind the last vertex.
func (r *runBuilder) begin(line int) {
	n := len(r.s.batch.vertices)
	r.like.Line = line - n
	r.from(n)
}

// from lets a run begin with vertex n at where the last has ended.
func (r *runBuilder) from(n int) {
	r.taken, r.segFirst, r.first, r.last = n, n, n, n
	r.state.At.X, r.state.At.Y = r.x, r.y
	r.mixed, r.crossing = false, false
	r.start.D = r.d
	r.restart(Sample{r.d, math.NaN()})
	r.breaks = r.breaks[:0]
}

// take takes plain lines, whose text begins with the first and whose number is
// line, as many as the machine steps in short. The text counts from start on.
func (r *runBuilder) take(lines []program.PlainLine, text []byte, start int32, line int) (n int) {
	for n < len(lines) {
		b := r.s.batch
		k := b.fit(lines[n:], start)
		if k == 0 {
			r.cutOff(len(b.vertices))
			r.s.send()
			r.begin(line + n)
			continue
		}
		i := len(b.vertices)
		b.vertices = slices.Grow(b.vertices, k)
		took, turned := r.s.machine.StepPlain(lines[n:n+k], b.vertices[i:i+k], r.arcs[:], r.ahead, int32(len(b.text))-start)
		if took > 0 {
			end := lines[n+took-1].End
			b.text = append(b.text, text[:end-start]...)
			text, start = text[end-start:], end
			b.vertices = b.vertices[:i+took]
			r.s.kinds.plain(b, i, r.ahead, r.like.Line, r.state.FeedMM())
			r.ahead, r.turns = b.vertices[i+took-1].D, r.arcs[:turned]
			r.sort(i)
			n += took
		}
		if took < k {
			return n
		}
	}
	return n
}

// sort sorts the vertices from i on into segments and runs.
func (r *runBuilder) sort(i int) {
	vertices := r.s.batch.vertices
	for {
		if i = r.goOn(vertices, i); i == len(vertices) {
			return
		}
		r.join(i)
		i++
	}
}

// goOn takes the vertices from i on that go on as the ones before them, as most
// do, and returns the first that does not.
func (r *runBuilder) goOn(vertices []Vertex, i int) int {
	if r.taken != i || i <= r.segFirst || r.seg == askew {
		return i
	}
	d, x, y := r.d, r.x, r.y
	alongX, forward, burn := r.seg == alongX, r.forward, r.burn
	end, kinds := min(len(vertices), r.segFirst+runLines), r.s.batch.kinds
	for ; i < end; i++ {
		v := &vertices[i]
		if burn && kinds != nil && kinds[i] != r.kind {
			break
		}
		if v.Burn != burn || v.D-d >= longLine || v.Motion != 1 {
			break
		}
		if alongX && (v.Y != y || v.X > x != forward) || !alongX && (v.X != x || v.Y > y != forward) {
			break
		}
		d, x, y = v.D, v.X, v.Y
	}
	r.taken, r.d, r.x, r.y = i, d, x, y
	return i
}

// join takes vertex i, the next.
func (r *runBuilder) join(i int) {
	v, before := &r.s.batch.vertices[i], r.d
	if i > r.taken {
		before = r.s.batch.vertices[i-1].D
	}
	switch {
	case v.Motion > 1, v.D-before >= longLine:
		r.alone(i)
		return
	case i == r.first && r.taken == i:
		r.burn, r.kind = v.Burn, r.s.batch.kind(i)
	case v.Burn && r.burn && r.s.batch.kind(i) != r.kind:
		r.cutOff(i)
		r.burn, r.kind = true, r.s.batch.kind(i)
	case v.Burn == r.burn:
		for k := r.taken; k < i; k++ { // the gap has closed
			r.mixed = true
			r.extend(k)
		}
	case !r.burn || !r.s.opt.MixTravels:
		r.cut(i)
		r.burn, r.kind = v.Burn, r.s.batch.kind(i)
	default:
		if v.D-r.d > mixedGap {
			r.cut(r.taken)
			r.burn = false
			for k := r.taken; k <= i; k++ {
				r.extend(k)
			}
		}
		return
	}
	r.extend(i)
}

// cut ends the run before vertex k, which begins another.
func (r *runBuilder) cut(k int) {
	r.closeSegment()
	if r.last > r.first {
		r.emit(r.last, r.good)
	}
	r.from(k)
}

// cutOff ends the run before vertex n, and what waits before it.
func (r *runBuilder) cutOff(n int) {
	if r.taken < n {
		r.cut(r.taken)
		r.burn = false
		for k := r.taken; k < n; k++ {
			r.extend(k)
		}
	}
	r.cut(n)
}

// finish ends the run in progress, if any.
func (r *runBuilder) finish() {
	if r.active {
		r.cutOff(len(r.s.batch.vertices))
		r.active = false
	}
}
