package zone

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"

	"sagitta/internal/cover"
	"sagitta/internal/machine"
	"sagitta/internal/rewrite"
	"sagitta/internal/stream"
	"sagitta/internal/surface"
	"sagitta/internal/zone/rows"
	"sagitta/internal/zone/sheet"
)

const (
	// mostBatches is how many batches wait for a decision at most, mostQueue
	// how many items; then what waits is decided as it stands.
	mostBatches, mostQueue = 40, 1 << 13
)

// Source is a program that is read several times, from anywhere.
type Source interface {
	io.ReadSeeker
	io.ReaderAt
}

// Split reads the program that the plan was made of once more, from its
// beginning, and writes the programs of the zones into dir, which exists and
// is empty. It fills in the plan's zones. Where a burn is cut on such a slope, or over
// heights so much less sure than others, that the zones do not overlap enough for it, it makes
// narrower ones and begins again.
//
// Errors are those of Survey; what dir holds is then of no use.
func (p *Plan) Split(r Source, dir string) error {
	for {
		if _, err := r.Seek(0, io.SeekStart); err != nil {
			return err
		}
		miss, err := p.split(r, dir)
		var unmet *UnmetError
		if miss == 0 || !errors.As(err, &unmet) {
			return err
		}
		// Zones that share as much as heights are less sure by serve all that is so.
		less := 2 * p.from.opt.Surface.MostLess()
		extra := p.extra + 2*miss
		if p.extra < less {
			extra = min(extra, less)
		}
		for i := range p.from.opt.Lenses {
			if extra > p.from.opt.Lenses[i].least()*mostExtra+less {
				return err
			}
		}
		p.extra = extra
		if zerr := p.from.zones(); zerr != nil {
			return err
		}
	}
}

// mostExtra is the part of a lens's width that may be taken off it for cuts on
// steep slopes; what heights are less sure by may be besides.
const mostExtra = 0.25

// splitter reads a program again and gives each burn its zone, and each zone
// its program.
type splitter struct {
	p      *Plan
	opt    *Options
	dir    string
	source *stream.Reader
	fails  failures
	miss   float64 // the most that zones miss a burn by, in mm

	queue []waiting
	path  cover.Path
	rows  rows.Finder
	runs  runs
	// The burn that is given its zones is a row of a raster, or cuts.
	row, cut bool
	divider  cover.Divider
	pieces   []surface.Piece
	line     stream.Item // a line of a run that is given a zone alone

	lens   int
	met    bool // a burn has been met
	broken bool // a travel has been met since the last burn

	outs  []*out
	drawn sheet.Drawn // in the picture of their burns
	// writing are those that have a pen: in a program with stops it is one's at
	// first.
	writing []*out
	cur     int // the zone that is being written, -1 for none
	// main is the program with stops, before and behind the zones' parts, which
	// begin with the modes of start in force.
	main  *rewrite.Pen
	start machine.State
	// told are the figures of main up to where its time was told last.
	told rewrite.Figures
	// opening is the line on which a program with stops waits before it moves.
	opening int
	// up is how far the lens stands up where they begin, opened that it does since the
	// opening wait.
	up     float64
	opened bool
	// lit: a block of the preamble puts the beam on. Up to there it is every
	// zone's; what comes between there and the first burn is the first zone's.
	lit  bool
	last last
	// end is what the original has in force behind its last burn, as far as it has
	// been met.
	end machine.State
	// rec notes the pieces instead of writing them, nil where they are written; again
	// is how they are read again for that, nil where they stay in the original's order.
	rec   *recorder
	again *replay
	// offset is where the next item begins in the program, percents how many lines
	// of "%" came before.
	offset   int64
	percents int
	// fault is what went wrong where the zones' parts were put together.
	fault error
	// tailed tells that the program of the last burn has come to its end, elsewhere that
	// the others have.
	tailed, elsewhere bool
}

// waiting is an item that waits, whose text begins with byte offset of the program.
type waiting struct {
	it     *stream.Item
	offset int64
	// burns is how many burns the path was given for it: where byLine, one for
	// each line of a run that no zone serves as a whole.
	burns  int
	byLine bool
	row    bool // it is a row of a raster
}

// last is what is in force behind the last burn written, and where it heads to.
type last struct {
	done  bool
	st    machine.State
	way   [2]float64
	speed float64 // mm/s
}

