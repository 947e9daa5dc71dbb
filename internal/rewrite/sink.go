package rewrite

import (
	"bytes"
	"io"

	"sagitta/internal/program"
)

// flushSize is how many bytes are gathered for a write unless something else is
// asked for: so many that the file's pages in memory are large ones, which cost
// far less.
const flushSize = 1 << 18

// sink gathers the written lines. The last of them is always in buf.
type sink struct {
	w   io.Writer
	buf []byte
	// gather is how many bytes are gathered for a write.
	gather int
	// size is what has been handed on.
	size int64
	// lines counts the line ends of that.
	lines int
	err   error
}

// begin prepares for a further line: a last one without line end gets that of
// like. It returns where the new line begins in buf.
func (s *sink) begin(like *program.Block) int {
	if n := len(s.buf); n > 0 && s.buf[n-1] != '\n' {
		s.buf = append(s.buf, like.NewEOL()...)
	}
	if len(s.buf) >= s.gather {
		s.flush()
	}
	return len(s.buf)
}

func (s *sink) flush() {
	s.size += int64(len(s.buf))
	s.lines += bytes.Count(s.buf, []byte{'\n'})
	if s.err == nil && len(s.buf) > 0 {
		_, s.err = s.w.Write(s.buf)
	}
	s.buf = s.buf[:0]
}

// endOpen takes the line end off the last line.
func (s *sink) endOpen() {
	line, _ := bytes.CutSuffix(s.buf, []byte{'\n'})
	s.buf = bytes.TrimRight(line, "\r")
}

// Write takes whole lines as they are.
func (s *sink) Write(b []byte) (int, error) {
	if len(s.buf) >= s.gather {
		s.flush()
	}
	s.buf = append(s.buf, b...)
	return len(b), s.err
}
