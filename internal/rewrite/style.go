package rewrite

import (
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// style is the last block written, for the style of what comes behind it.
type style struct {
	last program.Block
	// Of a run it is the last line, which like and n tell, until it is asked
	// for.
	raw   []byte
	like  program.Block
	n     int
	plain program.PlainStyle
	isRun bool
	any   bool
}

func (s *style) keepBlock(b *program.Block) {
	b.CopyTo(&s.last)
	s.any, s.isRun = true, false
}

func (s *style) keepRun(it *stream.Item) {
	lines := it.Lines()
	n := len(lines) - 1
	s.like, s.n, s.plain, s.isRun, s.any = it.Block, n, lines[n].Style, true, true
	s.raw = append(s.raw[:0], it.Text(n, n+1)...)
}

// block is the last block, nil if there is none.
func (s *style) block() *program.Block {
	if !s.any {
		return nil
	}
	if s.isRun {
		s.last.SetPlain(&s.like, s.raw, s.n, s.plain)
		s.isRun = false
	}
	return &s.last
}
