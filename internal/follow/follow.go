package follow

import (
	"io"
	"math"

	"github.com/paulmach/orb"

	"sagitta/internal/bench"
	"sagitta/internal/clearance"
	"sagitta/internal/corridor"
	"sagitta/internal/diag"
	"sagitta/internal/focus"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
)

const (
	// defaultWindow is how many gates are planned at once.
	defaultWindow = 8192
	// mostHorizon is how far the horizon grows to look ahead as far as the Z
	// rate asks for.
	mostHorizon = 1 << 17
	// rowHorizon is how many times the usual it grows for an end of it where the head
	// as good as stands, where inertia is known: rows of a picture are to be planned whole.
	rowHorizon = 4
	// blocksPerGate bounds the blocks that wait: so many for each gate of
	// the horizon, the rest being blocks without motion.
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
	f.sum.Remarks = f.source.Remarks()
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
	return &f.sum, refusal(f.account)
}

// account is what all parts of a run work on.
type account struct {
	opt   *Options
	sum   Summary
	fails failures
}

// runner is one run: the planner's horizon, filled from the reader and
// emptied into the writer.
type runner struct {
	*account
	horizon horizon
	out     *rewrite.Pen
	source  *stream.Reader
	// most is how many gates are planned at once, usual how many unless one
	// move, or run of burns, is longer.
	most, usual int
	// length is that of the path in the horizon in mm, and across acrossOften
	// times the surface's.
	length, across float64
	// spare are pendings to be used again.
	spare []*pending
	// begun: the first burn has been met, and the gates start there (or at
	// the place the run came to commit).
	begun    bool
	preamble preamble
	// crossed: the last way over XY that was taken is a loose rapid.
	crossed bool
	// freed: a piece has come free where the head stands.
	freed bool
	entry clearance.Entry
	way   way
	aloft aloft
	// lastBurn is the place in blocks of the last burn, -1 if none.
	lastBurn int
	trace    trace
}

func newRunner(w io.Writer, opt *Options) *runner {
	opt.passes = focus.Lowest(opt.aim(0), opt.Kinds)
	opt.model = opt.clearance()
	all := &account{opt: opt}
	f := &runner{account: all, most: opt.Window, lastBurn: -1, entry: clearance.EntryFrom(opt.From)}
	if f.most <= 0 {
		f.most = defaultWindow
	}
	f.usual = f.most
	f.trace.account = all
	f.horizon = horizon{account: all, start: corridor.Start{Free: true}}
	f.horizon.planner.Terms = opt.terms()
	if opt.bendTime() == 0 && (opt.Inertia == nil || opt.Inertia.Step[2] <= 0) || opt.ZMoves != bench.Always {
		opt.Inertia, f.horizon.planner.Inertia = nil, nil
	}
	opt.Fine = opt.Inertia != nil
	f.out = rewrite.New(w, &opt.Options)
	f.out.Breached = func(b rewrite.Breach) {
		f.fails.at(b.Line, [2]float64{b.At.X, b.At.Y}, breached[b.Kind], b.Amount)
	}
	f.horizon.tube = tubeBuilder{account: all, tol: opt.mm(arcTolerance), still: opt.ZMoves != bench.Always, tip: newTip(opt)}
	f.horizon.tube.low, f.horizon.tube.high, _, _ = opt.Surface.Range()
	corners := opt.Surface.Bounds()
	f.across = acrossOften * math.Hypot(corners[2][0]-corners[0][0], corners[2][1]-corners[0][1])
	f.sum.Nearest.MM = math.Inf(1)
	f.horizon.tube.restart()
	if opt.model.Frees() {
		f.sum.Closed.Free = func(about orb.Bound) {
			opt.model.Free(about)
			f.freed = true
		}
	}
	return f
}

