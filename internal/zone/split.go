package zone

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"sagitta/internal/cover"
	"sagitta/internal/machine"
	"sagitta/internal/program"
	"sagitta/internal/surface"
	"sagitta/internal/zone/sheet"
)

// mostQueue is how many batches wait for a decision at most; then what waits
// is decided as it stands.
const mostQueue = 40

// splitter reads a program again and gives each burn its zone, and each zone
// its program.
type splitter struct {
	p      *Plan
	opt    *Options
	dir    string
	walker *walker
	fails  failures
	miss   float64 // the most that zones miss a burn by, in mm

	queue []*batch
	// from is the first item of queue[0] that is not done with; wait is the
	// first burn that is not decided.
	from int
	wait place
	path cover.Path
	// undecided are the burns that the path has not decided yet, and parts
	// those of the burns that are cut.
	undecided []*item
	parts     []cover.Part
	divider   cover.Divider
	pieces    []surface.Piece

	lens   int
	met    bool // a burn has been met
	broken bool // a travel has been met since the last burn

	frame frame
	outs  []*out
	cur   int32 // the zone that is being written, -1 for none
	last  last
	// pending is text of queue batches that goes to cur as it is.
	pending struct {
		b        *batch
		from, to int32
	}
	plain program.Block
}

// last is the last burn written: what is in force behind it, and where it
// heads to.
type last struct {
	done bool
	// m is taken from item i of b, unless b is nil.
	m      modal
	b      *batch
	i      int
	dx, dy float64
}

// place is an item of the queue: of the batch so many, counted from the
// beginning.
type place struct {
	batch int // number in queue
	item  int
}

// Split reads the program that the plan was made of once more, from its
// beginning, and writes the programs of the zones into dir, which exists and
// is empty. It fills in the plan's zones. Where a burn is cut on such a slope
// that the zones do not overlap enough for it, it makes narrower ones and
// begins again.
//
// Errors are those of Survey; what dir holds is then of no use.
func (p *Plan) Split(r io.ReadSeeker, dir string) error {
	for {
		if _, err := r.Seek(0, io.SeekStart); err != nil {
			return err
		}
		miss, err := p.split(r, dir)
		var unmet *UnmetError
		if miss == 0 || !errors.As(err, &unmet) {
			return err
		}
		for i := range p.from.opt.Lenses {
			if p.extra+2*miss > p.from.opt.Lenses[i].Width()*mostExtra {
				return err
			}
		}
		p.extra += 2 * miss
		if zerr := p.from.zones(); zerr != nil {
			return err
		}
		if cerr := emptyFolder(dir); cerr != nil {
			return cerr
		}
	}
}

// mostExtra is the part of a lens's width that may be taken off it for cuts on
// steep slopes.
const mostExtra = 0.25

// emptyFolder empties a folder.
func emptyFolder(dir string) error {
	list, err := os.ReadDir(dir)
	for _, e := range list {
		if err == nil {
			err = os.RemoveAll(filepath.Join(dir, e.Name()))
		}
	}
	return err
}

// split is one try. It tells by how much, in mm, zones miss a burn at most.
func (p *Plan) split(r io.Reader, dir string) (miss float64, err error) {
	s := &splitter{p: p, opt: &p.opt, dir: dir, cur: -1, wait: place{-1, 0}}
	s.walker = newWalker(r, s.opt)
	s.frame.init(s)
	p.turns.at, p.turns.used = 0, 0
	p.CutBurns, p.Cuts, p.JointChanges = 0, 0, 0
	s.open()
	if err := s.walker.each(s.take); err != nil {
		return 0, err
	}
	if err := s.finish(); err != nil {
		return 0, err
	}
	if err := s.fails.Err(s.opt.Name); err != nil {
		return s.miss, err
	}
	return 0, s.close()
}

// open prepares a program for each zone.
func (s *splitter) open() {
	n := len(s.p.Zones)
	for i := range s.p.Zones {
		z := &s.p.Zones[i]
		z.Burns, z.Pieces, z.Seams, z.BurnLength, z.Seconds, z.Lift, z.Stop = 0, 0, 0, 0, 0, 0, 0
		z.Raises, z.Raise, z.Raised = 0, 0, nil
		z.Program = s.p.fileName(i)
		o := &out{p: s.p, opt: s.opt, z: z, lens: &s.p.Lenses[z.Lens].Lens, fails: &s.fails,
			w: newAppender(filepath.Join(s.dir, z.Program), 2*n)}
		if s.opt.Pause {
			o.w.path = filepath.Join(s.dir, s.p.bodyName(i))
		}
		o.w.count = s.opt.ByHand
		if s.opt.SetZ {
			o.off = s.opt.sigma() * z.Focus
		} else {
			o.set = z.Focus
		}
		z.Lines = sheet.NewLines(filepath.Join(s.dir, fmt.Sprintf("lines-%d.tmp", i)), n)
		s.outs = append(s.outs, o)
	}
}