// split is one try. It tells by how much, in mm, zones miss a burn at most.
func (p *Plan) split(r Source, dir string) (miss float64, err error) {
	p.CutBurns, p.Cuts, p.JointChanges = 0, 0, 0
	p.Overlap = p.opt.Overlap
	rec, miss, err := p.record(r)
	if err != nil {
		return miss, err
	}
	if rec != nil {
		if s := p.newSplitter(dir); s.orders(rec) {
			return 0, s.replay(r, rec)
		}
		if _, err := r.Seek(0, io.SeekStart); err != nil {
			return 0, err
		}
	}
	p.CutBurns, p.Cuts, p.JointChanges = 0, 0, 0
	p.Original = len(p.Zones) > 1
	s := p.newSplitter(dir)
	if !p.opt.Pause && !p.opt.Original { // else the plan has
		if setByHeight(p, &s.fails); len(s.fails.Failures) > 0 {
			return 0, s.fails.Err(s.opt.Name)
		}
	}
	s.source = stream.New(r, p.opt.reading())
	if err := s.open(); err != nil {
		return 0, err
	}
	if err := s.source.Each(s.take); err != nil {
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

func (p *Plan) newSplitter(dir string) *splitter {
	p.order.at, p.order.given = 0, 0
	return &splitter{p: p, opt: p.opt, dir: dir, cur: -1}
}

// gatherAll bounds what all programs of a run gather for writes, gatherLeast that
// of one from below, and gatherMost from above: larger writes are no faster.
const (
	gatherAll               = 6 << 20
	gatherLeast, gatherMost = 4 << 10, 256 << 10
)

// open prepares a program for each zone.
func (s *splitter) open() error {
	parts := string(s.part(""))
	if err := cmp.Or(os.RemoveAll(parts), os.Mkdir(parts, 0o755)); err != nil { // of a try before
		return err
	}
	s.opt.Gather = min(max(gatherAll/len(s.p.Zones), gatherLeast), gatherMost)
	s.opt.OffBefore = len(s.p.Zones) > 1
	s.opt.TravelsAtZero = s.p.travelsAtZero
	s.drawn = sheet.Drawn{}
	for i := range s.p.Zones {
		z := &s.p.Zones[i]
		*z = sheet.Zone{Order: z.Order, Lens: z.Lens, Focus: z.Focus, Band: z.Band, Point: z.Point}
		o := newOut(s.p, i)
		o.fails, o.file = &s.fails, s.part(fmt.Sprint(i))
		z.Lines = sheet.NewLines(o.file+"-lines", len(s.p.Zones), &s.drawn)
		s.outs = append(s.outs, o)
	}
	s.writing = s.outs
	if s.opt.Pause {
		s.main = rewrite.New(s.part(pausedPart), &s.opt.Options)
		s.writing = s.inOrder()[:1]
		s.writing[0].own(s.main)
	}
	for _, o := range s.writing {
		if !s.opt.Pause {
			o.own(rewrite.New(o.file, &s.opt.Options))
		}
		o.checkStart()
		asked := s.p.preamble
		asked.take(o.enters(false))
		if lift := o.need(asked, s.p.topBurn) - o.c; lift > rounding {
			o.setLift(lift)
		}
	}
	return nil
}

// take takes the next item.
func (s *splitter) take(it *stream.Item) error {
	offset := s.offset
	s.offset += int64(it.Size())
	if it.Block.Percent {
		s.percents++
	}
	if s.rec != nil && it.Block.Line <= s.p.lastBurn {
		s.rec.pass(it)
	}
	switch {
	case !s.met && !it.Move.Burn && !s.lit && !lights(it):
		return s.preamble(it)
	case it.Block.Line > s.p.lastBurn:
		s.settle()
		if s.rec != nil {
			s.rec.runsOut(it, s.last.way)
		}
		if s.rec == nil {
			s.tail(it)
		}
		s.source.Done(it)
		return s.err()
	}
	s.lit = true
	s.queue = append(s.queue, waiting{it: it, offset: offset})
	if it.Move.Burn {
		s.burn(&s.queue[len(s.queue)-1])
	} else {
		s.broken = s.broken || moves(it)
	}
	if s.full() {
		s.settle()
	}
	if s.full() {
		s.dropGap()
	}
	return s.err()
}

// preamble passes on an item before the beam is first put on.
func (s *splitter) preamble(it *stream.Item) error {
	if it.Moves() && s.rec == nil {
		s.waitFirst(&it.Block)
	}
	for _, o := range s.writing {
		o.transit(it)
	}
	s.source.Done(it)
	return s.err()
}

// full reports whether so much waits that it must be decided as it stands.
func (s *splitter) full() bool {
	return len(s.queue) > 1 && (s.source.Pending() >= mostBatches || len(s.queue) >= mostQueue)
}

// moves reports whether an item takes the head or the focus elsewhere.
func moves(it *stream.Item) bool {
	m := &it.Move
	return it.Moves() && (m.Length > 0 || m.FromUnknown || m.From.Z != m.To.Z)
}

// err is the first error of writing.
func (s *splitter) err() error {
	if s.fault != nil {
		return s.fault
	}
	for _, o := range s.writing {
		if err := o.pen.Err(); err != nil {
			return err
		}
	}
	return nil
}