// reading says how the program is read.
func (f *runner) reading() stream.Options {
	o := f.opt
	r := stream.Options{
		Name: o.Name, Machine: o.Machine, Surface: o.Surface, Tolerance: o.mm(pieceTolerance), ArcTolerance: o.mm(arcTolerance), Lateral: o.Lateral(),
		HoldBurns: o.ZMoves != bench.Always, Blocks: o.ZMoves == bench.ByHand || o.blocks, Check: o.Check, Kinds: o.Rules,
		RunSeconds: o.bendTime(),
		// Under a rate travels take longer before burns give way, so each must
		// be known for what it is.
		MixTravels: o.ZRate <= 0 && o.ZMoves == bench.Always,
	}
	if m := o.model.Anywhere(); m != nil { // it is asked ahead of what has come free
		r.Alone = func(x0, y0, x1, y1, z, burnZ float64) bool {
			return !m.Clears(x0, y0, x1, y1, o.lead(), min(0, o.Sigma()*(z-burnZ))) // a lift is for travels to count
		}
	}
	return r
}

// breached are the failures that the pen's breaches are.
var breached = [...]FailureKind{rewrite.OutOfRange: OutOfRange, rewrite.NoWay: NoWay, rewrite.TooSteep: TooSteep, rewrite.TooLong: TooLong,
	rewrite.PowerUnsaid: PowerUnsaid, rewrite.PowerLow: PowerLow}

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

// take takes one item into the horizon, and commits when that is full.
func (f *runner) take(it *stream.Item) error {
	if fail := Beyond(it, f.opt.Reach); fail != nil {
		f.fails.add(*fail)
	}
	h := f.pend(it)
	f.horizon.last = h.After.At
	f.length += h.Move.Length
	f.sum.Blocks += h.Count()
	f.sum.Seconds += max(h.Move.Seconds, f.opt.ZSeconds(h.Move.To.Z-h.Move.From.Z))
	f.sum.Closed.Take(it)
	i := len(f.horizon.blocks)
	f.horizon.blocks = append(f.horizon.blocks, h)
	if !f.begun {
		f.sum.Relative = f.sum.Relative || h.During.Relative
	}
	if h.Move.Burn {
		f.lastBurn = i
		if !f.begun {
			f.begun, f.preamble.n = true, i
			f.setFocus(h)
		}
	}
	var way *machine.Move
	if !f.begun {
		way = f.entry.Way(&h.Move, h.After.XKnown, h.After.YKnown)
		h.needTip = f.horizon.tube.early(h.Item, way)
	}
	if h.Moves() && way == nil && (h.Move.FromUnknown || h.Move.ZUnknown) {
		f.sum.Unchecked++
	}
	h.g0 = int32(len(f.horizon.tube.gates) - 1)
	h.g1 = h.g0
	if f.begun && f.opt.ZMoves != bench.ByHand {
		f.trackHeight(h)
	}
	if f.opt.Machine.RapidsStraight && !f.freed && !f.horizon.tube.differs(h.Item) || !f.begun || f.opt.ZMoves == bench.ByHand {
		f.horizon.tube.add(h.Item)
	} else {
		f.addCrossing(i)
	}
	f.freed = f.freed && h.Move.Length == 0
	h.g1 = int32(len(f.horizon.tube.gates) - 1)
	f.way.turn(f.horizon.tube.gates, h, f.opt)
	if h.Move.Burn && i > 0 && i == f.preamble.n {
		f.leadIn(i)
	}
	if f.aloft.falls {
		f.ease(h)
		f.aloft.falls = false
	}
	if f.opt.ZMoves == bench.ByHand {
		return f.flat()
	}
	if !f.begun {
		f.addPreamble(h, way)
	}
	if len(f.horizon.tube.gates) >= f.most || len(f.horizon.blocks) >= blocksPerGate*f.most || f.filled() {
		return f.commit()
	}
	return nil
}

// filled reports whether enough batches wait.
func (f *runner) filled() bool {
	gates := f.source.Pending() * gatesPerBatch
	return gates >= f.most || 2*gates >= f.most && f.length >= f.across
}