// take takes the next batch.
func (s *splitter) take(b *batch) error {
	s.queue = append(s.queue, b)
	n := len(s.queue) - 1
	for i := range b.items {
		it := &b.items[i]
		switch {
		case it.is(isBurn):
			s.burn(b, it, place{n, i})
		case it.is(isMotion) && !s.broken:
			if it.held < 0 || it.length > 0 || it.is(pathless) || b.blocks[it.held].mv.From.Z != b.blocks[it.held].mv.To.Z {
				s.broken = true
			}
		}
	}
	if len(s.queue) >= mostQueue {
		s.settle()
	}
	s.write(false)
	if len(s.queue) >= mostQueue {
		s.write(true)
	}
	return s.err()
}

// err is the first error of writing.
func (s *splitter) err() error {
	for _, o := range s.outs {
		if o.w.err != nil {
			return o.w.err
		}
	}
	return nil
}

// burn lets the path take a burn.
func (s *splitter) burn(b *batch, it *item, at place) {
	joined := s.met && !s.broken
	if !joined {
		s.lens = 0
		if len(s.p.Lenses) > 1 {
			s.lens = s.p.turns.next()
		}
	}
	s.met, s.broken = true, false
	bs := &s.p.bands[s.lens]
	h := cover.Span{Lo: it.a, Hi: it.b}
	if z, moving := s.path.At(); moving && !s.path.Waits() && bs.of.Only(z-bs.base, h) {
		it.zone = int32(z)
		return
	}
	if !s.path.Waits() {
		s.wait = at
	}
	s.undecided = append(s.undecided, it)
	if first, n := bs.of.Serving(h); n > 0 {
		s.path.Burn(bs.base+first, n, joined)
	} else {
		s.cut(b, it, bs, joined)
	}
	if s.path.Sure() {
		s.settle()
	}
}

// cut lets the path take a burn that no zone serves as a whole.
func (s *splitter) cut(b *batch, it *item, bs *bands, joined bool) {
	m := s.move(b, it)
	s.pieces = appendPieces(s.pieces[:0], s.opt.Surface, &m, s.opt.pieceTol(), s.opt.lateral())
	margin := 0.0
	if m.Length > 2*closestCut {
		margin = closestCut / m.Length
	}
	list := s.divider.Divide(s.pieces, bs.of, margin)
	for _, st := range list {
		if st.Miss > rounding {
			s.miss = max(s.miss, st.Miss)
			at := m.XY(st.End)
			s.fails.add(int(it.line), "no zone serves the whole of a burn: out by %.4f mm at X%.3f Y%.3f", st.Miss, at[0], at[1])
		}
	}
	s.path.Divided(list, bs.base, joined)
}

// closestCut is the least distance in mm of a cut from another point, where
// the zones leave a choice.
const closestCut = 0.05

// settle gives the burns that wait for the path's decision their zones.
func (s *splitter) settle() {
	parts := s.path.Settle()
	for _, it := range s.undecided {
		n := 1
		for !parts[n-1].Last {
			n++
		}
		it.zone = int32(parts[0].Setting)
		if n > 1 {
			it.part = int32(len(s.parts))
			s.parts = append(s.parts, parts[:n]...)
		}
		parts = parts[n:]
	}
	s.undecided = s.undecided[:0]
	s.wait.batch = -1
}

// move is what an item makes the head do.
func (s *splitter) move(b *batch, it *item) machine.Move {
	if it.held >= 0 {
		return b.blocks[it.held].mv
	}
	st := &b.strands[it.like]
	z := st.m.at.Z
	return machine.Move{Kind: machine.Line, Burn: it.is(isBurn),
		From: machine.Point{X: it.x0, Y: it.y0, Z: z}, To: machine.Point{X: it.x, Y: it.y, Z: z},
		Length: it.length, Seconds: it.sec, Feed: 60 / st.perMM}
}

// before is what is in force before an item, and after what is behind it.
func (s *splitter) before(b *batch, i int) modal {
	it := &b.items[i]
	if it.held >= 0 {
		return b.blocks[it.held].before
	}
	m := b.strands[it.like].m
	m.at.X, m.at.Y = it.x0, it.y0
	m.power = program.Number{Mant: int64(it.power), Dec: it.powerDec}
	m.powerSaid = m.powerSaid || it.is(saysPower) || it.power != 0
	return m
}

func (s *splitter) after(b *batch, i int) modal {
	it := &b.items[i]
	if it.held >= 0 {
		return b.blocks[it.held].after
	}
	m := s.before(b, i)
	m.at.X, m.at.Y = it.x, it.y
	return m
}

// block is an item as a block, which holds until the next call.
func (s *splitter) block(b *batch, i int) *program.Block {
	it := &b.items[i]
	if it.held >= 0 {
		return &b.blocks[it.held].block
	}
	b.plainBlock(i, &s.plain)
	return &s.plain
}
