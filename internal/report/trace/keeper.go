package trace

import (
	"github.com/paulmach/orb"
)

const (
	// finest is how closely heights are followed along a move, in parts of the lesser side
	// of the depth, and coarsest the same where a move is but a bit of its stretch.
	finest, coarsest = 1.0 / 64, 1.0 / 20
	// flat is over how much of the lesser side of the depth heights, the defocus and c may go
	// on a stretch that is but a part of a move: what is told of it is their range.
	flat = 1.0 / 16
	// mostParts is into how many parts a move is divided, and leastPart in mm what a part
	// is at least.
	mostParts, leastPart = 256, 0.25
	// travelPart in mm is what a part of a travel is at least.
	travelPart = 5
	// unseen is by how much more of the depth no picture shows.
	unseen = 1.0 / 64
	// roundness is how far the parts of an arc may leave it, in parts of what is burned, and
	// roundest the same in mm.
	roundness, roundest = 1.0 / 2000, 0.02
	// mostWaits is how many are kept.
	mostWaits = 300
)

// leastDepth in mm stands for a side of the depth of which nothing is left.
const leastDepth = 1e-6

// Keeper keeps a trace of the steps that it takes.
type Keeper struct {
	t         Trace
	stretches stretches
	above     above
	of, depth depth // what is asked of the program, and of the step under way
	original  bool
	seconds   float64
	// zStep is the step of the speed of Z where the step under way begins, until a piece has it.
	zStep float64
	// h are the heights along the step under way, and is whether there are any.
	h  [mostParts + 1]float64
	is [mostParts + 1]bool
}

// NewKeeper returns one that has taken nothing; original tells that steps are of a program
// that has an original.
func NewKeeper(original bool) *Keeper {
	k := &Keeper{original: original, t: Trace{Share: newShare()}}
	if original {
		before := newShare()
		k.t.Before = &before
	}
	k.above.bounds, k.above.moved = newBox(), newBox()
	return k
}

// Begin begins the next program. Its depth must be above zero on both sides.
func (k *Keeper) Begin(p Program) {
	p.First, p.Seconds, p.Lines = len(k.stretches.list), k.seconds, 0
	k.of = depth{max(p.Near, leastDepth), max(p.Far, leastDepth), p.DefocusMM}
	k.depth = k.of
	k.t.Programs = append(k.t.Programs, p)
	k.stretches.open, k.above.on, k.above.wayOn = false, false, false
}

// End ends it, with how many lines it has and how far its burns reach, which tells nothing
// where it is zero.
func (k *Keeper) End(lines int, extent orb.Bound) {
	k.t.Programs[len(k.t.Programs)-1].Lines = lines
	if extent != (orb.Bound{}) && sane(extent.Min) && sane(extent.Max) {
		k.above.bounds.add(extent.Min)
		k.above.bounds.add(extent.Max)
	}
}

// Original tells how long the original takes.
func (k *Keeper) Original(seconds float64) { k.t.SecondsBefore = seconds }

// Known gives the ranges of height, of defocus and of that with what heights are less sure
// by within which nothing of the next burn is of interest: those of the stretch that it goes
// to, and what is beyond by so little that no picture shows it.
func (k *Keeper) Known() (height, defocus, spent Range) {
	if !k.stretches.open {
		return Empty(), Empty(), Empty()
	}
	p, by := k.stretches.last(), k.depth.least()*unseen
	wider := func(r Range) Range { return Range{r.Lo - by, r.Hi + by} }
	return wider(p.Height), wider(p.Defocus), wider(p.spent)
}

// Take takes the next step.
func (k *Keeper) Take(s *Step) {
	at := k.seconds
	k.seconds += max(finite(s.Seconds), 0)
	k.ask(s)
	if s.Burns {
		k.zStep = finite(s.ZStep)
	}
	if k.zStep > k.t.ZStep.MMS {
		k.t.ZStep = ZStep{k.zStep, len(k.t.Programs) - 1, s.Line, k.from(s), at}
	}
	if s.Waits || s.Stops {
		k.wait(s, at)
	}
	if n := k.parts(s); n > 1 {
		k.divided(s, n, at)
	} else {
		k.whole(s, at)
	}
}

// ask settles what is asked of a step. Burns that do not ask for the same are told apart,
// until there are too many stretches: so what is known of a stretch is of one kind of them.
func (k *Keeper) ask(s *Step) {
	k.depth = k.of
	if s.Near > 0 {
		k.depth = depth{max(s.Near, leastDepth), max(s.Far, leastDepth), s.WantedMM}
	}
	if a := &k.stretches; a.open && s.Burns && a.last().Burns && a.last().asked() != k.depth {
		a.open = false
	}
}

// wait takes where the path stands still.
func (k *Keeper) wait(s *Step, at float64) {
	if k.t.Waiting++; len(k.t.Waits) < mostWaits {
		k.t.Waits = append(k.t.Waits, Wait{Program: len(k.t.Programs) - 1, Line: s.Line, At: s.Way.XY(1),
			Seconds: at, Lasts: finite(s.Seconds), Stop: s.Stops, Remark: printable([]byte(s.Remark[:min(len(s.Remark), mostText)]))})
	}
}

// ink takes a burned line into what is seen from above, and into the shares.
func (k *Keeper) ink(s *Step, from, to orb.Point, mm, d0, d1, c0, c1, h0, h1 float64, is bool) {
	k.above.burn(&ink{from, to, k.depth.part(d0), k.depth.part(d1), c0, c1, len(k.t.Programs) - 1, s.Line})
	if !is {
		k.t.Share.blank(mm)
		if k.original {
			k.t.Before.blank(mm)
		}
		return
	}
	k.t.Share.add(&k.depth, mm, d0, d1)
	if k.original {
		flat := k.of.defocus - k.depth.defocus // one focus has one wanted defocus
		k.t.Before.add(&k.depth, mm, flat-h0, flat-h1)
	}
}

// Trace is what was kept. The keeper may go on.
func (k *Keeper) Trace() *Trace {
	t := k.t
	k.firsts()
	for i := range k.stretches.list {
		t.Stretches = append(t.Stretches, k.stretches.list[i].stretch())
	}
	t.Above = Above{Strokes: k.above.strokes, Travels: k.above.ways}
	if k.above.cells != nil {
		t.Above.Cells = k.above.cells.cells()
	}
	moved := k.above.moved
	moved.join(k.above.bounds)
	t.Bounds, t.Travels, t.Seconds = k.above.bounds.bound(), moved.bound(), k.seconds
	t.Worst = k.worst()
	return &t
}
