package follow

import (
	"io"
	"math"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

// corner is a place inside a move where the correction bends.
type corner struct{ s, c float64 }

// writer spells the corrections: it edits the blocks that need it and passes
// the others on as they came.
type writer struct {
	w   io.Writer
	opt *Options
	sum *Summary
	// fails gets what the plan could not hold.
	fails *failures
	err   error
	buf   []byte
	ch    []program.Change
	// stepMM and stepInch are what step gives.
	stepMM, stepInch float64

	// corners are those inside the next block's move.
	corners []corner
	// c is the correction at the end of the last item, chunkLine what a line
	// of a chunk is written from where it is written as a block.
	c         float64
	chunkLine held
	// off is Z written less Z programmed, in mm.
	off float64
	// progF is the F that the program has in force, outF the one written.
	progF, outF program.Number
	// strayed: a block of Z alone has left the motion mode at G0, where the
	// program has another.
	strayed bool
	marked  bool
	// stopped: the program has ended, and nothing has moved since.
	stopped bool
	lines   lines
	inChunk bool // the lines of a chunk are written, and counted as a whole
	// took is the time in s of the line under way.
	took float64
	// dark: the rehearsal has said that the beam is off.
	dark bool
	// last is the last block written, for the style of what comes at the
	// end, and state the modal state after it. After a chunk it is nil, and
	// end tells, see lastBlock.
	last  *program.Block
	end   chunkEnd
	state machine.State
}

// newBuffer has room for what is gathered, and for some lines more.
func newBuffer() []byte { return make([]byte, 0, flushSize+flushSize/4) }

// flushSize is how many bytes are gathered for a write: so many that the file's
// pages in memory are large ones, which cost far less.
const flushSize = 1 << 18

func newWriter(w io.Writer, opt *Options, sum *Summary, fails *failures) *writer {
	return &writer{
		w: w, opt: opt, sum: sum, fails: fails, state: machine.New(opt.Machine).State(), buf: newBuffer(),
		stepMM: max(opt.Decimal(false), opt.ZResolution), stepInch: max(opt.Decimal(true), opt.ZResolution),
	}
}

func (w *writer) flush() {
	w.sum.BytesOut += int64(len(w.buf))
	if w.err == nil && len(w.buf) > 0 {
		_, w.err = w.w.Write(w.buf)
	}
	w.buf = w.buf[:0]
}

// item writes a block or a chunk.
func (w *writer) item(h *held) {
	if h.mv.Burn && !h.hasPre {
		w.checkHeight(h)
	}
	if h.isChunk() {
		w.chunk(h)
	} else {
		w.block(h)
	}
	w.c = h.c
}

// block writes one block with its correction.
func (w *writer) block(h *held) {
	b := &h.block
	if h.hasPre && w.state.ZKnown && math.Abs(w.opt.sigma()*h.pre-w.off) > w.leastChange(&w.state) {
		w.zOnly(h.pre, h)
	}
	if w.opt.Rehearsal && !w.dark && (h.mv.Kind != machine.Still || w.beamWord(b)) {
		w.sayDark(b)
	}
	if w.outF != w.progF && stops(b) && !w.state.InverseTime {
		w.restoreFeed(b)
	}
	if w.state.InverseTime != h.during.InverseTime {
		// An F counts in the mode it was said in.
		w.progF, w.outF = program.Number{}, program.Number{}
	}
	f, hasF := b.Find('F')
	if hasF {
		w.progF = f.Num
	}
	w.ch = w.ch[:0]
	switch {
	case h.mv.Kind == machine.Line || h.mv.Kind == machine.Arc:
		if len(w.corners) > 0 {
			w.cut(h)
		} else {
			w.whole(h)
		}
	case h.mv.Kind == machine.Dwell:
		w.took = h.mv.Seconds
		w.sum.SecondsOut += w.took
		if hasF {
			w.outF = f.Num
		}
	default:
		if hasF {
			w.outF = f.Num
		}
		w.keepOffset(h)
	}
	if moves := h.mv.Kind == machine.Line || h.mv.Kind == machine.Arc; moves && h.after.ZKnown {
		w.checkRange(h.mv.To.Z+w.off, h.block.Line, h.mv.To)
	}
	w.regainMotion(h)
	if w.opt.Rehearsal {
		w.darken(b)
	}
	w.emit(b)
	if h.during.InverseTime != h.after.InverseTime {
		w.progF, w.outF = program.Number{}, program.Number{}
	}
	w.last, w.state = b, h.after
	w.stopped = stops(b) || w.stopped && h.mv.Kind == machine.Still
	w.sum.BytesIn += int64(len(b.Raw))
}

// checkHeight notes a burn that does not start where the plan has it.
func (w *writer) checkHeight(h *held) {
	step := max(w.stepMM, w.stepInch)
	if out := math.Abs(w.opt.sigma()*w.c - w.off); out > step {
		w.fails.add(Failure{Line: h.block.Line, X: h.mv.From.X, Y: h.mv.From.Y, Kind: NoWay, Amount: out})
	}
}

// checkRange notes a Z that the profile does not have.
func (w *writer) checkRange(z float64, line int, at machine.Point) {
	if out := w.opt.outOfRange(z); out > 0 {
		w.fails.add(Failure{Line: line, X: at.X, Y: at.Y, Kind: OutOfRange, Amount: out})
	}
}

// whole adds what a motion block that stays in one piece has to change.
func (w *writer) whole(h *held) {
	from := w.off
	w.setZ(h, h.c)
	w.setFeed(h, link{ds: 1, doff: w.off - from}, nil)
}

// setZ adds the change of the block's Z that leads to correction c at its
// end, or none where what stands already does.
func (w *writer) setZ(h *held, c float64) {
	m, letter := &h.mv, w.opt.Machine.ZAxis
	z, has := h.block.Find(letter)
	if m.Lost != 0 || !h.after.ZKnown {
		// It goes where the machine says, or from there by what the program
		// says; an absolute Z will count from zero again.
		if !h.after.ZKnown {
			w.off = 0
		}
		return
	}
	dec := w.opt.decimals(h.during.Inches)
	kept := w.off // the offset that results if the block is left alone
	if has {
		dec = max(dec, z.Num.Dec)
		if !h.during.Relative {
			kept = 0
		}
	}
	want := w.opt.sigma() * c
	if mark := m.Length == 0 && !m.FromUnknown && !m.ZUnknown && m.From.Z == m.To.Z; mark || m.Burn && w.opt.ZMoves == BeamOff {
		want = w.off // stands still, whatever a finer unit's rounding would like
	}
	if math.Abs(want-kept) <= w.leastChange(&h.during) {
		w.off = kept
		if has {
			w.sum.z(m.To.Z + w.off)
		}
		return
	}
	num := w.zNumber(m.To.Z+want, m.From.Z, dec, &h.during)
	w.reach(num, m.From.Z, m.To.Z, &h.during)
	w.ch = append(w.ch, program.Change{Letter: letter, Num: num})
}

// zNumber is the number of a Z word that leads from the programmed height
// from, with the offset in force, to the written height z in mm.
func (w *writer) zNumber(z, from float64, dec int8, st *machine.State) program.Number {
	unit := unitOf(st)
	if r := w.opt.ZResolution; r > w.opt.Decimal(st.Inches) {
		z = math.Round(z/r) * r
	}
	if !st.Relative {
		return program.Round((z-st.Offset.Z)/unit, dec)
	}
	num := program.Round(z/unit, dec)
	return program.Round(num.Float()-(from+w.off)/unit, dec)
}

// reach sets the offset to what the number of a Z word leads to, exactly.
func (w *writer) reach(num program.Number, from, to float64, st *machine.State) {
	w.off = w.reached(num, from, to, st)
	w.sum.z(to + w.off)
}

// reached is the offset that the number of a Z word leads to.
func (w *writer) reached(num program.Number, from, to float64, st *machine.State) float64 {
	z := num.Float() * unitOf(st)
	if st.Relative {
		z += from + w.off
	} else {
		z += st.Offset.Z
	}
	return snapped(z - to)
}

// snap is how many of the smallest parts of an offset are a mm: one of
// snapDigits decimals.
const snap, snapDigits = 1e10, 10

// snapped rounds an offset to what numbers can say, so that sums of relative
// words do not drift by rounding.
func snapped(off float64) float64 {
	return math.RoundToEven(off*snap) / snap
}

// leastChange is the least change of Z that is worth a word.
func (w *writer) leastChange(st *machine.State) float64 {
	return w.step(st.Inches) / 2 * (1 + rounding)
}

// step is the least change of Z that is written, in mm.
func (w *writer) step(inches bool) float64 {
	if inches {
		return w.stepInch
	}
	return w.stepMM
}

func unitOf(st *machine.State) float64 {
	if st.Inches {
		return 25.4
	}
	return 1
}

// zOnly writes a block of Z alone before the block of h, to correction c. It
// gets the block's own words for units, distance and work offset, which are
// not in force yet.
func (w *writer) zOnly(c float64, h *held) {
	w.mark(&h.block)
	st := w.state
	motion := st.Motion
	inForce(&h.block, &st)
	st.Motion = motion
	w.ch = w.ch[:0]
	for _, wd := range h.block.Words {
		if wd.Letter == 'G' && setsPlaces(wd.Num) {
			w.ch = append(w.ch, program.Change{Letter: 'G', Num: wd.Num})
		}
	}
	w.zBlock(c, &h.block, &st)
}

// zBlock writes a block of Z alone with the words in w.ch before it.
func (w *writer) zBlock(c float64, like *program.Block, st *machine.State) {
	z := st.At.Z
	w.checkRange(z+w.opt.sigma()*c, like.Line, st.At)
	num := w.zNumber(z+w.opt.sigma()*c, z, w.opt.decimals(st.Inches), st)
	before := w.off
	w.reach(num, z, z, st)
	w.took = math.Abs(w.off-before) / w.opt.Machine.RapidMMMin * 60
	w.took = w.rapidSeconds(w.took, w.off-before)
	w.sum.SecondsOut += w.took
	w.ch = append(w.ch, program.Change{Letter: 'G', Num: program.Int(0)},
		program.Change{Letter: w.opt.Machine.ZAxis, Num: num})
	w.add(like, w.ch)
	w.strayed = st.Motion != 0
}

// setsPlaces tells the G words by which numbers become places.
func setsPlaces(n program.Number) bool {
	if t, ok := n.At(1); ok && t.Mant >= 540 && t.Mant <= 593 {
		return true
	}
	for _, g := range [...]int64{20, 21, 90, 91} {
		if n.Cmp(program.Int(g)) == 0 {
			return true
		}
	}
	return false
}

// regainMotion puts the motion word into a block that relied on one which a
// block of Z alone has replaced.
func (w *writer) regainMotion(h *held) {
	if !w.strayed || h.mv.Home.Stored() {
		return
	}
	for _, wd := range h.block.Words {
		if n, whole := wd.Num.At(0); wd.Letter == 'G' && whole && n.Mant >= 0 && n.Mant <= 3 {
			w.strayed = false
			return
		}
	}
	if h.mv.Kind == machine.Line || h.mv.Kind == machine.Arc {
		w.ch = append(w.ch, program.Change{Letter: 'G', Num: program.Int(int64(h.during.Motion))})
		w.strayed = false
	} else if stops(&h.block) {
		w.strayed = false
	}
}

// emit writes the block with the changes gathered.
func (w *writer) emit(b *program.Block) {
	if len(w.ch) > 0 {
		w.mark(b)
		w.sum.Changed++
	}
	start := len(w.buf)
	w.buf = program.AppendChanged(w.buf, b, w.ch)
	w.wrote(b, start)
	if len(w.buf) >= flushSize {
		w.flush()
	}
}

// mark writes the marker once, before the first change.
func (w *writer) mark(b *program.Block) {
	if w.marked {
		return
	}
	w.marked = true
	if text := w.markerText(); w.opt.Comments && text != "" {
		w.buf = program.AppendComment(w.buf, b, text)
	}
}

// stops tells whether the block ends the program.
func stops(b *program.Block) bool {
	for _, wd := range b.Words {
		if wd.Letter == 'M' && (wd.Num.Cmp(program.Int(2)) == 0 || wd.Num.Cmp(program.Int(30)) == 0) {
			return true
		}
	}
	return false
}
