package stream

import (
	"cmp"
	"errors"
	"io"

	"sagitta/internal/machine"
	"sagitta/internal/program"
)

const (
	// batchesAhead is how many batches reading may be ahead.
	batchesAhead = 3
	// batchesKept is how many are kept to be used again.
	batchesKept = 256
)

// Reader reads a program. Its items are blocks up to the first burn.
type Reader struct {
	spans   func() (Span, bool) // those that are left, nil of a program as a whole
	source  io.ReaderAt
	span    int32 // the number of the one under way
	opt     *Options
	reader  *program.Reader
	machine *machine.Interpreter
	runs    runBuilder

	batch *Batch
	full  chan *Batch
	// empty brings batches back; quit tells that nobody wants more, and
	// unwanted is errUnwanted once that has been seen.
	empty    chan *Batch
	quit     chan struct{}
	unwanted error
	// pending counts the batches with items that are not done with.
	pending int
	lit     Lit
	frame   Frame

	// begun: the first burn has been met, at burnZ.
	begun bool
	burnZ float64
	plain program.Block // for the block of a plain line
	kinds kinds
}

// New returns a Reader of the program in r.
func New(r io.Reader, opt Options) *Reader {
	opt.ArcTolerance = cmp.Or(opt.ArcTolerance, opt.Tolerance)
	opt.RunTolerance = cmp.Or(opt.RunTolerance, opt.Tolerance)
	s := &Reader{
		opt: &opt, reader: program.NewReader(r, opt.Name), machine: machine.New(opt.Machine),
		full: make(chan *Batch, batchesAhead), empty: make(chan *Batch, batchesKept), quit: make(chan struct{}),
	}
	s.kinds = newKinds(opt.Kinds)
	s.batch = s.newBatch()
	s.runs.init(s)
	return s
}

// NewSpans returns a Reader of spans of the program in r, one after the other, as next
// gives them until it reports false. next is called from another goroutine.
func NewSpans(r io.ReaderAt, next func() (Span, bool), opt Options) *Reader {
	first, _ := next()
	s := New(io.NewSectionReader(r, first.Offset, first.Size), opt)
	s.spans, s.source = next, r
	return s
}

func (s *Reader) newBatch() *Batch { return &Batch{config: &s.opt.Machine} }

// Each reads the program and calls take for every item, in order; take owns the
// item until it says that it is done with it. It returns the first error: take's,
// that of the text (*diag.Error), or the source's. The reading has ended when it
// returns, for which it waits for a read under way.
func (s *Reader) Each(take func(*Item) error) (err error) {
	go s.run()
	last, left := 0, machine.Unsaid // the line of the last item, and the beam behind it
	for b := range s.full {
		n, end := b.items, b.err // b is used again once its last item is done with
		if n > 0 {
			s.pending++
		}
		for i := 0; i < n && err == nil; i++ {
			it := b.at(i)
			s.lit.take(it)
			s.frame.take(it, s.opt.Machine.StartXYKnown)
			last, left = it.Block.Line+it.Count()-1, it.After.Beam
			err = take(it)
		}
		if err == nil && end != nil && !errors.Is(end, io.EOF) {
			err = end
		}
		if err != nil {
			break
		}
	}
	if left == machine.On {
		s.lit.Ends.Add(last)
	}
	close(s.quit)
	for range s.full { // until the reading has seen it
	}
	return err
}

// Scan reads a program and hands its items to take, in order; each holds until take
// returns. Errors are those of Each.
func Scan(r io.Reader, opt Options, take func(*Item)) error {
	s := New(r, opt)
	return s.Each(func(it *Item) error {
		take(it)
		s.Done(it)
		return nil
	})
}

// Done lets go of an item.
func (s *Reader) Done(it *Item) {
	b := it.batch
	if b.done++; b.done < b.items {
		return
	}
	s.pending--
	select {
	case s.empty <- b:
	default:
	}
}

