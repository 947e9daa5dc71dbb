package follow

import (
	"io"
	"math"

	"sagitta/internal/corridor"
	"sagitta/internal/diag"
	"sagitta/internal/machine"
	"sagitta/internal/program"
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
	err := f.read(newSource(r, &opt))
	if err == nil {
		err = f.finish()
	}
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
	window
	out    *writer
	source *source
	sum    Summary
	fails  failures
	// most is how many gates are planned at once, usual how many unless one
	// move, or run of burns, is longer.
	most, usual int
	// batches counts those that have items in the window, length is that of
	// the path in it in mm, and across acrossOften times the surface's.
	batches        int
	length, across float64
	// begun: the first burn has been met, and the gates start there (or at
	// the place the run came to commit).
	begun bool
	head  head
	// relative: a block up to the first burn is in G91, so that Z is written
	// from where it happens to stand.
	relative bool
	// lastBurn is the place in blocks of the last burn, -1 if none.
	lastBurn int
	warned   bool
	path     path
}

func newRunner(w io.Writer, opt *Options) *runner {
	opt.room = newHeadroom(opt)
	f := &runner{most: opt.Window, lastBurn: -1}
	if f.most <= 0 {
		f.most = defaultWindow
	}
	f.usual = f.most
	f.path = path{opt: opt, sum: &f.sum}
	f.window = window{opt: opt, sum: &f.sum, fails: &f.fails, start: corridor.Start{Free: true}}
	f.planner.Settings = corridor.Settings{Depth: opt.Depth, Use: opt.Use, Rate: opt.ZRate, Slowest: opt.Slowest, Rest: opt.Defocus}
	f.out = newWriter(w, opt, &f.sum, &f.fails)
	f.tube = tubeBuilder{
		opt: opt, sum: &f.sum, fails: &f.fails,
		tol:     pieceTolerance * (opt.Depth.Near + opt.Depth.Far) / 2,
		arcTol:  arcTolerance * (opt.Depth.Near + opt.Depth.Far) / 2,
		lateral: math.Sqrt2 * math.Max(opt.Decimal(false), opt.Decimal(true)),
		hold:    opt.ZMoves != Always,
	}
	f.tube.low, f.tube.high, _, _ = opt.Surface.Range()
	f.tube.tip = newTip(opt)
	corners := opt.Surface.Bounds()
	f.across = acrossOften * math.Hypot(corners[2][0]-corners[0][0], corners[2][1]-corners[0][1])
	f.sum.Nearest = math.Inf(1)
	f.tube.restart()
	return f
}

// Decimal is the last written decimal in mm.
func (o *Options) Decimal(inches bool) float64 {
	if inches {
		return 25.4 * math.Pow10(-int(o.DecimalsInch))
	}
	return math.Pow10(-int(o.DecimalsMM))
}

// take takes one item into the window, and commits when that is full.
func (f *runner) take(h *held) error {
	f.last = h.after.At
	f.length += h.mv.Length
	f.sum.Blocks += h.lines()
	f.sum.Seconds += h.mv.Seconds
	i := len(f.blocks)
	f.blocks = append(f.blocks, h)
	if !f.begun {
		f.relative = f.relative || h.during.Relative
		f.sum.Relative = f.relative
	}
	if h.mv.Burn {
		f.lastBurn = i
		if !f.begun {
			f.begun, f.head.n = true, i
			f.setFocus(h)
		}
	}
	known := h.after.XKnown && h.after.YKnown && h.after.ZKnown
	if !f.begun {
		h.needTip = f.tube.early(&h.mv, h.block.Line, known)
	}
	h.g0 = int32(len(f.tube.gates) - 1)
	if h.isChunk() {
		f.tube.addChunk(h)
	} else {
		f.tube.add(h.block.Line, &h.mv, known)
	}
	h.g1 = int32(len(f.tube.gates) - 1)
	if f.opt.ZMoves == ByHand {
		return f.flat()
	}
	if !f.begun {
		f.addHead(h)
	}
	if len(f.tube.gates) >= f.most || len(f.blocks) >= blocksPerGate*f.most || f.filled() {
		return f.commit()
	}
	return nil
}

// filled tells that enough batches wait.
func (f *runner) filled() bool {
	gates := f.batches * gatesPerBatch
	return gates >= f.most || 2*gates >= f.most && f.length >= f.across
}

// inForce applies the words of the block that set modes.
func inForce(b *program.Block, st *machine.State) {
	for _, wd := range b.Words {
		if wd.Letter != 'G' {
			continue
		}
		if n, tenths := wd.Num.At(1); tenths && (n.Mant == 901 || n.Mant == 911) {
			st.Arcs = machine.RelativeArcs
			if n.Mant == 901 {
				st.Arcs = machine.AbsoluteArcs
			}
		}
		if n, whole := wd.Num.At(0); whole {
			switch n.Mant {
			case 0, 1, 2, 3:
				st.Motion = int8(n.Mant)
			case 20, 21:
				st.Inches = n.Mant == 20
			case 90, 91:
				st.Relative = n.Mant == 91
			case 93, 94:
				st.InverseTime = n.Mant == 93
			}
		}
	}
}
