package follow

import (
	"errors"
	"io"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

const (
	// batchItems, batchMarks and batchText bound a batch: large enough that
	// handing it on costs nothing beside what is in it, small enough that
	// those of a window stay within a few MB.
	batchItems = 128
	batchMarks = 3 << 10
	batchText  = 48 << 10
	// batchArcs is about how many arcs that text has, where it has many.
	batchArcs = 1400
	// batchesAhead is how many batches the source may be ahead of the
	// planner.
	batchesAhead = 6
	// batchesKept is how many are kept to be used again.
	batchesKept = 256
)

// source makes items of the program's lines, one for each block and one or
// more for each strand of plain lines. It runs beside the planner, and what
// it gives depends on the program alone.
type source struct {
	opt     *Options
	reader  *program.Reader
	machine *machine.Interpreter
	strand  strand

	batch *batch
	full  chan *batch
	// empty brings batches back; done tells that nobody wants more.
	empty    chan *batch
	done     chan struct{}
	unwanted bool

	// begun: the first burn has been met. What comes before it is laid
	// block by block.
	begun bool
	focus float64 // see tip
	// plain is for the block of a plain line, plainLike what those of a run
	// have in common.
	plain, plainLike program.Block
}

func newSource(r io.Reader, opt *Options) *source {
	s := &source{
		opt: opt, reader: program.NewReader(r, opt.Name), machine: machine.New(opt.Machine),
		batch: &batch{},
		full:  make(chan *batch, batchesAhead), empty: make(chan *batch, batchesKept), done: make(chan struct{}),
	}
	s.strand.init(opt)
	s.strand.s = s
	return s
}

// errUnwanted ends a reading of which nobody wants more.
var errUnwanted = errors.New("unwanted")

// run reads to the end, or until done is closed. It closes full. The reading is
// not beside it: lines would come from another processor's cache, which takes
// longer than to read them.
func (s *source) run() {
	defer close(s.full)
	err := s.reader.Each(s.opt.Machine.PowerWord, s.takePlain, s.takeOther)
	if !s.unwanted {
		s.strand.finish()
		s.batch.err = err
		s.send()
	}
}

// takeOther takes a block that is no plain line.
func (s *source) takeOther(b *program.Block) error {
	s.strand.finish()
	if err := s.takeBlock(b); err != nil {
		return err
	}
	return s.wanted()
}

// wanted ends the reading once nobody wants more.
func (s *source) wanted() error {
	if s.unwanted {
		return errUnwanted
	}
	return nil
}

// send hands the batch on and takes another.
func (s *source) send() {
	select {
	case s.full <- s.batch:
	case <-s.done:
		s.unwanted = true
		return
	}
	select {
	case s.batch = <-s.empty:
		s.batch.clear()
	default:
		s.batch = &batch{}
	}
}

// room sends a batch that is full, judged by what is in it alone: where the
// source's reads happen to end must not show in the result.
func (s *source) room() {
	b := s.batch
	if len(b.items) >= batchItems || len(b.marks) >= batchMarks || len(b.text) >= batchText {
		s.send()
	}
}

// takePlain takes a run of plain lines.
func (s *source) takePlain(lines []program.PlainLine, text []byte, like *program.Block) error {
	s.plainLike = *like
	short := s.begun && s.opt.ZMoves != ByHand
	for done := 0; done < len(lines); {
		if short {
			s.strand.resume(s.plainLike.Line + done)
			start := lineStart(lines, done)
			if done += s.strand.take(lines[done:], text[start:], start, s.plainLike.Line+done); done == len(lines) {
				break
			}
		}
		s.strand.finish()
		s.plain.SetPlain(&s.plainLike, text[lineStart(lines, done):lines[done].End], done, lines[done].Style)
		if err := s.takeBlock(&s.plain); err != nil {
			return err
		}
		short = s.begun && s.opt.ZMoves != ByHand
		done++
	}
	return s.wanted()
}

// lineStart is where line i of a run starts in its text.
func lineStart(lines []program.PlainLine, i int) int32 {
	if i == 0 {
		return 0
	}
	return lines[i-1].End
}

// takeBlock takes one block on the general path.
func (s *source) takeBlock(b *program.Block) error {
	if followedBefore(b) {
		return followedError(s.opt.Name, b)
	}
	s.room()
	h := s.batch.item()
	b.CopyTo(&h.block)
	before := s.machine.State()
	if err := s.machine.Step(b, &h.mv); err != nil {
		s.batch.items = s.batch.items[:len(s.batch.items)-1]
		return err
	}
	if h.mv.Burn && !s.opt.KeepRamps && h.mv.From.Z != h.mv.To.Z {
		return rampError(s.opt.Name, b)
	}
	if s.opt.Rehearsal {
		if err := CheckRehearsal(s.opt.Name, b, &s.opt.Machine); err != nil {
			return err
		}
	}
	h.after = s.machine.State()
	h.during = h.after
	if stops(b) {
		h.during = before
		inForce(b, &h.during)
	}
	if h.mv.Burn && !s.begun {
		s.begun, s.focus = true, s.opt.sigma()*h.mv.From.Z
	}
	return nil
}

// read runs the source beside f and lets f take all that it gives. The source
// has ended when it returns.
func (f *runner) read(s *source) (err error) {
	f.source = s
	go s.run()
	for b := range s.full {
		n, end := len(b.items), b.err // b is used again once its last item is written
		if n > 0 {
			f.batches++
		}
		for i := 0; i < n && err == nil; i++ {
			err = f.take(&b.items[i])
		}
		if err == nil && end != nil && !errors.Is(end, io.EOF) {
			err = end
		}
		if err != nil {
			break
		}
	}
	close(s.done)
	for range s.full { // until the source has seen it
	}
	f.sum.Notes = s.machine.Notes()
	return err
}

// giveBack lets the source use a batch again.
func (f *runner) giveBack(b *batch) {
	select {
	case f.source.empty <- b:
	default:
	}
}
