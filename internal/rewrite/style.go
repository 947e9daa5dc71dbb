package rewrite

import (
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// style is the last block written, for the style of what comes behind it. Of a
// run it is the last line, whose words are read when it is asked for.
type style struct {
	last  program.Block // its Line is 0 where there is none
	isRun bool
	plain program.PlainStyle
}

func (s *style) keepBlock(b *program.Block) {
	b.CopyTo(&s.last)
	s.isRun = false
}

func (s *style) keepRun(it *stream.Item) {
	n := it.Count() - 1
	raw, words := append(s.last.Raw[:0], it.Text(n, n+1)...), s.last.Words
	s.last = it.Block
	s.last.Raw, s.last.Words = raw, words
	s.last.Line += n
	s.isRun, s.plain = true, it.Lines()[n].Style
}

// block is the last block, nil if there is none.
func (s *style) block() *program.Block {
	if s.last.Line == 0 {
		return nil
	}
	if s.isRun {
		s.last.SetPlain(&s.last, s.last.Raw, 0, s.plain)
		s.isRun = false
	}
	return &s.last
}
