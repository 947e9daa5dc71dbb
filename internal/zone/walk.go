package zone

import (
	"errors"
	"io"
	"math"

	"sagitta/internal/follow"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
)

const (
	// batchItems and batchText bound a batch.
	batchItems = 2048
	batchText  = 64 << 10
	// batchesAhead is how many batches may be ahead of what takes them.
	batchesAhead = 6
	// batchesKept is how many are kept to be used again.
	batchesKept = 64
	// linesAtOnce is how many plain lines are stepped at once.
	linesAtOnce = 1024
	// legLines bounds the lines of a leg.
	legLines = 1024
)

// walker makes batches of a program: it steps the machine and reads the
// surface. It runs beside what takes the batches.
type walker struct {
	opt     *Options
	tol     float64
	machine *machine.Interpreter
	track   tracker
	reader  *program.Reader
	b       *batch
	out     chan *batch
	empty   chan *batch
	done    chan struct{}
	quit    bool

	moves  []machine.PlainMove
	pieces []surface.Piece
	x, y   float64
	// The leg is a straight run of plain items from legFirst on.
	legFirst   int
	leg        uint8
	forward    bool
	legX, legY float64
	low, high  float64 // of the surface
}

// The directions of a leg.
const (
	skew uint8 = iota
	alongX
	alongY
)

func newWalker(r io.Reader, opt *Options) *walker {
	w := &walker{
		opt: opt, tol: opt.pieceTol(), machine: machine.New(opt.Machine),
		reader: program.NewReader(r, opt.Name), b: &batch{},
		out: make(chan *batch, batchesAhead), empty: make(chan *batch, batchesKept), done: make(chan struct{}),
		moves: make([]machine.PlainMove, linesAtOnce),
	}
	w.track = newTracker(opt.Machine, w.machine.State())
	w.low, w.high, _, _ = opt.Surface.Range()
	return w
}

// each calls take for every batch, in order. take owns a batch until it gives
// it back.
func (w *walker) each(take func(*batch) error) (err error) {
	go w.run()
	for b := range w.out {
		if err == nil {
			end := b.err // the batch may be used again by the time it is taken
			if err = take(b); err == nil && end != nil && !errors.Is(end, io.EOF) {
				err = end
			}
			if err != nil {
				close(w.done)
			}
		}
	}
	if err == nil {
		close(w.done)
	}
	return err
}

func (w *walker) giveBack(b *batch) {
	select {
	case w.empty <- b:
	default:
	}
}

// errUnwanted ends a reading of which nobody wants more.
var errUnwanted = errors.New("unwanted")

func (w *walker) run() {
	defer close(w.out)
	err := w.reader.Each(w.opt.Machine.PowerWord, w.takePlain, w.takeBlock)
	if !w.quit {
		w.closeLeg()
		w.b.err = err
		w.send()
	}
}

func (w *walker) send() {
	w.closeLeg()
	select {
	case w.out <- w.b:
	case <-w.done:
		w.quit = true
		return
	}
	select {
	case w.b = <-w.empty:
		w.b.clear()
	default:
		w.b = &batch{}
	}
	w.legFirst = 0
}

// takePlain takes a run of plain lines.
func (w *walker) takePlain(lines []program.PlainLine, text []byte, like *program.Block) error {
	start, done := int32(0), 0
	for done < len(lines) {
		n, _ := w.machine.StepPlain(lines[done:], w.moves, nil, 0, 0)
		if n == 0 {
			l := &lines[done]
			var b program.Block
			b.SetPlain(like, text[start:l.End], done, l.Style)
			if err := w.takeBlock(&b); err != nil {
				return err
			}
			start, done = l.End, done+1
			continue
		}
		w.addPlain(lines[done:done+n], text, start, like, done)
		start, done = lines[done+n-1].End, done+n
	}
	return w.wanted()
}

// wanted ends the reading once nobody wants more.
func (w *walker) wanted() error {
	if w.quit {
		return errUnwanted
	}
	return nil
}

