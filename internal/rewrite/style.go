package rewrite

import (
	"sagitta/internal/program"
	"sagitta/internal/stream"
)

// style is the last block written, of a run its last line, for the style of what
// comes behind it.
type style struct {
	last program.Block // its Line is 0 where there is none
}

func (s *style) keepBlock(b *program.Block) { b.CopyTo(&s.last) }

func (s *style) keepRun(it *stream.Item) {
	n := it.Count() - 1
	s.last.SetPlain(&it.Block, append(s.last.Raw[:0], it.Text(n, n+1)...), n, it.Lines()[n].Style)
}

// block is the last block, nil if there is none.
func (s *style) block() *program.Block {
	if s.last.Line == 0 {
		return nil
	}
	return &s.last
}