// Pending returns how many batches have items that are not done with.
func (s *Reader) Pending() int { return s.pending }

// Remarks returns what is remarkable of the program, after Each.
func (s *Reader) Remarks() Remarks {
	return Remarks{Lapses: s.reader.Lapses().And(s.machine.Lapses()), Unknown: s.machine.Notes(), Behind: s.reader.Behind(), Lit: s.lit, Frame: s.frame, Rules: s.kinds.matched}
}

// errUnwanted ends a reading of which nobody wants more.
var errUnwanted = errors.New("unwanted")

// run reads to the end, or until quit is closed. It closes full. The reading of
// lines is not beside the making of moves: lines would come from another
// processor's cache, which takes longer than to read them.
func (s *Reader) run() {
	defer close(s.full)
	err := s.lines()
	for s.unwanted == nil {
		s.runs.finish()
		if !errors.Is(err, io.EOF) || !s.nextSpan() {
			s.batch.err = err
			s.send()
			return
		}
		err = s.lines()
	}
}

// nextSpan goes on to the next span, and reports whether there is one.
func (s *Reader) nextSpan() bool {
	if s.spans == nil {
		return false
	}
	next, ok := s.spans()
	if ok {
		s.span++
		s.reader.Resume(io.NewSectionReader(s.source, next.Offset, next.Size), next.Line, next.Percents)
		s.machine.Resume(&next.State)
	}
	return ok
}

// lines reads what is left of the lines.
func (s *Reader) lines() error {
	return s.reader.Each(s.opt.Machine.PowerWord, s.takePlain, func(b *program.Block) error {
		s.runs.finish()
		if err := s.takeBlock(b); err != nil {
			return err
		}
		return s.unwanted
	})
}

// send hands the batch on and takes another.
func (s *Reader) send() {
	select {
	case s.full <- s.batch:
	case <-s.quit:
		s.unwanted = errUnwanted
		return
	}
	select {
	case s.batch = <-s.empty:
		s.batch.clear()
	default:
		s.batch = s.newBatch()
	}
}

// item returns a further item of the batch.
func (s *Reader) item() *Item {
	it := s.batch.item()
	it.Span = int(s.span)
	return it
}

// room sends a batch that is full, judged by what is in it alone: where reads
// happen to end must not show in the result.
func (s *Reader) room() {
	if s.batch.full() {
		s.send()
	}
}

// takePlain takes plain lines that follow each other.
func (s *Reader) takePlain(lines []program.PlainLine, text []byte, like *program.Block) error {
	for done := 0; done < len(lines); {
		if s.begun && !s.opt.Blocks {
			s.runs.resume(like, like.Line+done)
			start := lineStart(lines, done)
			if done += s.runs.take(lines[done:], text[start:], start, like.Line+done); done == len(lines) {
				break
			}
		}
		s.runs.finish()
		s.plain.SetPlain(like, text[lineStart(lines, done):lines[done].End], done, lines[done].Style)
		if err := s.takeBlock(&s.plain); err != nil {
			return err
		}
		done++
	}
	return s.unwanted
}

// lineStart is where line i of those that come together starts in their text.
func lineStart(lines []program.PlainLine, i int) int32 {
	if i == 0 {
		return 0
	}
	return lines[i-1].End
}

// takeBlock takes one block on the general path.
func (s *Reader) takeBlock(b *program.Block) error {
	s.room()
	it := s.item()
	b.CopyTo(&it.Block)
	it.Before = s.machine.State()
	err := s.machine.Step(b, &it.Move)
	if err == nil {
		it.Actions = s.machine.Actions()
		it.During, it.After = s.machine.During(), s.machine.State()
		if s.opt.Check != nil {
			err = s.opt.Check(it)
		}
	}
	if err != nil {
		s.batch.items--
		return err
	}
	if it.Move.Burn && !s.begun {
		s.begun, s.burnZ = true, it.Move.From.Z
	}
	s.kinds.block(it)
	s.heights(it)
	return nil
}