// addPlain makes items of plain lines that the machine has taken. Their text
// begins at start; the first is the line skip after like's.
func (w *walker) addPlain(lines []program.PlainLine, text []byte, start int32, like *program.Block, skip int) {
	feed, _ := w.machine.FeedMM()
	perMM := 60 / feed
	for k := 0; k < len(lines); {
		if len(w.b.items) >= batchItems || len(w.b.text) >= batchText {
			w.send()
		}
		b := w.b
		n := min(len(lines)-k, batchItems-len(b.items))
		end := lines[k+n-1].End
		shift := int32(len(b.text)) - start
		b.text = append(b.text, text[start:end]...)
		held := *like
		held.Raw, held.Words = nil, nil
		b.strands = append(b.strands, strand{m: w.track.m, like: held, first: int32(like.Line), perMM: perMM,
			styles: int32(len(b.styles)), item: int32(len(b.items))})
		st := &b.strands[len(b.strands)-1]
		st.m.motion = 1
		m := &w.track.m
		m.motion = 1
		for range n {
			l, mv := &lines[k], &w.moves[k]
			if l.Has&program.PlainS != 0 {
				m.power, m.powerSaid = program.Number{Mant: int64(l.S), Dec: l.DecS}, true
			}
			length := w.extend(mv)
			it := item{x0: w.x, y0: w.y, x: mv.X, y: mv.Y, length: length, sec: length * perMM,
				end: l.End + shift, held: -1, like: int32(len(b.strands) - 1), line: int32(like.Line + skip + k),
				power: int32(m.power.Mant), powerDec: m.power.Dec, zone: -1, part: -1, flags: isMotion}
			if mv.Burn {
				it.flags |= isBurn
			}
			if l.Has&program.PlainS != 0 {
				it.flags |= saysPower
			}
			b.items = append(b.items, it)
			b.styles = append(b.styles, l.Style)
			w.x, w.y = mv.X, mv.Y
			k++
		}
		start = end
		m.at.X, m.at.Y = w.x, w.y
	}
}

// extend lets the leg go on with a move, or begins another. It returns the
// move's length.
func (w *walker) extend(mv *machine.PlainMove) (length float64) {
	leg, forward := skew, false
	dx, dy := mv.X-w.x, mv.Y-w.y
	switch {
	case dy == 0:
		leg, forward, length = alongX, dx > 0, math.Abs(dx)
	case dx == 0:
		leg, forward, length = alongY, dy > 0, math.Abs(dy)
	default:
		length = math.Sqrt(dx*dx + dy*dy)
	}
	n := len(w.b.items)
	if n == w.legFirst || leg == skew || leg != w.leg || forward != w.forward || n-w.legFirst >= legLines {
		w.closeLeg()
		w.leg, w.forward, w.legX, w.legY = leg, forward, w.x, w.y
	}
	return length
}

// closeLeg reads the heights along the leg and gives them to its items.
func (w *walker) closeLeg() {
	b := w.b
	items := b.items[w.legFirst:]
	w.legFirst = len(b.items)
	if len(items) == 0 {
		return
	}
	w.pieces = w.opt.Surface.AppendLine(w.pieces[:0], w.legX, w.legY, w.x, w.y, w.tol, 0)
	if len(items) == 1 {
		w.see(&items[0])
		return
	}
	total := 0.0
	for i := range items {
		total += items[i].length
	}
	p, d := 0, 0.0
	pc := &w.pieces[0]
	h := pc.H0
	at := func() (s0, slope float64) { return pc.S0, (pc.H1 - pc.H0) / (pc.S1 - pc.S0) }
	s0, slope := at()
	perMM := 1 / total
	for i := range items {
		it := &items[i]
		d += it.length
		s := d * perMM
		lo, hi, up, down := h, h, pc.Up, pc.Down
		it.flags |= offFlags(pc.Where)
		for pc.S1 < s && p+1 < len(w.pieces) {
			lo, hi = min(lo, pc.H1), max(hi, pc.H1)
			p++
			pc = &w.pieces[p]
			s0, slope = at()
			lo, hi = min(lo, pc.H0), max(hi, pc.H0)
			up, down = max(up, pc.Up), max(down, pc.Down)
			it.flags |= offFlags(pc.Where)
		}
		h = pc.H0 + slope*(s-s0)
		it.a, it.b = max(min(lo, h)-down, w.low), min(max(hi, h)+up, w.high)
		if it.is(isBurn) && up+down > b.thick {
			b.thick = up + down
		}
	}
}

