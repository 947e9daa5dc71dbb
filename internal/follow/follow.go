package follow

import (
	"io"
	"math"

	"sagitta/internal/corridor"
	"sagitta/internal/diag"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

const (
	// defaultWindow is how many gates are planned at once.
	defaultWindow = 8192
	// mostWindow is how far the window grows to look ahead as far as the Z
	// rate asks for.
	mostWindow = 1 << 17
	// blocksPerGate bounds the blocks that wait: so many for each gate of
	// the window, the rest being blocks without motion.
	blocksPerGate = 2
	// gatesPerBatch bounds the batches that wait, which is most of the memory
	// of a run: of each so many gates' worth. Half as many do where the path
	// in them is so many times as long as the surface is across: the string
	// has long met all that it can meet.
	gatesPerBatch, acrossOften = 1024, 16
)

// Run reads the program from r and writes the program that follows the
// surface to w. What is written is only to be used when the error is nil.
//
// Errors: *diag.Error for what is read,
// *UnmetError where the job cannot be done (the summary is then filled as far
// as it goes), and those of r and w as they are. After an error it waits for the
// read under way to return.
func Run(r io.Reader, w io.Writer, opt Options) (*Summary, error) {
	f := newRunner(w, &opt)
	f.source = stream.New(r, f.reading())
	err := f.source.Each(f.take)
	f.sum.Notes = f.source.Notes()
	if err == nil {
		err = f.finish()
	}
	f.sum.Figures = f.out.Figures
	if err != nil {
		return &f.sum, err
	}
	if f.sum.Burns == 0 {
		return &f.sum, diag.NothingBurns[Failure](opt.Name)
	}
	return &f.sum, f.fails.Err(opt.Name)
}

// runner is one run: the planner's window, filled from the reader and
// emptied into the writer.
type runner struct {
	opt    *Options
	window window
	out    *rewrite.Pen
	source *stream.Reader
	sum    Summary
	fails  failures
	// most is how many gates are planned at once, usual how many unless one
	// move, or run of burns, is longer.
	most, usual int
	// length is that of the path in the window in mm, and across acrossOften
	// times the surface's.
	length, across float64
	// spare are pendings to be used again.
	spare []*pending
	// begun: the first burn has been met, and the gates start there (or at
	// the place the run came to commit).
	begun    bool
	preamble preamble
	// relative: a block up to the first burn is in G91, so that Z is written
	// from where it happens to stand.
	relative bool
	// lastBurn is the place in blocks of the last burn, -1 if none.
	lastBurn int
	warned   bool
	trace    trace
}

func newRunner(w io.Writer, opt *Options) *runner {
	opt.model = opt.clearance()
	f := &runner{opt: opt, most: opt.Window, lastBurn: -1}
	if f.most <= 0 {
		f.most = defaultWindow
	}
	f.usual = f.most
	f.trace = trace{opt: opt, sum: &f.sum}
	f.window = window{opt: opt, sum: &f.sum, fails: &f.fails, start: corridor.Start{Free: true}}
	f.window.planner.Settings = corridor.Settings{Depth: opt.Depth, Use: opt.Use, Rate: opt.ZRate, Slowest: opt.Slowest, Rest: opt.Defocus}
	f.out = rewrite.New(w, &opt.Options)
	f.out.Breached = f.breached
	f.window.tube = tubeBuilder{
		opt: opt, sum: &f.sum, fails: &f.fails,
		tol:   opt.arcTolerance(),
		still: opt.ZMoves != rewrite.Always,
	}
	f.window.tube.low, f.window.tube.high, _, _ = opt.Surface.Range()
	f.window.tube.tip = newTip(opt)
	corners := opt.Surface.Bounds()
	f.across = acrossOften * math.Hypot(corners[2][0]-corners[0][0], corners[2][1]-corners[0][1])
	f.sum.Nearest.MM = math.Inf(1)
	f.window.tube.restart()
	return f
}

// reading says how the program is read.
func (f *runner) reading() stream.Options {
	o := f.opt
	r := stream.Options{
		Name: o.Name, Machine: o.Machine, Surface: o.Surface, Tolerance: o.tolerance(), ArcTolerance: o.arcTolerance(), Lateral: o.Lateral(),
		HoldBurns: o.ZMoves != rewrite.Always, Blocks: o.ZMoves == rewrite.ByHand || o.blocks, Check: o.Check,
		// Under a rate travels take longer before burns give way, so each must
		// be known for what it is.
		MixTravels: o.ZRate <= 0 && o.ZMoves == rewrite.Always,
	}
	if m := o.model; m != nil {
		r.Alone = func(x0, y0, x1, y1, z, burnZ float64) bool {
			return !m.Clears(x0, y0, x1, y1, o.lead(), o.Sigma()*(z-burnZ))
		}
	}
	return r
}

// breached notes what the pen could not write as planned.
func (f *runner) breached(b rewrite.Breach) {
	kind := [...]FailureKind{rewrite.OutOfRange: OutOfRange, rewrite.NoWay: NoWay, rewrite.TooSteep: TooSteep, rewrite.TooLong: TooLong}[b.Kind]
	f.fails.add(Failure{Line: b.Line, X: b.At.X, Y: b.At.Y, Kind: kind, Amount: b.Amount})
}

// pend takes an item to be planned.
func (f *runner) pend(it *stream.Item) *pending {
	n := len(f.spare)
	if n == 0 {
		return &pending{Item: it}
	}
	h := f.spare[n-1]
	f.spare = f.spare[:n-1]
	*h = pending{Item: it, plan: rewrite.Target{Corners: h.plan.Corners[:0]}}
	return h
}

// take takes one item into the window, and commits when that is full.
func (f *runner) take(it *stream.Item) error {
	h := f.pend(it)
	f.window.last = h.After.At
	f.length += h.Move.Length
	f.sum.Blocks += h.Count()
	f.sum.Seconds += h.Move.Seconds
	i := len(f.window.blocks)
	f.window.blocks = append(f.window.blocks, h)
	if !f.begun {
		f.relative = f.relative || h.During.Relative
		f.sum.Relative = f.relative
	}
	if h.Move.Burn {
		f.lastBurn = i
		if !f.begun {
			f.begun, f.preamble.n = true, i
			f.setFocus(h)
		}
	}
	if !f.begun {
		h.needTip = f.window.tube.early(h.Item)
	}
	h.g0 = int32(len(f.window.tube.gates) - 1)
	f.window.tube.add(h.Item)
	h.g1 = int32(len(f.window.tube.gates) - 1)
	if f.opt.ZMoves == rewrite.ByHand {
		return f.flat()
	}
	if !f.begun {
		f.addPreamble(h)
	}
	if len(f.window.tube.gates) >= f.most || len(f.window.blocks) >= blocksPerGate*f.most || f.filled() {
		return f.commit()
	}
	return nil
}

// filled reports whether enough batches wait.
func (f *runner) filled() bool {
	gates := f.source.Pending() * gatesPerBatch
	return gates >= f.most || 2*gates >= f.most && f.length >= f.across
}