func offFlags(w surface.Where) uint8 {
	switch w {
	case surface.Outside:
		return isOff
	case surface.Hole:
		return isHole
	}
	return 0
}

// see gives an item the heights of the pieces in hand.
func (w *walker) see(it *item) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for k := range w.pieces {
		pc := &w.pieces[k]
		lo = min(lo, min(pc.H0, pc.H1)-pc.Down)
		hi = max(hi, max(pc.H0, pc.H1)+pc.Up)
		it.flags |= offFlags(pc.Where)
		if it.is(isBurn) && pc.Up+pc.Down > w.b.thick {
			w.b.thick = pc.Up + pc.Down
		}
	}
	// Nothing is beyond the surface's own extremes.
	it.a, it.b = max(lo, w.low), min(hi, w.high)
}

// takeBlock takes one block on the general path.
func (w *walker) takeBlock(b *program.Block) error {
	w.closeLeg()
	if len(w.b.items) >= batchItems || len(w.b.text) >= batchText {
		w.send()
	}
	n := len(w.b.blocks)
	if n < cap(w.b.blocks) {
		w.b.blocks = w.b.blocks[:n+1]
	} else {
		w.b.blocks = append(w.b.blocks, held{})
	}
	h := &w.b.blocks[n]
	b.Hold(&h.block)
	h.before = w.track.m
	if err := w.machine.Step(b, &h.mv); err != nil {
		return err
	}
	if err := follow.CheckOriginal(w.opt.Name, b, &h.mv, w.opt.KeepRamps); err != nil {
		return err
	}
	if w.opt.Rehearsal {
		if err := follow.CheckRehearsal(w.opt.Name, b, &w.opt.Machine); err != nil {
			return err
		}
	}
	st := w.machine.State()
	w.track.take(b, &st)
	h.after = w.track.m
	w.b.text = append(w.b.text, b.Raw...)
	m := &h.mv
	it := item{x0: m.From.X, y0: m.From.Y, x: m.To.X, y: m.To.Y, length: m.Length, sec: m.Seconds,
		a: math.NaN(), b: math.NaN(), end: int32(len(w.b.text)), held: int32(n), like: -1, line: int32(b.Line), zone: -1, part: -1}
	if m.Burn {
		it.flags |= isBurn
	}
	if m.Kind == machine.Line || m.Kind == machine.Arc {
		it.flags |= isMotion
	}
	w.heights(&it, m, &st)
	w.b.items = append(w.b.items, it)
	w.legFirst = len(w.b.items)
	w.x, w.y = st.At.X, st.At.Y
	return w.wanted()
}

// heights reads the heights that a general move sees.
func (w *walker) heights(it *item, m *machine.Move, st *machine.State) {
	if m.Kind == machine.Still {
		return
	}
	if m.FromUnknown {
		it.flags |= pathless
		if !(st.XKnown && st.YKnown) {
			return
		}
	}
	w.pieces = appendPieces(w.pieces[:0], w.opt.Surface, m, w.tol, 0)
	w.see(it)
}

// appendPieces appends the certified heights along a move; those at its end
// where it has no length or its path is not known.
func appendPieces(dst []surface.Piece, p *surface.Placed, m *machine.Move, tol, lateral float64) []surface.Piece {
	switch {
	case m.Length == 0 || m.FromUnknown:
		h, where := p.At(m.To.X, m.To.Y)
		return append(dst, surface.Piece{S1: 1, H0: h, H1: h, Where: where})
	case m.Kind == machine.Arc:
		return p.AppendArc(dst, m.CX, m.CY, m.R0, m.R1, m.A0, m.Sweep, tol, lateral)
	}
	return p.AppendLine(dst, m.From.X, m.From.Y, m.To.X, m.To.Y, tol, lateral)
}
